//! A plan placed in the diary.

use alloc::string::String;
use alloc::vec::Vec;

use crate::time::{Interval, Minute};

/// One bay from start to finish, and the work of each person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placement {
    /// The bay's code.
    pub bay: String,
    /// Time when the car takes the bay; always a slot.
    pub start: Minute,
    /// Time when all steps and waits have ended; the bay is free from this minute on.
    pub finish: Minute,
    /// The plan's steps, in its order.
    pub steps: Vec<PlacedStep>,
}

/// One step of a placement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedStep {
    /// The step's code.
    pub code: String,
    /// The technician's code; at a step for two that of a pair, whose people are [`leads`](Self::leads) and
    /// [`helps`](Self::helps). `None` for a step without minutes.
    pub technician: Option<String>,
    /// Time when it is worked on: in order, never touching; empty for a step without minutes.
    pub pieces: Vec<Interval>,
}
