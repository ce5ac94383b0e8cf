//! Inspections: findings on a car, panel by panel, paint-depth readings, and the condition that follows from them.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/inspections` | crew | one page of them, newest first; by vehicle, state |
//! | `POST /v1/inspections` | crew | begins one, a draft |
//! | `GET /v1/inspections/{id}` | crew | one inspection |
//! | `PUT /v1/inspections/{id}` | crew | replaces the content of a draft |
//! | `POST /v1/inspections/{id}/complete` | crew | draft → completed, for good |
//! | `POST /v1/inspections/{id}/paint-decision` | owner | decides about readings beyond the shop's limits |
//!
//! The rules are in `baywright_domain::inspection`. A draft is judged by the shop's current limits; a completed one
//! keeps the limits by which it was judged.

mod details;
mod look;
mod store;
pub mod usecase;
