//! The walls that the compiler cannot hold, read from the project's own files.

#![allow(missing_docs, clippy::unwrap_used, reason = "tests are named as requirements and fail by panicking")]

mod comments;
mod descriptions;
mod features;
mod files;
mod layers;
mod paths;
mod problems;
mod sources;
