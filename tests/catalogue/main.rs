//! The database as it stands after the migrations: the same on both engines, the same as `schema.rs`, and a shop's.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::panic,
    reason = "tests are named as requirements and fail by panicking"
)]

mod declared;
mod folders;
mod postgres;
mod shape;
mod sqlite;
mod walls;
mod ways;
