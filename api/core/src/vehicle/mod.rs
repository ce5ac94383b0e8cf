//! Vehicles of customers: by what they are known, how large they are, what their paint and drive are.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/vehicles` | crew | one page of them, newest first; by customer or registration |
//! | `POST /v1/vehicles` | desk | adds one to a customer |
//! | `GET /v1/vehicles/{id}` | crew | one |
//! | `PUT /v1/vehicles/{id}` | desk | replaces what is known of one |

mod details;
pub mod jobs;
mod store;
pub mod usecase;
