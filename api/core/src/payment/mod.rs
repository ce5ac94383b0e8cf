//! Payments and refunds: amounts received, the invoices that they paid, the rest as the customer's credit, and what is
//! given back of it.
//!
//! A payment never changes, but it can be undone with a reason: what it paid is unpaid again. The part that no invoice
//! uses is the customer's credit, which a later payment with the method `CREDIT` uses, or a refund gives back with a
//! numbered receipt. One equation is true after every move, for each customer and in all: invoices − credits = payments
//! − refunds + the amount owed (see [`baywright_domain::ledger`]).
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/payments` | accounts | one page of them, newest first; by customer, invoice |
//! | `POST /v1/payments` | desk | records one |
//! | `GET /v1/payments/{id}` | accounts | one payment |
//! | `POST /v1/payments/{id}/undo` | desk | undoes one |
//! | `GET /v1/refunds`, `GET /v1/refunds/{id}` | accounts | refunds, one refund with its receipt |
//! | `GET /v1/refunds/{id}/sealed` | accounts | the sealed receipt, byte for byte |
//! | `POST /v1/refunds` | desk | records one and issues its receipt |
//! | `POST /v1/refunds/{id}/undo` | desk | undoes one that the customer never received |
//! | `GET /v1/customers/{id}/account` | accounts | a customer's unpaid amount, credit and totals |

pub mod kept;
mod store;
pub mod usecase;
