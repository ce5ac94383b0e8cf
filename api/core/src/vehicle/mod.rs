//! Vehicles of customers: identification, size, paint and powertrain.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/vehicles` | crew | one page of them, newest first; by customer or registration |
//! | `POST /v1/vehicles` | desk | adds one to a customer |
//! | `GET /v1/vehicles/{id}` | crew | one vehicle |
//! | `PUT /v1/vehicles/{id}` | desk | replaces the details of one |

mod details;
pub mod jobs;
mod store;
pub mod usecase;
