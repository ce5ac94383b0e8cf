//! Customers: private and trade, and how they may be reached.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/customers` | desk | one page of them, newest first |
//! | `POST /v1/customers` | desk | adds one |
//! | `GET /v1/customers/{id}` | desk | one |
//! | `PUT /v1/customers/{id}` | desk | replaces what is known of one |

mod routes;
mod store;
mod usecase;

pub use routes::routes;
