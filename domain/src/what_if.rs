//! Suppositions: what a change of the shop would do to the cars that are booked. Nothing is changed by asking.
//!
//! **Which promises move.** An absence, a closure or more work on a car takes time away. A booking whose place keeps every
//! rule before and not after is broken by the supposition, and only if there is one does anything move: the cars are then
//! placed again as by a rescheduling, with as few moved promises as possible ([`promises()`]). Bookings that are broken
//! already, whatever is supposed, keep their places and are named apart.
//!
//! **Who would be finished sooner, and the days saved.** More hours, one more bay or one more person give time. Then two
//! diaries are compared, neither of which is the one that is agreed, since customers were told their times. In both, every
//! car may come from now on, and **moves up**: the cars, in the order of their booked starts, each take the first time at
//! which their work can be done while all others stay, if it is finished sooner there than where they are; this is repeated
//! until no car moves. The first diary begins with the places as booked and is that of the shop as it is. The second begins
//! where the first one ends and is that of the supposed shop. A car is **finished sooner** by the difference of its finishes
//! in the two. The **days saved** are, summed over all cars, the calendar days in the shop's time zone from the finish in the
//! second diary to that in the first: two cars that are each done on Thursday instead of on Friday save two days, and a car
//! that is done at noon instead of in the evening saves none. What could be sooner in the shop as it is, is not counted,
//! since no change is needed for it.
//!
//! Because no car ever takes a later finish, no car loses by a supposition that gives time, and one that gives nothing saves
//! nothing: the first diary has ended where no car can move up. An answer that was cut off for lack of time is marked as
//! incomplete; it may then count too little, or count something that needed no change.

mod change;
mod place;
mod promises;
mod sooner;

use alloc::string::String;
use alloc::vec::Vec;

pub use change::{SUPPOSED, Supposed};
pub use promises::{MovedPromise, Promises, promises};
pub use sooner::{Sooner, move_up, sooner};

use crate::schedule::stays::{Moving, StepOrder, Visit};
use crate::schedule::{Bay, Horizon, Plan, Technician};
use crate::time::{IntervalSet, Minute};

/// The shop's time without the booked cars that a supposition may move; all other bookings have taken theirs.
#[derive(Debug, Clone)]
pub struct ShopTime {
    /// The period for which it is known.
    pub horizon: Horizon,
    /// The bays.
    pub bays: Vec<Bay>,
    /// The people, without pairs.
    pub people: Vec<Technician>,
}

/// A booked car that has not come yet.
#[derive(Debug, Clone)]
pub struct BookedCar {
    /// Code of the booking.
    pub code: String,
    /// Code of the car, which may have several bookings and is in one bay at a time.
    pub car: String,
    /// Time for which the car is in some bay for a booking that does not move.
    pub elsewhere: IntervalSet,
    /// Its place.
    pub visit: Visit,
    /// The work for which the place was made, in the order that it follows.
    pub made_for: StepOrder,
    /// Orders in which the work can be done now, the plan's own first.
    pub orders: Vec<StepOrder>,
    /// The work now as in one bay, by the plan's own order.
    pub plan: Plan,
    /// Moves that the car may make.
    pub moving: Moving,
    /// Earliest time at which the work may begin.
    pub from: Minute,
    /// Whether the search of a week can move it: its car keeps one bay, and one person does each step.
    pub in_week: bool,
}

/// A kept promise: the start and the finish that the customer was told, by the diary.
fn told(visit: &Visit) -> (Minute, Minute) {
    (visit.start, visit.finish)
}
