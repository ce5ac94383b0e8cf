//! The draft that the search varies, and its schedule.

use alloc::vec::Vec;

use super::model::Model;
use crate::time::{Interval, Minute};

/// A list that contains each job once for each of its attended steps, and the choices that are fixed besides. The k-th
/// mention of a job places its k-th step.
#[derive(Clone)]
pub(super) struct Draft {
    pub(super) list: Vec<usize>,
    /// For each step its fixed technician; `None` means the one who ends it first.
    pub(super) who: Vec<Option<usize>>,
    /// For each step its earliest start.
    pub(super) after: Vec<Minute>,
    /// For each job its fixed bay, the first one if its car may change bays; `None` means the one that is free first.
    pub(super) bay: Vec<Option<usize>>,
    /// For each step the bay to which the car moves for it, if it is not there; `None` means that it stays as long as it
    /// can. Empty if no car may change bays.
    pub(super) room: Vec<Option<usize>>,
    /// For each job the earliest time at which its car takes a bay.
    pub(super) from: Vec<Minute>,
}

impl Draft {
    /// Jobs one after another in this order, with nothing fixed except the times that customers were told.
    pub(super) fn of_jobs(model: &Model<'_>, order: impl IntoIterator<Item = usize>) -> Self {
        let mut list = Vec::with_capacity(model.steps.len());
        for task in order {
            list.extend(model.tasks[task].steps.clone().map(|_| task));
        }
        let from = |task: &super::model::Task| task.promised.map_or(task.arrives, |(from, _)| from.max(task.arrives));
        Self {
            list,
            who: alloc::vec![None; model.steps.len()],
            after: alloc::vec![NEVER_BEFORE; model.steps.len()],
            bay: alloc::vec![None; model.tasks.len()],
            room: alloc::vec![None; if model.moves { model.steps.len() } else { 0 }],
            from: model.tasks.iter().map(from).collect(),
        }
    }

    /// Copies another draft into this one without allocating new lists.
    pub(super) fn copy(&mut self, other: &Self) {
        self.list.clone_from(&other.list);
        self.who.clone_from(&other.who);
        self.after.clone_from(&other.after);
        self.bay.clone_from(&other.bay);
        self.room.clone_from(&other.room);
        self.from.clone_from(&other.from);
    }
}

/// Before every horizon.
pub(super) const NEVER_BEFORE: Minute = Minute::new(i64::MIN);

/// A schedule: the bay and time of each job, and the technician and time of each step.
#[derive(Clone, Default)]
pub(super) struct Schedule {
    /// For each job its bay and time; `None` if it did not fit.
    pub(super) stays: Vec<Option<Stay>>,
    pub(super) work: Vec<Worked>,
    /// The placed steps, in the order in which they were placed, or by their ends once they are sorted.
    pub(super) order: Vec<usize>,
    /// Whether it would have exceeded the limit, so that steps are missing.
    pub(super) beyond: bool,
}

/// A car in the shop, and its bay: the first one, if it changes bays.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) struct Stay {
    pub(super) bay: usize,
    pub(super) hours: usize,
    pub(super) start: Minute,
    pub(super) finish: Minute,
}

/// A step placed.
#[derive(Clone)]
pub(super) struct Worked {
    pub(super) who: usize,
    /// The bay in which it is done.
    pub(super) bay: usize,
    /// Time when the step before and its wait had passed.
    pub(super) ready: Minute,
    pub(super) end: Minute,
    pub(super) pieces: Vec<Interval>,
}

impl Worked {
    const NOTHING: Self = Self { who: 0, bay: 0, ready: NEVER_BEFORE, end: NEVER_BEFORE, pieces: Vec::new() };

    /// Its first minute.
    pub(super) fn begin(&self) -> Minute {
        self.pieces.first().map_or(self.ready, |first| first.from())
    }
}

impl Schedule {
    /// No step is placed.
    pub(super) fn clear(&mut self, model: &Model<'_>) {
        self.stays.clear();
        self.stays.resize(model.tasks.len(), None);
        self.work.resize(model.steps.len(), Worked::NOTHING);
        self.order.clear();
        self.beyond = false;
    }

    /// Sorts the steps by their ends; a list in this order gives the same schedule or an earlier one.
    pub(super) fn sort(&mut self, model: &Model<'_>) {
        let work = &self.work;
        self.order.sort_by_key(|step| (work[*step].end, model.steps[*step].task));
    }
}

/// Score of a schedule: less is better, and earlier fields decide first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Score {
    pub(super) lead: Lead,
    /// Minutes in which cars occupy bays.
    pub(super) standing: u64,
}

/// The main objectives, which come before the time in bays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Lead {
    /// Jobs that did not fit.
    pub(super) unplaced: usize,
    /// Promises that move.
    pub(super) moved: usize,
    /// Weighted minutes of lateness.
    pub(super) lateness: u64,
    /// The last finish.
    pub(super) finish: Minute,
}

impl Lead {
    pub(super) const BEST: Self = Self { unplaced: 0, moved: 0, lateness: 0, finish: NEVER_BEFORE };
    pub(super) const WORST: Self =
        Self { unplaced: usize::MAX, moved: usize::MAX, lateness: u64::MAX, finish: Minute::new(i64::MAX) };
}

/// The score of a schedule.
pub(super) fn score(model: &Model<'_>, schedule: &Schedule) -> Score {
    let (mut lead, mut standing) = (Lead::BEST, 0_u64);
    for (task, stay) in model.tasks.iter().zip(&schedule.stays) {
        let Some(stay) = stay else {
            lead.unplaced += 1;
            continue;
        };
        lead.moved += usize::from(task.moves(stay.start, stay.finish));
        lead.lateness = lead.lateness.saturating_add(task.lateness(stay.finish));
        lead.finish = lead.finish.max(stay.finish);
        standing += stay.start.get().abs_diff(stay.finish.get());
    }
    Score { lead, standing }
}
