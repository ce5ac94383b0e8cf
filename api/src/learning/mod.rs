//! Learning: what finished jobs say of the budgets on the menu.
//!
//! When a car is declared ready, each of its finished steps leaves a lesson: the step, the car's size and condition,
//! and how long the clock said. Lessons are measured against what the menu asked about would give the same car, so that
//! a budget that was taken over isn't taken over twice; the rules are in `baywright_domain::learning`. A quote and a
//! plan keep what was believed when they were made.
//!
//! Nothing changes a budget by itself: the owner takes what was learned into the menu's draft, which waits like any other
//! change until it is published. The factor that all size classes have in common goes into the minutes of the step. Size
//! factors belong to the whole shop, so what one class needs more shows in the outlook of its plans.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/learning/steps` | desk | each step of the menu in force: budgets, what jobs make of them, and the outliers |
//! | `POST /v1/learning/steps/{code}/take` | owner | writes what was learned of a step into the menu's draft |

mod kept;
pub mod routes;
mod store;
pub mod usecase;

pub use kept::{from_json, to_json};
