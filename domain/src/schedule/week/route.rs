//! Jobs whose cars may change bays.
//!
//! The rules are those of [`stays`](crate::schedule::stays): a car moves when the first step of its next stay begins,
//! the minutes of the move are part of that step, and no wait that holds the car may be running then. Up to that minute
//! the car has the bay that it leaves.

use alloc::vec::Vec;

use super::Job;
use super::draft::Schedule;
use super::model::{Attended, Model};
use crate::schedule::stays::bounds::Bounds;
use crate::schedule::window::Labour;
use crate::schedule::{Diary, Step};
use crate::time::{Interval, Minute, Minutes};

/// Moves that a job's car may make.
pub(super) struct Route {
    /// Maximum number of stays.
    most: usize,
    bounds: Bounds,
}

/// A car in one bay, as a schedule has it.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) struct Room {
    pub(super) bay: usize,
    pub(super) from: Minute,
    pub(super) to: Minute,
    /// The step with which the stay begins.
    pub(super) first: usize,
}

/// A step in one bay: its conditions, whoever does it.
#[derive(Clone, Copy)]
pub(super) struct Stint {
    pub(super) hours: usize,
    /// Whether the car is moved before it.
    pub(super) moved: bool,
    /// Earliest start.
    pub(super) begin: Minute,
    /// Latest start of its first piece.
    pub(super) leave: Minute,
    /// Latest end.
    pub(super) until: Minute,
}

/// A step as somebody would do it.
#[derive(Clone, Copy)]
pub(super) struct Done {
    pub(super) who: usize,
    /// Start of its first piece.
    pub(super) begun: Minute,
    pub(super) end: Minute,
}

impl Route {
    /// The moves of a job; `None` if its car keeps its bay.
    pub(super) fn of(diary: &Diary, job: &Job) -> Option<Self> {
        if !job.moving.allows_moves() || diary.bays.len() < 2 {
            return None;
        }
        let most = usize::try_from(job.moving.max_stays.get()).unwrap_or(usize::MAX);
        Some(Self { most, bounds: Bounds::new(diary, &job.order, job.moving) })
    }

    /// Whether a bay has what all steps of the plan from `first` up to `end` need.
    pub(super) fn serves(&self, bay: usize, first: usize, end: usize) -> bool {
        (first..end).all(|place| self.bounds.serves(bay, place))
    }

    /// Whether a car that is in this bay in its stay of that index, from 0, can do the steps of the plan from `place` on
    /// with the moves that are left.
    pub(super) fn goes_on(&self, bay: usize, stay: usize, place: usize) -> bool {
        self.bounds.moves(bay, place).is_some_and(|moves| stay + moves < self.most)
    }
}

impl Model<'_> {
    /// The bays in which a step can be done by a car in its stay of that index, other than one bay. A car can't move
    /// with the first step of its plan.
    pub(super) fn entries<'m>(
        &'m self,
        route: &'m Route,
        step: usize,
        stay: usize,
        from: usize,
    ) -> impl Iterator<Item = usize> + 'm {
        let Attended { rooms, in_plan, until, .. } = &self.steps[step];
        let rooms = if *in_plan > 0 { rooms.as_slice() } else { &[] };
        rooms.iter().copied().filter(move |bay| *bay != from && route.goes_on(*bay, stay + 1, *until))
    }

    /// Start of the first piece and end of a step that a technician with the free time `free` does.
    pub(super) fn attend(
        &self,
        free: &[Interval],
        step: usize,
        stint: Stint,
        mut piece: impl FnMut(Interval),
    ) -> Option<(Minute, Minute)> {
        let labour = self.labour(step, stint.moved);
        let mut begun = None;
        let end = self.end_of(free, stint.hours, step, labour, (stint.begin, stint.until), |one| {
            begun = begun.or(Some(one.from()));
            piece(one);
        })?;
        begun.filter(|begun| *begun <= stint.leave).map(|begun| (begun, end))
    }

    /// The technician of these who ends a step first; of equal ones the first.
    pub(super) fn first_done(&self, free: &[Vec<Interval>], step: usize, stint: Stint, able: &[usize]) -> Option<Done> {
        let mut best: Option<Done> = None;
        for who in able {
            let until = best.map_or(stint.until, |best| best.end);
            let done = self.attend(&free[*who], step, Stint { until, ..stint }, |_| ());
            if let Some((begun, end)) = done.filter(|(_, end)| best.is_none_or(|best| *end < best.end)) {
                best = Some(Done { who: *who, begun, end });
            }
        }
        best
    }

    /// Minutes of a step, with those of a move if it begins a stay.
    pub(super) fn labour(&self, step: usize, moved: bool) -> Labour {
        let known = &self.steps[step];
        if moved { known.moved } else { known.labour }
    }
}

impl Schedule {
    /// The bays of a placed job's car, one after another.
    pub(super) fn rooms(&self, model: &Model<'_>, task: usize) -> Vec<Room> {
        let Some(stay) = self.stays[task] else { return Vec::new() };
        let steps = model.tasks[task].steps.clone();
        let mut rooms = Vec::with_capacity(1);
        let mut now = Room { bay: stay.bay, from: stay.start, to: stay.finish, first: steps.start };
        for step in steps {
            let worked = &self.work[step];
            if worked.bay != now.bay {
                rooms.push(Room { to: worked.begin(), ..now });
                now = Room { bay: worked.bay, from: worked.begin(), to: stay.finish, first: step };
            }
        }
        rooms.push(now);
        rooms
    }
}

/// A step with the minutes of a move before it.
pub(super) fn moved(step: &Step, minutes: Minutes) -> Labour {
    Labour::from(&Step { minutes: step.minutes + minutes, ..step.clone() })
}
