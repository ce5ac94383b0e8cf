//! Learning: comparison of finished jobs with the budgets on the menu.
//!
//! When a car is declared ready, each of its finished steps leaves a lesson: the step, the car's size and condition,
//! and the minutes on the clock. Lessons are compared with the budget that the menu in question would give the same
//! car, so that a budget that was applied isn't applied twice; the rules are in `baywright_domain::learning`. A quote
//! and a plan store the estimates from the time when they were made.
//!
//! No budget changes by itself: the owner applies what was learned to the menu's draft, which waits like any other
//! change until it is published. The factor that all size classes have in common goes into the minutes of the step.
//! Size factors belong to the whole shop, so the extra time of one class shows in the outlook of its plans.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/learning/steps` | desk | each step of the menu in force: budgets, actual times, and the jobs left out |
//! | `POST /v1/learning/steps/{code}/apply` | owner | applies the learned budget of a step to the menu's draft |

mod kept;
mod store;
pub mod usecase;

pub use kept::{from_json, to_json};
