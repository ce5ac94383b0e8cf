//! The work of one car.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use super::progress::Progress;
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

/// Later steps that the wait after a step holds back while it runs.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub enum Holds {
    /// The whole car: no later step begins.
    #[default]
    Car,
    /// Only these steps, by index in the plan, from 0.
    After(BTreeSet<usize>),
}

impl Holds {
    /// The hold of a wait for which no other was given.
    const CAR: &'static Self = &Self::Car;

    /// Whether the wait after the step at `first` holds back the step at `place`; no wait holds back an earlier step.
    pub(crate) fn holds_back(&self, first: usize, place: usize) -> bool {
        first < place
            && match self {
                Self::Car => true,
                Self::After(steps) => steps.contains(&place),
            }
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
    /// Hold of the wait of each step; empty if every wait holds the whole car.
    holds: Vec<Holds>,
}

impl Plan {
    /// A plan of these steps, in this order, with waits that hold the whole car. `features` are those that the bay must
    /// have: the union over all steps and their waits, since the car keeps its bay from start to finish.
    ///
    /// # Errors
    /// [`Unplannable::NoWork`] if no step has minutes.
    pub fn new(features: BTreeSet<String>, steps: Vec<Step>) -> Result<Self, Unplannable> {
        if steps.iter().all(|step| step.minutes == Minutes::ZERO) {
            return Err(Unplannable::NoWork);
        }
        Ok(Self { features, steps, holds: Vec::new() })
    }

    /// A plan of these steps in which no work is left, only waits. It is not placed in a diary.
    pub(super) fn without_work(steps: Vec<Step>) -> Self {
        Self { features: BTreeSet::new(), steps, holds: Vec::new() }
    }

    /// The same plan with the given holds of the waits, in the plan's order. The wait of a step beyond the list holds
    /// the whole car.
    #[must_use]
    pub fn holding(mut self, holds: Vec<Holds>) -> Self {
        // One representation for each meaning, so that plans with the same meaning are equal.
        let car_alone = holds.iter().all(|one| *one == Holds::Car);
        self.holds = if car_alone { Vec::new() } else { holds };
        self
    }

    /// Hold of the wait after the step at this index.
    pub fn holds(&self, place: usize) -> &Holds {
        self.holds.get(place).unwrap_or(Holds::CAR)
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

    /// The time from start to finish without interruptions: all work, and the parts of waits that no other work fills.
    pub fn shortest(&self) -> Minutes {
        self.run(Progress::new(Minute::new(0)), 0)
    }

    /// Minimum time from the end of the step at this index to the finish.
    pub(super) fn tail(&self, place: usize) -> Minutes {
        let end = Minute::new(0);
        let mut progress = Progress::new(end);
        if let Some(step) = self.steps.get(place) {
            progress.note(self, place, end, end + step.wait.minutes);
        }
        self.run(progress, place + 1)
    }

    /// Finish of the steps from the `first` one on, in minutes from minute 0, without interruptions.
    fn run(&self, mut progress: Progress, first: usize) -> Minutes {
        for (place, step) in self.steps.iter().enumerate().skip(first) {
            let end = progress.begin(self, place) + step.minutes;
            progress.note(self, place, end, end + step.wait.minutes);
        }
        Minutes::new(u32::try_from(progress.finish().get()).unwrap_or(u32::MAX))
    }
}

#[cfg(test)]
mod tests {
    use alloc::vec;

    use super::*;
    use crate::time::Interval;

    fn plan(steps: &[(u32, u32)]) -> Plan {
        let step = |(minutes, wait): &(u32, u32)| Step {
            code: "S".into(),
            minutes: Minutes::new(*minutes),
            skills: BTreeSet::new(),
            work: Work::Whole,
            wait: Wait { minutes: Minutes::new(*wait), when: WaitWhen::Any },
        };
        Plan::new(BTreeSet::new(), steps.iter().map(step).collect()).unwrap()
    }

    #[test]
    fn a_wait_that_holds_single_steps_is_filled_with_other_work() {
        // Seats dry for 240 minutes; 390 minutes of polishing run meanwhile, and only the last step needs dry seats.
        let drying = plan(&[(90, 240), (390, 0), (15, 0)]);
        assert_eq!(drying.shortest(), Minutes::new(735));
        let after = |place: usize| Holds::After(BTreeSet::from([place]));
        assert_eq!(drying.clone().holding(vec![after(2)]).shortest(), Minutes::new(495));
        // 100 minutes of the polishing are left, so the last step waits for the seats.
        let short = plan(&[(90, 240), (100, 0), (15, 0)]).holding(vec![after(2)]);
        assert_eq!(short.shortest(), Minutes::new(345));
        // A wait that no step needs still ends within the plan.
        let last = plan(&[(90, 240), (100, 0)]).holding(vec![Holds::After(BTreeSet::new())]);
        assert_eq!(last.shortest(), Minutes::new(330));
        // A cure holds the whole car even while seats dry.
        let cured = plan(&[(10, 100), (10, 30), (5, 0)]).holding(vec![Holds::After(BTreeSet::new())]);
        assert_eq!(cured.shortest(), Minutes::new(110));
    }

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
