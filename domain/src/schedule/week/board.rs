//! Free time of the technicians while steps are placed.

use alloc::vec::Vec;

use crate::time::Interval;

/// Removes minutes from sorted free time that contains them.
pub(super) fn take(free: &mut Vec<Interval>, taken: Interval) {
    let at = free.partition_point(|window| window.to() <= taken.from());
    let Some(window) = free.get_mut(at) else { return };
    let before = Interval::new(window.from(), taken.from());
    let after = Interval::new(taken.to(), window.to());
    match (before, after) {
        (None, None) => {
            free.remove(at);
        }
        (Some(left), None) | (None, Some(left)) => *window = left,
        (Some(before), Some(after)) => {
            *window = before;
            free.insert(at + 1, after);
        }
    }
}

/// Returns minutes that were removed; intervals that touch become one.
pub(super) fn give(free: &mut Vec<Interval>, given: Interval) {
    let at = free.partition_point(|window| window.to() < given.from());
    let touching = free[at..].iter().take_while(|window| window.from() <= given.to()).count();
    let joined = &free[at..at + touching];
    let from = joined.first().map_or(given.from(), |first| first.from().min(given.from()));
    let to = joined.last().map_or(given.to(), |last| last.to().max(given.to()));
    free.splice(at..at + touching, Interval::new(from, to));
}

/// Removes minutes from sorted free time, however much of them it contains.
pub(super) fn cut(free: &mut Vec<Interval>, taken: Interval) {
    let at = free.partition_point(|window| window.to() <= taken.from());
    let touched = free[at..].iter().take_while(|window| window.from() < taken.to()).count();
    let cut = &free[at..at + touched];
    let before = cut.first().and_then(|first| Interval::new(first.from(), taken.from()));
    let after = cut.last().and_then(|last| Interval::new(taken.to(), last.to()));
    free.splice(at..at + touched, before.into_iter().chain(after));
}

/// Copies lists into existing lists, and allocates new ones only if those are too few.
pub(super) fn copy(to: &mut Vec<Vec<Interval>>, from: &[Vec<Interval>]) {
    to.resize_with(from.len(), Vec::new);
    for (to, from) in to.iter_mut().zip(from) {
        to.clone_from(from);
    }
}

#[cfg(test)]
mod tests {
    use alloc::vec;

    use super::*;
    use crate::time::Minute;

    fn at(from: i64, to: i64) -> Interval {
        Interval::new(Minute::new(from), Minute::new(to)).unwrap()
    }

    #[test]
    fn what_is_taken_and_given_back_leaves_the_time_as_it_was() {
        let before = vec![at(0, 10), at(20, 30)];
        for taken in [at(20, 30), at(20, 25), at(25, 30), at(22, 27), at(0, 10)] {
            let mut free = before.clone();
            take(&mut free, taken);
            assert_ne!(free, before);
            give(&mut free, taken);
            assert_eq!(free, before, "{taken:?}");
        }
    }

    #[test]
    fn minutes_are_removed_whether_they_were_free_or_not() {
        let cut_from = |taken: Interval| {
            let mut free = vec![at(0, 10), at(20, 30), at(40, 50)];
            cut(&mut free, taken);
            free
        };
        assert_eq!(cut_from(at(10, 20)), [at(0, 10), at(20, 30), at(40, 50)]);
        assert_eq!(cut_from(at(5, 45)), [at(0, 5), at(45, 50)]);
        assert_eq!(cut_from(at(22, 24)), [at(0, 10), at(20, 22), at(24, 30), at(40, 50)]);
        assert_eq!(cut_from(at(15, 60)), [at(0, 10)]);
    }

    #[test]
    fn windows_on_either_side_are_joined() {
        let mut free = vec![at(0, 10), at(20, 30), at(40, 50)];
        give(&mut free, at(10, 20));
        assert_eq!(free, [at(0, 30), at(40, 50)]);
        give(&mut free, at(33, 35));
        assert_eq!(free, [at(0, 30), at(33, 35), at(40, 50)]);
    }
}
