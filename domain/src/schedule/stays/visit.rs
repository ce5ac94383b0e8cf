//! A plan put into the diary, in one bay after another.

use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;

use crate::schedule::{PlacedStep, Placement};
use crate::time::Minute;

/// A car in one bay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    /// The bay's code.
    pub bay: String,
    /// When the car takes the bay: at the start, and later when the first step in it begins.
    pub from: Minute,
    /// When it leaves it; the bay is free from this minute on.
    pub to: Minute,
}

/// A car in the shop from start to finish: its stays, and who does what when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    /// Which of the orders that were asked for it keeps, by its place among them.
    pub order: usize,
    /// When the car takes its first bay; always a slot.
    pub start: Minute,
    /// When all steps and waits have ended.
    pub finish: Minute,
    /// One bay after another, without a minute between them.
    pub stays: Vec<Stay>,
    /// The steps in their order. The first one of each later stay has the minutes of the move in its own.
    pub steps: Vec<PlacedStep>,
}

impl Visit {
    /// A placement of one order as a visit of one stay.
    pub(super) fn in_one_bay(order: usize, placement: Placement) -> Self {
        let Placement { bay, start, finish, steps } = placement;
        Self { order, start, finish, stays: vec![Stay { bay, from: start, to: finish }], steps }
    }
}
