//! A bay's time on one day, as a diagram shows it.

use alloc::vec::Vec;

use crate::time::{Interval, IntervalSet};
use crate::word::words;

words! {
    /// Use of a stretch of a bay's time.
    pub enum StretchKind("kind of a stretch") {
        /// Somebody is booked to work on the car.
        Work = "WORK" "work",
        /// The car is in the bay, and nobody is booked to work on it: something dries or cures, or the shop is closed.
        Wait = "WAIT" "wait",
        /// The time is held for a customer who has not agreed yet.
        Hold = "HOLD" "hold",
        /// The bay is closed.
        Closed = "CLOSED" "closed",
    }
}

/// The stretches of a car's time in a bay, by start: work while somebody is booked, waits between; one hold if the time
/// is only held. Work outside that time is left out.
pub fn stretches(place: Interval, held: bool, worked: &IntervalSet) -> Vec<(StretchKind, Interval)> {
    if held {
        return alloc::vec![(StretchKind::Hold, place)];
    }
    let work = worked.clip(place);
    let waits = [place].into_iter().collect::<IntervalSet>().difference(&work);
    let mut all: Vec<(StretchKind, Interval)> = work.iter().map(|one| (StretchKind::Work, *one)).collect();
    all.extend(waits.iter().map(|one| (StretchKind::Wait, *one)));
    all.sort_by_key(|(_, one)| one.from());
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Minute;

    fn at(from: i64, to: i64) -> Interval {
        Interval::new(Minute::new(from), Minute::new(to)).unwrap()
    }

    #[test]
    fn what_is_not_worked_on_is_a_wait() {
        let worked: IntervalSet = [at(0, 20), at(30, 40), at(90, 120)].into_iter().collect();
        let found = stretches(at(10, 100), false, &worked);
        let (work, wait) = (StretchKind::Work, StretchKind::Wait);
        let all = [(work, at(10, 20)), (wait, at(20, 30)), (work, at(30, 40)), (wait, at(40, 90)), (work, at(90, 100))];
        assert_eq!(found, all);
    }

    #[test]
    fn a_hold_is_one_stretch() {
        let worked: IntervalSet = [at(0, 20)].into_iter().collect();
        assert_eq!(stretches(at(0, 60), true, &worked), [(StretchKind::Hold, at(0, 60))]);
    }
}
