//! Turns a draft into a schedule: each step as early as the step before, its wait, the technician and the bay allow.

mod on_route;

use alloc::vec::Vec;
use core::mem;

use super::board;
use super::draft::{Draft, Lead, Schedule, Stay};
use super::model::Model;
use crate::schedule::progress::Progress;
use crate::time::{Interval, Minute, Minutes};

/// Upper limit of a schedule's score. Once a schedule is certain to exceed it, the rest is not computed.
#[derive(Clone, Copy)]
pub(super) struct Cap {
    /// Weighted minutes of lateness.
    lateness: u64,
    /// The last finish.
    finish: Minute,
}

impl Cap {
    /// No limit.
    pub(super) const NONE: Self = Self { lateness: u64::MAX, finish: Minute::new(i64::MAX) };

    /// The limit that allows a schedule to be worse than `lead` by a given amount, in the first respect in which they differ.
    pub(super) fn about(lead: Lead, worse: u64) -> Self {
        match lead {
            Lead { unplaced: 0, moved: 0, lateness: 0, finish } => {
                let worse_finish = finish + Minutes::new(u32::try_from(worse).unwrap_or(u32::MAX));
                Self { lateness: worse, finish: worse_finish }
            }
            Lead { unplaced: 0, moved: 0, lateness, .. } => {
                Self { lateness: lateness.saturating_add(worse), ..Self::NONE }
            }
            _ => Self::NONE,
        }
    }
}

/// Makes schedules; reuses its working memory.
pub(super) struct Decoder {
    cap: Cap,
    /// Weighted minutes of lateness that are certain from the steps placed so far.
    lateness: u64,
    free: Vec<Vec<Interval>>,
    gaps: Vec<GapNow>,
    jobs: Vec<JobNow>,
    /// Jobs and gaps in which their steps turned out not to fit, with the index of the stay.
    closed: Vec<(usize, usize, usize)>,
    /// Jobs whose cars kept one another waiting, each with one that is finished first.
    behind: Vec<(usize, usize)>,
    /// Mentions that wait for a bay.
    waiting: Vec<usize>,
    again: Vec<usize>,
}

/// A gap while jobs are placed in it one after another.
#[derive(Clone, Copy)]
pub(super) struct GapNow {
    pub(super) ready: Minute,
    /// The job that has it and is not finished.
    pub(super) taken: Option<usize>,
}

/// A job while its steps are placed.
#[derive(Clone)]
struct JobNow {
    next: usize,
    done: Progress,
    /// Its weighted minutes of lateness that are certain from its steps placed so far.
    lateness: u64,
    /// Current gap and start, once it has them.
    at: Option<(usize, Minute)>,
    /// Index of its current stay, from 0, and its first bay.
    stay: usize,
    first_bay: usize,
    from: Minute,
    out: bool,
    waits: bool,
}

/// Reason why a list can't be placed as it is.
enum Stuck {
    /// The steps of a job don't fit into this gap, or into any.
    Unfit { task: usize, gap: Option<usize> },
    /// Cars keep one another waiting for their bays; this job gives way.
    Blocked { task: usize },
}

/// Result of a mention.
enum Named {
    Placed,
    /// It was placed, and the car has left a bay: that one is free again.
    Freed,
    /// The bay that it needs is not free yet.
    Waits,
    /// The steps don't fit into this gap any more, or into any.
    Fails(Option<usize>),
}

impl Decoder {
    pub(super) fn new() -> Self {
        Self {
            cap: Cap::NONE,
            lateness: 0,
            free: Vec::new(),
            gaps: Vec::new(),
            jobs: Vec::new(),
            closed: Vec::new(),
            behind: Vec::new(),
            waiting: Vec::new(),
            again: Vec::new(),
        }
    }

