//! Time that bookings take.

use alloc::string::String;

use crate::time::Interval;

/// A period of a bay's or a person's time that a booking takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Code of the bay or the person.
    pub owner: String,
    /// Id of the booking that has it.
    pub booking: String,
    /// Time that is taken.
    pub when: Interval,
}

impl Taken {
    /// The first of these that takes part of an owner's period.
    pub fn first_of<'t>(taken: &'t [Self], owner: &str, stretch: Interval) -> Option<&'t Self> {
        taken.iter().find(|one| one.owner == owner && one.when.overlaps(stretch))
    }
}
