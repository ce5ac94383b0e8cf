//! Scheduling: people, bays and times for jobs.
//!
//! A [`Plan`] is the work of one car: steps in order. A [`Diary`] is the time of the shop: bays and technicians over a
//! [`Horizon`]. A [`Placement`] puts a plan into the diary: one bay from start to finish, and for each step the
//! technician and the minutes worked.
//!
//! [`availability`] finds the first time at which a plan fits, [`stays`] does the same if the car may change bays,
//! [`week`] schedules many jobs at once, [`Diary::check`] checks a given placement against every rule, and an
//! [`Obstacle`] says why one is not possible. [`with_pairs`] says how two people work at one step. Times are whole
//! minutes in UTC ([`crate::time`]); the calendar has already turned local hours into intervals.

pub mod availability;
mod check;
mod diary;
mod figures;
mod horizon;
mod keep;
mod obstacle;
mod pair;
mod placement;
mod plan;
mod progress;
mod promise;
pub mod stays;
mod taken;
mod waits;
pub mod week;
mod why;
mod window;

pub use diary::{Bay, Diary, Technician};
pub use figures::{Causes, Figure, Relief};
pub use horizon::{Horizon, slot_of};
pub use keep::{obstacles, still_good};
pub use obstacle::{Holder, NoPlace, Obstacle};
pub use pair::with_pairs;
pub use placement::{PlacedStep, Placement};
pub use plan::{Holds, Plan, Step, Wait, WaitWhen, Work};
pub use promise::{ClockStep, NotClockStep};
pub use taken::Taken;
pub use waits::Waits;
pub use why::{Hindrance, Reason, SuggestionKind, Wanted};

use crate::refusal::{Kind, Refusal};
use alloc::string::String;

/// Fault in the input that makes a question about the diary meaningless.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unplannable {
    /// No step of the plan has minutes.
    #[error("the plan has no work in it; give at least one step some minutes")]
    NoWork,
    /// The horizon is empty.
    #[error("the time to search ends before it begins; give an end after the beginning")]
    NoHorizon,
    /// The horizon reaches beyond the calendar.
    #[error("the time to search goes beyond the years -9999 to 9999; choose nearer dates")]
    BeyondCalendar,
    /// The slot is zero minutes long.
    #[error("a slot needs at least one minute; 15 is usual")]
    NoSlot,
    /// Two bays, or two technicians, have the same code.
    #[error("the code {code:?} is given to two {what}; each needs one of its own")]
    SameCode {
        /// `bays` or `technicians`.
        what: &'static str,
        /// The code.
        code: String,
    },
}

impl Refusal for Unplannable {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        match self {
            Self::NoWork => "plan-without-work",
            Self::NoHorizon => "empty-horizon",
            Self::BeyondCalendar => "horizon-beyond-calendar",
            Self::NoSlot => "empty-slot",
            Self::SameCode { .. } => "same-code-twice",
        }
    }
}