    /// Places the steps that the draft lists, and returns how many steps were placed in all, tries included. Once the result
    /// is certain to exceed `cap`, the rest is left out.
    pub(super) fn decode(&mut self, model: &Model<'_>, draft: &Draft, cap: Cap, to: &mut Schedule) -> u64 {
        self.cap = cap;
        let new = |(task, from): (usize, &Minute)| JobNow {
            next: model.tasks[task].steps.start,
            done: Progress::new(*from),
            lateness: 0,
            at: None,
            stay: 0,
            first_bay: 0,
            from: (*from).max(model.tasks[task].arrives),
            out: false,
            waits: false,
        };
        self.jobs.clear();
        self.jobs.extend(draft.from.iter().enumerate().map(new));
        self.closed.clear();
        self.behind.clear();
        let mut spent = 0;
        // A job whose steps don't fit into its gap is tried in the next one, or left out if there is none.
        while let Some(stuck) = self.pass(model, draft, to) {
            spent += to.order.len() as u64;
            if to.beyond {
                return spent;
            }
            match stuck {
                Stuck::Unfit { task, gap: Some(gap) } => self.closed.push((task, gap, self.jobs[task].stay)),
                Stuck::Unfit { task, gap: None } => self.jobs[task].out = true,
                Stuck::Blocked { task } => self.give_way(model, task),
            }
        }
        spent + to.order.len() as u64
    }

    /// Places everything from the beginning, up to the first job whose steps no longer fit.
    fn pass(&mut self, model: &Model<'_>, draft: &Draft, to: &mut Schedule) -> Option<Stuck> {
        board::copy(&mut self.free, model.people());
        self.gaps.clear();
        self.gaps.extend(model.gaps.iter().map(|gap| GapNow { ready: gap.span.from(), taken: None }));
        for (job, task) in self.jobs.iter_mut().zip(&model.tasks) {
            (job.next, job.at, job.lateness, job.waits) = (task.steps.start, None, 0, false);
            job.stay = 0;
        }
        to.clear(model);
        self.lateness = 0;
        self.waiting.clear();
        for task in &draft.list {
            match self.name(model, draft, *task, to) {
                Named::Placed => (),
                Named::Waits => self.waiting.push(*task),
                Named::Fails(gap) => return Some(Stuck::Unfit { task: *task, gap }),
                Named::Freed => {
                    if let Some(failed) = self.name_waiting(model, draft, to) {
                        return Some(failed);
                    }
                }
            }
        }
        let waiting = self.waiting.first().copied();
        waiting.map(|first| Stuck::Blocked { task: self.youngest(model).unwrap_or(first) })
    }

    /// A bay has become free: the waiting mentions are tried again in their order, as long as one more becomes free.
    fn name_waiting(&mut self, model: &Model<'_>, draft: &Draft, to: &mut Schedule) -> Option<Stuck> {
        let mut freed = !self.waiting.is_empty();
        while freed {
            freed = false;
            mem::swap(&mut self.waiting, &mut self.again);
            for job in &mut self.jobs {
                job.waits = false;
            }
            for place in 0..self.again.len() {
                let task = self.again[place];
                match self.name(model, draft, task, to) {
                    Named::Placed => (),
                    Named::Freed => freed = true,
                    Named::Waits => self.waiting.push(task),
                    Named::Fails(gap) => {
                        self.again.clear();
                        return Some(Stuck::Unfit { task, gap });
                    }
                }
            }
            self.again.clear();
        }
        None
    }

