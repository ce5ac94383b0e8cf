//! Payments: amounts received, the invoices that they paid, and the rest as the customer's credit.
//!
//! A payment never changes. The part that no invoice takes stays as the customer's credit, which a later payment with
//! the method `CREDIT` uses.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/payments` | accounts | one page of them, newest first; by customer, invoice |
//! | `POST /v1/payments` | desk | records one |
//! | `GET /v1/payments/{id}` | accounts | one payment |
//! | `GET /v1/customers/{id}/account` | accounts | a customer's unpaid amount and credit |

mod store;
pub mod usecase;
