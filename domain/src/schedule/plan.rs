//! The work of one car.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use super::{Obstacle, Unplannable};
use crate::time::{IntervalSet, Minute, Minutes};

/// Whether a step may be interrupted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Work {
    /// Without interruption, within one period of one person's working time.
    Whole,
    /// In pieces by the same person; each but the last takes at least this long (and at least one minute).
    Pieces {
        /// The smallest piece.
        smallest: Minutes,
    },
}

/// Minutes that count for a wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WaitWhen {
    /// All minutes; the wait continues while the shop is closed (a coating that cures overnight).
    Any,
    /// Only those in which the bay is open, whether or not it is held (heating or lamps that need people nearby).
    Open,
}

/// A minimum wait after a step; it may be longer, never shorter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Wait {
    /// Minimum duration of the wait.
    pub minutes: Minutes,
    /// Minutes that count.
    pub when: WaitWhen,
}

impl Wait {
    /// The next step may follow at once.
    pub const NONE: Self = Self { minutes: Minutes::ZERO, when: WaitWhen::Any };

    /// Time when a wait that begins at `begin` has passed, in a bay that is open then; `None` if that open time does
    /// not suffice for it.
    pub fn over(self, open: &IntervalSet, begin: Minute) -> Option<Minute> {
        super::window::wait(open.as_slice(), self, begin)
    }
}

/// One step of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The step's code, for people; it need not be the only one of its name.
    pub code: String,
    /// Attended minutes of one technician. With zero the step has no technician and requires no skill.
    pub minutes: Minutes,
    /// Skills that the one technician must have, all of them.
    pub skills: BTreeSet<String>,
    /// Whether it may be done in pieces.
    pub work: Work,
    /// The wait after it, for example to dry or to cure.
    pub wait: Wait,
}

impl Step {
    /// The shortest piece that may come before another one.
    pub(crate) fn smallest_piece(&self) -> Minutes {
        match self.work {
            Work::Whole => self.minutes,
            Work::Pieces { smallest } => smallest.clamp(Minutes::new(1), self.minutes.max(Minutes::new(1))),
        }
    }
}

/// The steps of one job in their order, and the features that its bay must have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    features: BTreeSet<String>,
    steps: Vec<Step>,
}

impl Plan {
    /// A plan of these steps, in this order. `features` are those that the bay must have: the union over all steps and
    /// their waits, since the car keeps its bay from start to finish.
    ///
    /// # Errors
    /// [`Unplannable::NoWork`] if no step has minutes.
    pub fn new(features: BTreeSet<String>, steps: Vec<Step>) -> Result<Self, Unplannable> {
        if steps.iter().all(|step| step.minutes == Minutes::ZERO) {
            return Err(Unplannable::NoWork);
        }
        Ok(Self { features, steps })
    }

    /// Features that the bay must have.
    pub fn features(&self) -> &BTreeSet<String> {
        &self.features
    }

    /// The steps in their order.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Whether a place that was made for this plan is still suitable for `agreed`: only if the work is the same.
    ///
    /// # Errors
    /// [`Obstacle::OtherWork`] with the first of the agreed steps that differs.
    pub fn still_fits(&self, agreed: &Self) -> Result<(), Obstacle> {
        if self == agreed {
            return Ok(());
        }
        let other = agreed.steps.iter().enumerate().find(|(at, step)| self.steps.get(*at) != Some(*step));
        Err(Obstacle::OtherWork { step: other.map(|(_, step)| step.code.clone()) })
    }

    /// The time from start to finish without interruptions: all work and all waits.
    pub fn shortest(&self) -> Minutes {
        self.steps.iter().map(|step| step.minutes + step.wait.minutes).sum()
    }
}

#[cfg(test)]
mod tests {
    use alloc::vec;

    use super::*;
    use crate::time::Interval;

    #[test]
    fn a_place_holds_only_for_the_work_it_was_made_for() {
        let step = |code: &str, minutes| Step {
            code: code.into(),
            minutes: Minutes::new(minutes),
            skills: BTreeSet::new(),
            work: Work::Whole,
            wait: Wait::NONE,
        };
        let plan = |steps| Plan::new(BTreeSet::new(), steps).unwrap();
        let made_for = plan(vec![step("wash", 60), step("polish", 90)]);
        let misfit = |steps| made_for.still_fits(&plan(steps)).err();
        let other = |step: Option<&str>| Some(Obstacle::OtherWork { step: step.map(Into::into) });
        assert_eq!(misfit(vec![step("wash", 60), step("polish", 90)]), None);
        assert_eq!(misfit(vec![step("wash", 60), step("polish", 91)]), other(Some("polish")));
        assert_eq!(misfit(vec![step("wash", 60), step("polish", 90), step("coat", 30)]), other(Some("coat")));
        assert_eq!(misfit(vec![step("wash", 60)]), other(None));
    }

    #[test]
    fn a_wait_runs_overnight_or_only_while_open() {
        let day = |from, to| Interval::new(Minute::new(from), Minute::new(to));
        let open: IntervalSet = [day(0, 60), day(100, 200)].into_iter().flatten().collect();
        let wait = |when, minutes| Wait { minutes: Minutes::new(minutes), when }.over(&open, Minute::new(50));
        assert_eq!(wait(WaitWhen::Any, 30), Some(Minute::new(80)));
        assert_eq!(wait(WaitWhen::Open, 30), Some(Minute::new(120)));
        assert_eq!(wait(WaitWhen::Open, 111), None);
        assert_eq!(wait(WaitWhen::Open, 0), Some(Minute::new(50)));
    }
}
