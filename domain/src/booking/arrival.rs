//! The arrival of a car: whether its bay is free, and the time from which the car has it.
//!
//! A car that comes early has its bay from then on if the bay is empty and nobody else has it in between. Otherwise it
//! waits outside the bay and moves in with its first step: what is in the bay then doesn't concern its arrival. If
//! another car is in the bay at its time, no second one is let in, whatever the diary says. Nobody records that a ready
//! car was driven out before its hand-over, so whoever wants its bay is asked.

use crate::time::Minute;

/// Other car in the bay when a car comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Occupant {
    /// No car.
    None,
    /// A car whose work continues.
    InWork,
    /// A ready car. It may have been driven out already, which only a person can see.
    Ready,
}

/// Result of the arrival of a car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrival {
    /// It is in the bay, which it has from this minute on: earlier than booked if it came early.
    Stands {
        /// First minute of its place.
        from: Minute,
    },
    /// It came early and others have the bay before its time or are at work in it, so it waits outside the bay.
    Waits,
    /// A ready car may still be there: a person has to confirm that it was driven out.
    AskFirst,
    /// Another car is there. Two cars are never in one bay.
    Occupied,
}

/// What happens to a car that arrives at `now` for a place that begins at `starts`. `others_before` says whether other
/// bookings have the bay between the two.
pub const fn arrival(now: Minute, starts: Minute, occupant: Occupant, others_before: bool) -> Arrival {
    let early = now.get() < starts.get();
    match occupant {
        _ if early && others_before => Arrival::Waits,
        Occupant::InWork if early => Arrival::Waits,
        Occupant::InWork => Arrival::Occupied,
        Occupant::Ready => Arrival::AskFirst,
        Occupant::None => Arrival::Stands { from: if early { now } else { starts } },
    }
}

/// First minute of the place of a car that was waiting for its bay and moves in at `now`, because work on it begins. It
/// is now, unless other bookings have the bay before the car's own place: then the place begins as booked.
pub const fn entry(now: Minute, starts: Minute, others_before: bool) -> Minute {
    if others_before || now.get() >= starts.get() { starts } else { now }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn occupant() -> impl Strategy<Value = Occupant> {
        prop_oneof![Just(Occupant::None), Just(Occupant::InWork), Just(Occupant::Ready)]
    }

    proptest! {
        #[test]
        fn a_car_stands_only_in_a_bay_that_is_empty_and_never_later_than_booked(
            now in -99..99i64, starts in -99..99i64, occupant in occupant(), others in any::<bool>(),
        ) {
            let (now, starts) = (Minute::new(now), Minute::new(starts));
            match arrival(now, starts, occupant, others) {
                Arrival::Stands { from } => {
                    prop_assert_eq!(occupant, Occupant::None);
                    prop_assert_eq!(from, now.min(starts));
                    prop_assert!(from == starts || !others);
                }
                Arrival::Waits => prop_assert!(now < starts && (others || occupant == Occupant::InWork)),
                Arrival::AskFirst => prop_assert!(occupant == Occupant::Ready && (now >= starts || !others)),
                Arrival::Occupied => prop_assert!(occupant == Occupant::InWork && now >= starts),
            }
        }

        #[test]
        fn a_car_that_waited_has_its_bay_from_the_moment_it_is_driven_in_unless_others_have_it_before(
            now in -99..99i64, starts in -99..99i64, others in any::<bool>(),
        ) {
            let (now, starts) = (Minute::new(now), Minute::new(starts));
            let from = entry(now, starts, others);
            prop_assert_eq!(from, if others { starts } else { now.min(starts) });
        }
    }
}
