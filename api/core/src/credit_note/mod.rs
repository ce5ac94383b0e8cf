//! Credit notes: what is taken back of an issued invoice, line by line and never more than is left of it.
//!
//! A credit note is numbered and sealed when it is made. It covers the unpaid amount first, then what was written off,
//! and releases the rest from payments as the customer's credit. Correcting an invoice credits all that is left of it
//! and drafts it again in one step. Their rows are stored by the feature `invoice`, because a deposit is deducted less
//! what was credited of it.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/invoices/{id}/creditable` | accounts | the lines of an invoice with what is left to credit |
//! | `POST /v1/invoices/{id}/credit-notes` | desk | credits lines of an invoice, or all that is left |
//! | `POST /v1/invoices/{id}/correct` | desk | credits all that is left and drafts the invoice again |
//! | `GET /v1/credit-notes`, `GET /v1/credit-notes/{id}` | accounts | credit notes, one with its document |
//! | `GET /v1/credit-notes/{id}/sealed` | accounts | the sealed document, byte for byte |
//! | `POST /v1/credit-notes/{id}/send` | desk | mails one to the customer |

pub mod usecase;
