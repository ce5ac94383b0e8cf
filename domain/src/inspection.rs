//! The walk-round before work: what was found, panel by panel, and what that makes of the car's condition.

mod condition;

pub use condition::{ByCondition, ConditionClass};
