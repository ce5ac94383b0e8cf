//! Invoices: signed work, numbered without gaps and sealed when the invoice is issued, and the amount that is still
//! unpaid.
//!
//! draft → issued → part paid → paid; or credited · written off. A draft is made of a signed quote and the variations
//! signed with it, less the deposits that were invoiced; what it bills is claimed, so that nothing is invoiced twice. A
//! draft can be discarded. Tax follows the day of the supply: each line takes the rate on the day of the hand-over, or
//! today's before that. Issuing gives it the next number of the register and seals what is [`kept`]: canonical JSON
//! (RFC 8785) and its SHA-256, which nothing changes afterwards, here or in the database. Deposit invoices and invoices
//! that another program issued before are rows of the same kind.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/invoices` | accounts | one page of them, newest first; by state, kind, customer, quote; the overdue ones |
//! | `POST /v1/invoices` | desk | drafts the invoice of a signed quote |
//! | `GET /v1/invoices/{id}` | accounts | one, with its document |
//! | `GET /v1/invoices/{id}/sealed` | accounts | the sealed document, byte for byte |
//! | `PUT /v1/invoices/{id}` | desk | writes a draft again from what is signed now |
//! | `DELETE /v1/invoices/{id}` | desk | discards a draft |
//! | `POST /v1/invoices/{id}/issue` | desk | numbers and seals a draft |
//! | `POST /v1/invoices/{id}/send` | desk | mails an issued one to the customer |
//! | `POST /v1/invoices/{id}/write-off`, `…/reinstate` | owner | writes off some of the unpaid amount, demands it again |
//! | `GET /v1/invoices/{id}/write-offs` | accounts | write-offs with their days |
//! | `POST /v1/invoices/{id}/dispute`, `…/end-dispute` | desk | records a dispute, which stops letters; ends it |
//! | `POST /v1/opening-invoices` | owner | takes over an unpaid invoice from before |

pub mod kept;
mod store;
pub mod usecase;