    /// Places a job's next step.
    fn name(&mut self, model: &Model<'_>, draft: &Draft, task: usize, to: &mut Schedule) -> Named {
        if self.jobs[task].out {
            return Named::Placed;
        }
        if self.jobs[task].waits {
            return Named::Waits;
        }
        if self.stands_behind(model, task) {
            self.jobs[task].waits = true;
            return Named::Waits;
        }
        let mut job = self.jobs[task].clone();
        let (gap, start) = match job.at {
            Some(at) => at,
            None => match self.choose_gap(model, draft, task, &mut job) {
                Ok(at) => at,
                Err(named) => {
                    self.jobs[task].waits = matches!(named, Named::Waits);
                    return named;
                }
            },
        };
        if let Some(route) = &model.tasks[task].route {
            return self.name_on_route(model, draft, route, job, (gap, start), to);
        }
        let span = model.gaps[gap].span;
        let (hours, limit) = (model.gaps[gap].hours, span.to().min(model.tasks[task].latest));
        let step = job.next;
        let ready = model.ready(&job.done, step);
        let begin = ready.max(draft.after[step]);
        let who = match (draft.who[step], model.steps[step].able.as_slice()) {
            (Some(who), _) => Some(who),
            (None, [only]) => Some(*only),
            _ => model.soonest(&self.free, hours, step, begin, limit).map(|(who, _)| who),
        };
        let Some(who) = who else { return Named::Fails(Some(gap)) };
        let worked = &mut to.work[step];
        worked.pieces.clear();
        let pieces = &mut worked.pieces;
        let end = model.end_by(&self.free[who], hours, step, begin, limit, |piece| pieces.push(piece));
        let Some(end) = end else { return Named::Fails(Some(gap)) };
        let noted = model.note(&mut job.done, step, hours, end);
        let done_by = job.done.finish();
        if noted.is_none() || done_by > limit {
            return Named::Fails(Some(gap));
        }
        if !self.count(model, step, end, &mut job) {
            to.beyond = true;
            return Named::Fails(None);
        }
        let worked = &mut to.work[step];
        (worked.who, worked.ready, worked.end) = (who, ready, end);
        worked.bay = model.gaps[gap].bay;
        for piece in &worked.pieces {
            model.take(&mut self.free, who, *piece);
        }
        to.order.push(step);
        (job.next, job.at) = (step + 1, Some((gap, start)));
        self.jobs[task] = job;
        let last = step + 1 == model.tasks[task].steps.end;
        self.gaps[gap] = GapNow { ready: done_by, taken: (!last).then_some(task) };
        if !last {
            return Named::Placed;
        }
        to.stays[task] = Some(Stay { bay: model.gaps[gap].bay, hours, start, finish: done_by });
        Named::Freed
    }

    /// Counts the lateness that is certain after a step's end; false if the schedule is certain to exceed the limit.
    fn count(&mut self, model: &Model<'_>, step: usize, end: Minute, job: &mut JobNow) -> bool {
        let finish = end + model.steps[step].tail;
        // A wait of an earlier step may end later than all that follows this one.
        let lateness = model.tasks[model.steps[step].task].lateness(finish).max(job.lateness);
        self.lateness = self.lateness.saturating_add(lateness - job.lateness);
        job.lateness = lateness;
        finish <= self.cap.finish && self.lateness <= self.cap.lateness
    }

    /// The first gap in which a job can start, and that start; sets the job's progress then.
    fn choose_gap(
        &self,
        model: &Model<'_>,
        draft: &Draft,
        task: usize,
        job: &mut JobNow,
    ) -> Result<(usize, Minute), Named> {
        let chosen = draft.bay[task].as_ref().map_or(model.tasks[task].bays.as_slice(), core::slice::from_ref);
        let mut best: Option<(usize, Minute)> = None;
        let mut soonest_taken: Option<Minute> = None;
        for bay in chosen {
            let gaps = model.gaps_of[*bay].clone();
            let passed = model.gaps[gaps.clone()].partition_point(|gap| gap.span.to() <= job.from);
            for gap in gaps.skip(passed) {
                let span = model.gaps[gap].span;
                let GapNow { ready, taken } = self.gaps[gap];
                let from = ready.max(job.from);
                if best.is_some_and(|(_, start)| start <= from) || from >= model.tasks[task].latest {
                    break;
                }
                let Some(rest) = Interval::new(from, span.to()) else { continue };
                if self.closed.contains(&(task, gap, 0)) {
                    continue;
                }
                let Some(start) = model.diary.first_slot(model.gaps[gap].hours, rest) else { continue };
                let known = &model.tasks[task];
                if start + known.in_first_bay > span.to() || start + known.shortest > known.latest {
                    continue;
                }
                if taken.is_some() {
                    let sooner = soonest_taken.is_none_or(|known| start < known);
                    soonest_taken = if sooner { Some(start) } else { soonest_taken };
                    continue;
                }
                if best.is_none_or(|(_, known)| start < known) {
                    best = Some((gap, start));
                }
                break;
            }
        }
        match (best, soonest_taken) {
            (Some((_, start)), Some(taken)) if taken < start => Err(Named::Waits),
            (Some((gap, start)), _) => {
                let begin = model.begin(task, model.gaps[gap].hours, start);
                job.done = begin.ok_or(Named::Fails(Some(gap)))?;
                Ok((gap, start))
            }
            (None, Some(_)) => Err(Named::Waits),
            (None, None) => Err(Named::Fails(None)),
        }
    }
}
