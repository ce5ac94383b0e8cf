//! Customers: private and trade, how they may be reached, and what they agreed to.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/customers` | desk | one page of them, newest first |
//! | `POST /v1/customers` | desk | adds one |
//! | `GET /v1/customers/{id}` | desk | one |
//! | `PUT /v1/customers/{id}` | desk | replaces what is known of one |

mod details;
pub mod jobs;
mod store;
pub mod usecase;
