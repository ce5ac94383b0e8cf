//! Waits that remain after all work is done.

use alloc::vec::Vec;

use super::progress::Progress;
use super::{Holds, Plan, Step};
use crate::time::{IntervalSet, Minute};

/// Steps whose minutes are all worked, with the waits after them that still have to pass. Nobody is needed for them, so
/// no diary places them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waits(Plan);

impl Waits {
    /// The waits of these steps, in this order, with their holds. The minutes of the steps don't count.
    pub fn new(steps: Vec<Step>, holds: Vec<Holds>) -> Self {
        Self(Plan::without_work(steps).holding(holds))
    }

    /// The steps in their order.
    pub fn steps(&self) -> &[Step] {
        self.0.steps()
    }

    /// Time when all of them have passed in a bay that is open then, from `from` on; `None` if its open time does not
    /// suffice. No step is done before its time in `not_before`; a step beyond that list has none.
    pub fn over(&self, open: &IntervalSet, from: Minute, not_before: &[Minute]) -> Option<Minute> {
        let mut done = Progress::new(from);
        for (place, step) in self.0.steps().iter().enumerate() {
            let begin = done.begin(&self.0, place);
            let end = not_before.get(place).map_or(begin, |moment| begin.max(*moment));
            let passed = step.wait.over(open, end)?;
            done.note(&self.0, place, end, passed);
        }
        Some(done.finish())
    }
}

#[cfg(test)]
mod tests {
    use alloc::collections::BTreeSet;
    use alloc::vec;

    use super::*;
    use crate::schedule::{Wait, WaitWhen, Work};
    use crate::time::Minutes;

    fn waits(minutes: &[u32], holds: Vec<Holds>) -> Waits {
        let step = |minutes: &u32| Step {
            code: "S".into(),
            minutes: Minutes::ZERO,
            skills: BTreeSet::new(),
            work: Work::Whole,
            wait: Wait { minutes: Minutes::new(*minutes), when: WaitWhen::Any },
        };
        Waits::new(minutes.iter().map(step).collect(), holds)
    }

    #[test]
    fn waits_that_hold_the_car_follow_one_another_and_others_run_at_once() {
        let over = |waits: &Waits, not_before: &[i64]| {
            let moments: Vec<Minute> = not_before.iter().map(|moment| Minute::new(*moment)).collect();
            waits.over(&IntervalSet::EMPTY, Minute::new(100), &moments).map(Minute::get)
        };
        assert_eq!(over(&waits(&[60, 30], vec![]), &[]), Some(190));
        let after = |steps: &[usize]| Holds::After(steps.iter().copied().collect());
        assert_eq!(over(&waits(&[60, 30], vec![after(&[]), after(&[])]), &[]), Some(160));
        assert_eq!(over(&waits(&[60, 30], vec![after(&[1]), after(&[])]), &[]), Some(190));
        // Something that was applied before is still drying, and the second step waits for it.
        assert_eq!(over(&waits(&[60, 30], vec![after(&[]), after(&[])]), &[100, 200]), Some(230));
        assert_eq!(over(&waits(&[], vec![]), &[]), Some(100));
    }
}
