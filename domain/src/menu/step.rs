//! Steps: the pieces of work that services share.

use alloc::string::String;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::{Code, Dose};
use crate::caution::Caution;
use crate::time::Minutes;
use crate::word::words;

/// Feature that the bay must have for a wait under cover.
pub const COVER: &str = "cover";

words! {
    /// Time when a wait runs.
    pub enum WaitWhen("wait") {
        /// Also while the shop is closed, as a cure overnight does.
        Any = "ANY" "also while closed",
        /// Only while the bay is open, as drying under lamps does.
        Open = "OPEN" "only while open",
    }
}

words! {
    /// The part of the work that a wait holds back while it runs.
    #[derive(Default)]
    pub enum Holds("hold of a wait") {
        /// The whole car: nobody works on it or moves it, as while a coating cures.
        #[default]
        Car = "CAR" "the whole car",
        /// Only the steps that must come after this one: other work on the car continues, as while seats dry.
        After = "AFTER" "the steps after it",
    }
}

/// Minimum wait after a step before the steps that it holds back begin; it may be longer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Wait {
    /// Minimum duration of the wait.
    pub minutes: Minutes,
    /// Time when it runs.
    pub when: WaitWhen,
    /// The part of the work that it holds back; the whole car if not given.
    pub holds: Holds,
    /// Whether the car has to stay in the bay for it.
    pub needs_bay: bool,
    /// Whether it has to be under cover.
    pub needs_cover: bool,
}

impl Wait {
    /// No wait.
    pub const NONE: Self =
        Self { minutes: Minutes::ZERO, when: WaitWhen::Any, holds: Holds::Car, needs_bay: false, needs_cover: false };
}

/// A step that may be interrupted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Split {
    /// Shortest piece of work that is worth starting; the last may be shorter.
    pub piece: Minutes,
}

words! {
    /// Whether water is about.
    pub enum Area("area") {
        /// Washing and rinsing.
        Wet = "WET" "wet",
        /// Everything that must stay dry.
        Dry = "DRY" "dry",
    }
}

words! {
    /// Side of the doors on which the work is.
    pub enum Side("side") {
        /// Outside the car.
        Outside = "OUTSIDE" "outside",
        /// Inside the car.
        Inside = "INSIDE" "inside",
    }
}

words! {
    /// Whether hands and tools may be dirty.
    pub enum Cleanliness("cleanliness") {
        /// Wheels, arches, compounds.
        Dirty = "DIRTY" "dirty",
        /// Coatings, glass, leather.
        Clean = "CLEAN" "clean",
    }
}

/// Setup of a step; a difference from the step before costs changeover minutes.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Setup {
    /// Wet or dry work.
    pub area: Area,
    /// Outside or inside.
    pub side: Side,
    /// Part of the car, if moving there and back costs time.
    pub zone: Option<Code>,
    /// Tool that is fetched and put away, such as a machine polisher.
    pub tool: Option<Code>,
    /// Whether the car is masked for it.
    pub masked: bool,
    /// Dirty or clean products.
    pub cleanliness: Cleanliness,
}

impl Setup {
    /// Dry, clean work on the outside without setup.
    pub const PLAIN: Self = Self {
        area: Area::Dry,
        side: Side::Outside,
        zone: None,
        tool: None,
        masked: false,
        cleanliness: Cleanliness::Clean,
    };
}

/// A piece of work that is done once on a car, however many of the signed services need it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Its code within the shop.
    pub code: Code,
    /// Name as people read it.
    pub name: String,
    /// Stage in the usual order of work, which decides between orders that cost the same.
    pub stage: u16,
    /// Minutes of one person on a medium car in fair condition.
    pub minutes: Minutes,
    /// Whether the budget grows with the vehicle.
    pub by_size: bool,
    /// Whether the budget grows with the condition.
    pub by_condition: bool,
    /// Time that two people need, as a share of the time of one person, if a second person helps (common practice:
    /// 0.6).
    pub two_hands: Option<Decimal>,
    /// Skills that one person must have, all of them.
    pub skills: Vec<Code>,
    /// Features that the bay must have, such as `cover` or `dust-free`.
    pub features: Vec<Code>,
    /// Minimum wait after it.
    pub wait: Wait,
    /// Whether it may be interrupted.
    pub split: Option<Split>,
    /// Setup that it needs.
    pub setup: Setup,
    /// Amounts of products that it needs.
    pub doses: Vec<Dose>,
    /// Cautions for work on the car.
    pub cautions: Vec<Caution>,
    /// Steps that must be finished before it, if they are part of the car's work.
    pub after: Vec<Code>,
}
