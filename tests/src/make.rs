//! Builders: valid records made over HTTP, one module a feature.

pub mod customer;
pub mod inspection;
pub mod media;
pub mod vehicle;
