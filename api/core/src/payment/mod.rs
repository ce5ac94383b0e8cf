//! Payments: what came in, which invoices it paid, and what is left as the customer's credit.
//!
//! A payment never changes. What no invoice takes stays as the customer's credit, from which a later payment of the
//! method `CREDIT` pays.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/payments` | accounts | one page of them, newest first; by customer, invoice |
//! | `POST /v1/payments` | desk | records one |
//! | `GET /v1/payments/{id}` | accounts | one |
//! | `GET /v1/customers/{id}/account` | accounts | what a customer owes, and their credit |

mod store;
pub mod usecase;
