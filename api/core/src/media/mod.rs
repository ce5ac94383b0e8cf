//! Photographs: taken in, made harmless, kept as files under their digests, and served.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/photos` | crew | takes in a JPEG, PNG or WebP |
//! | `GET /v1/photos/{id}` | crew | the photograph, as JPEG |
//! | `GET /v1/photos/{id}/thumbnail` | crew | a small one |
//! | `GET /v1/photos/{id}/details` | crew | what is known of it |
//!
//! A file is written, and on the disk, before the row that names it: a row never names a file that is not there. A file
//! that no row came to name, because the process was killed in between, goes with the sweep.

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
