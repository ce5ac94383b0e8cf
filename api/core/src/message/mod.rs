//! Mails of the shop: waiting, sent and failed.
//!
//! A mail is written by [`crate::mail::outbox::send`] in the transaction of the change that causes it, and sent by
//! [`crate::mail::courier`]: queued → sending → sent; or failed, which is kept, shown and can be sent again.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/messages` | desk | one page of them, newest first; by state |
//! | `GET /v1/messages/{id}` | desk | one, with its text |
//! | `POST /v1/messages/{id}/send-again` | desk | queues a failed one again |

mod store;
pub mod usecase;
