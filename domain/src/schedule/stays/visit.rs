//! A plan placed in the diary, in one bay after another.

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
    /// Time when the car takes the bay: at the start for the first stay, and when the first step in the bay begins for
    /// later ones.
    pub from: Minute,
    /// Time when it leaves it; the bay is free from this minute on.
    pub to: Minute,
}

/// A car in the shop from start to finish: its stays, and who does which step when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    /// Index of the order that it follows, among those that were given.
    pub order: usize,
    /// Time when the car takes its first bay; always a slot.
    pub start: Minute,
    /// Time when all steps and waits have ended.
    pub finish: Minute,
    /// One bay after another, without a minute between them.
    pub stays: Vec<Stay>,
    /// The steps in their order. The minutes of the first step of each later stay include those of the move.
    pub steps: Vec<PlacedStep>,
}

impl Visit {
    /// A placement of one order as a visit of one stay.
    pub(super) fn in_one_bay(order: usize, placement: Placement) -> Self {
        let Placement { bay, start, finish, steps } = placement;
        Self { order, start, finish, stays: vec![Stay { bay, from: start, to: finish }], steps }
    }
}
