//! Photographs: uploaded, made harmless, stored as files named by digest, and served.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/photos` | crew | uploads a JPEG, PNG or WebP |
//! | `GET /v1/photos/{id}` | crew | the photograph, as JPEG |
//! | `GET /v1/photos/{id}/thumbnail` | crew | a small one |
//! | `GET /v1/photos/{id}/details` | crew | its details |
//!
//! A file is written and synced before the row that names it: a row never names a missing file. A file without a row,
//! because the process was killed in between, is deleted by the sweep.

mod bare;
mod check;
pub mod files;
pub mod picture;
mod shrink;
mod store;
mod sweep;
pub mod usecase;
mod weight;

pub use check::{Fault, check};
pub use sweep::Sweeper;
