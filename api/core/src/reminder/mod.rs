//! Reminders: the day before a booking, before a quote lapses, and letters about overdue invoices.
//!
//! The scheduler gives each once, however many replicas run: it stores the reminder in the same transaction as the
//! mail, and the database refuses a second one. All of them are sent while the shop is open, never at night. A customer
//! who can't be mailed, or has not agreed to it, is left to the desk, as is one whose booking has a time that no longer
//! fits the signed work.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/reminders` | desk | one page of them, newest first; by kind, way and customer |

pub mod jobs;
mod letter;
mod store;
pub mod usecase;
