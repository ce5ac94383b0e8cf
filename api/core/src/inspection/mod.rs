//! Inspections: what was found on a car, panel by panel, what the gauge read, and what that makes of its condition.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/inspections` | crew | one page of them, newest first; by vehicle, state |
//! | `POST /v1/inspections` | crew | begins one, a draft |
//! | `GET /v1/inspections/{id}` | crew | one |
//! | `PUT /v1/inspections/{id}` | crew | replaces what a draft says |
//! | `POST /v1/inspections/{id}/complete` | crew | draft → completed, for good |
//! | `POST /v1/inspections/{id}/paint-decision` | owner | decides about readings beyond the shop's limits |
//!
//! The rules are in `baywright_domain::inspection`. A draft is judged by the shop's limits as they are; a completed one
//! keeps the limits it was judged by.

mod details;
mod look;
mod store;
pub mod usecase;
