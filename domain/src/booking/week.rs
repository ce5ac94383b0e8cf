//! What happens to a confirmed booking when all jobs of some days are scheduled again.

use super::BookingState;
use crate::plan::Hands;
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

/// What happens to a booking with a place from `starts` to `finishes`. The search knows neither two people, nor that a
/// car is in only one bay at a time, nor moves from bay to bay or other orders of the steps. So `is_plain` says whether
/// the car has no other job in those days, keeps its bay, and its steps follow the plan's own order. Its start was a
/// slot when it was booked; slots may be different now, and no search would find it again.
pub fn in_week(
    state: BookingState,
    hands: Hands,
    (starts, finishes): (Minute, Minute),
    is_plain: bool,
    horizon: Horizon,
) -> InWeek {
    let span = horizon.span();
    if state != BookingState::Booked || starts < span.from() || finishes > span.to() {
        InWeek::Fixed
    } else if hands == Hands::One && is_plain && horizon.is_slot(starts) {
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
    fn only_an_agreed_booking_of_a_car_with_one_job_for_one_pair_of_hands_on_a_slot_moves() {
        let horizon = Horizon::new(Minute::new(0), Minute::new(1440), Minutes::new(15)).unwrap();
        let asked = |state, hands, starts, finishes, is_plain| {
            in_week(state, hands, (Minute::new(starts), Minute::new(finishes)), is_plain, horizon)
        };
        assert_eq!(asked(BookingState::Booked, Hands::One, 480, 1440, true), InWeek::Moves);
        assert_eq!(asked(BookingState::Booked, Hands::Two, 480, 600, true), InWeek::Stays);
        assert_eq!(asked(BookingState::Booked, Hands::One, 480, 600, false), InWeek::Stays);
        assert_eq!(asked(BookingState::Booked, Hands::One, 487, 600, true), InWeek::Stays);
        assert_eq!(asked(BookingState::Booked, Hands::One, 480, 1441, true), InWeek::Fixed);
        assert_eq!(asked(BookingState::Booked, Hands::One, -15, 600, true), InWeek::Fixed);
        for state in [BookingState::Held, BookingState::InBay, BookingState::Ready] {
            assert_eq!(asked(state, Hands::One, 480, 600, true), InWeek::Fixed);
        }
    }
}
