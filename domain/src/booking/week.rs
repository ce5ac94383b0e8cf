//! What happens to a confirmed booking when all jobs of some days are scheduled again.

use super::BookingState;
use crate::schedule::Horizon;
use crate::time::Minute;

/// What happens to a booking when the jobs of some days are scheduled again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InWeek {
    /// It may get another place.
    Moves,
    /// It is confirmed and keeps its place, because the search can't move it.
    Stays,
    /// Its time is taken: it is only held, its car has come, or it is not wholly within the days.
    Fixed,
}

/// What happens to a booking with a place from `starts` to `finishes`. The search doesn't know that a car is in only one
/// bay at a time, so `is_alone` says whether the car has no other job in those days. Its start was a slot when it was
/// booked; slots may be different now, and no search would find it again.
pub fn in_week(state: BookingState, (starts, finishes): (Minute, Minute), is_alone: bool, horizon: Horizon) -> InWeek {
    let span = horizon.span();
    if state != BookingState::Booked || starts < span.from() || finishes > span.to() {
        InWeek::Fixed
    } else if is_alone && horizon.is_slot(starts) {
        InWeek::Moves
    } else {
        InWeek::Stays
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Minutes;

    #[test]
    fn only_an_agreed_booking_of_a_car_with_one_job_on_a_slot_moves() {
        let horizon = Horizon::new(Minute::new(0), Minute::new(1440), Minutes::new(15)).unwrap();
        let asked = |state, starts, finishes, is_alone| {
            in_week(state, (Minute::new(starts), Minute::new(finishes)), is_alone, horizon)
        };
        assert_eq!(asked(BookingState::Booked, 480, 1440, true), InWeek::Moves);
        assert_eq!(asked(BookingState::Booked, 480, 600, false), InWeek::Stays);
        assert_eq!(asked(BookingState::Booked, 487, 600, true), InWeek::Stays);
        assert_eq!(asked(BookingState::Booked, 480, 1441, true), InWeek::Fixed);
        assert_eq!(asked(BookingState::Booked, -15, 600, true), InWeek::Fixed);
        for state in [BookingState::Held, BookingState::InBay, BookingState::Ready] {
            assert_eq!(asked(state, 480, 600, true), InWeek::Fixed);
        }
    }
}
