//! Invoices: signed work, numbered without gaps and sealed when the invoice is issued, and the amount that is still
//! unpaid.
//!
//! draft → issued → part paid → paid; or credited · written off. A draft is made of a signed quote and the variations
//! signed with it. Issuing gives it the next number of the series and seals what is [`kept`]: canonical JSON (RFC 8785)
//! and its SHA-256, which nothing changes afterwards, here or in the database.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/invoices` | accounts | one page of them, newest first; by state, customer, quote; the overdue ones |
//! | `POST /v1/invoices` | desk | drafts the invoice of a signed quote |
//! | `GET /v1/invoices/{id}` | accounts | one, with its document |
//! | `GET /v1/invoices/{id}/sealed` | accounts | the sealed document, byte for byte |
//! | `PUT /v1/invoices/{id}` | desk | writes a draft again from what is signed now |
//! | `POST /v1/invoices/{id}/issue` | desk | numbers and seals a draft |
//! | `POST /v1/invoices/{id}/send` | desk | mails an issued one to the customer |
//! | `POST /v1/invoices/{id}/write-off` | owner | writes off the unpaid amount |

pub mod kept;
mod store;
pub mod usecase;
