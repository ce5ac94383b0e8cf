//! Customers: private and trade, their contact details and consents.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/customers` | desk | one page of them, newest first |
//! | `POST /v1/customers` | desk | adds one |
//! | `GET /v1/customers/{id}` | desk | one customer |
//! | `PUT /v1/customers/{id}` | desk | replaces the details of one |

mod details;
pub mod jobs;
mod store;
pub mod usecase;
