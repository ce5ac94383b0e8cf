//! Places the steps of jobs whose cars may change bays.
//!
//! A car stays in its bay as long as that has what its steps need, unless the draft says another bay for a step. If it
//! has to move, it takes the bay in which the step ends first; if a bay that another car has could be entered sooner, it
//! waits for that one. Cars can keep one another waiting, each for the bay of the next. Then the one that came last
//! begins only after the others are finished, and everything is placed again. Two cars never change places in the same
//! minute.

use alloc::vec::Vec;
use core::slice;

use super::{Decoder, GapNow, JobNow, Named};
use crate::schedule::progress::Progress;
use crate::schedule::week::draft::{Draft, Schedule, Stay};
use crate::schedule::week::model::Model;
use crate::schedule::week::route::{Done, Route, Stint};
use crate::time::{Interval, Minute, Minutes};

/// Maximum number of pairs of which one waits for the other, for each job of the week.
const MOST_BEHIND: usize = 4;

/// A step in a gap.
#[derive(Clone, Copy)]
struct Choice {
    gap: usize,
    stint: Stint,
    done: Done,
}

impl Decoder {
    /// Places the next step of a job whose car may change bays, and that is or begins in this gap.
    pub(super) fn name_on_route(
        &mut self,
        model: &Model<'_>,
        draft: &Draft,
        route: &Route,
        mut job: JobNow,
        (gap, start): (usize, Minute),
        to: &mut Schedule,
    ) -> Named {
        let step = job.next;
        let task = model.steps[step].task;
        let chosen = match self.choose_room(model, draft, route, &job, (gap, start)) {
            Ok(chosen) => chosen,
            Err(named) => {
                self.jobs[task].waits = matches!(named, Named::Waits);
                return named;
            }
        };
        let Choice { gap: entered, stint, done } = chosen;
        let (ready, bay) = (model.ready(&job.done, step), model.gaps[entered].bay);
        if model.note(&mut job.done, step, stint.hours, done.end).is_none() {
            return Named::Fails(Some(gap));
        }
        if !self.count(model, step, done.end, &mut job) {
            to.beyond = true;
            return Named::Fails(None);
        }
        let worked = &mut to.work[step];
        worked.pieces.clear();
        let pieces = &mut worked.pieces;
        model.attend(&self.free[done.who], step, stint, |piece| pieces.push(piece));
        (worked.who, worked.ready, worked.end, worked.bay) = (done.who, ready, done.end, bay);
        for piece in &worked.pieces {
            model.take(&mut self.free, done.who, *piece);
        }
        to.order.push(step);
        if job.at.is_none() {
            job.first_bay = model.gaps[gap].bay;
        }
        if stint.moved {
            self.gaps[gap] = GapNow { ready: done.begun, taken: None };
            job.stay += 1;
        }
        let last = step + 1 == model.tasks[task].steps.end;
        let ready = if last { job.done.finish() } else { model.ready(&job.done, step + 1) };
        self.gaps[entered] = GapNow { ready, taken: (!last).then_some(task) };
        (job.next, job.at) = (step + 1, Some((entered, start)));
        if last {
            let hours = model.diary.bays[job.first_bay].hours;
            to.stays[task] = Some(Stay { bay: job.first_bay, hours, start, finish: ready });
        }
        self.jobs[task] = job;
        if last || stint.moved { Named::Freed } else { Named::Placed }
    }

    /// The bay in which the next step is done, and by whom.
    fn choose_room(
        &self,
        model: &Model<'_>,
        draft: &Draft,
        route: &Route,
        job: &JobNow,
        at: (usize, Minute),
    ) -> Result<Choice, Named> {
        let (step, here) = (job.next, model.gaps[at.0].bay);
        let known = &model.steps[step];
        let begin = model.ready(&job.done, step).max(draft.after[step]);
        let entries: Vec<usize> = model.entries(route, step, job.stay, here).collect();
        let wanted = draft.room.get(step).copied().flatten().filter(|bay| entries.contains(bay));
        if let Some(wanted) = &wanted {
            let moved = self.choose_entry(model, draft, slice::from_ref(wanted), job, at, begin);
            if !matches!(moved, Err(Named::Fails(_))) {
                return moved;
            }
        }
        if known.rooms.contains(&here) && route.goes_on(here, job.stay, known.until) {
            let gap = &model.gaps[at.0];
            let until = gap.span.to().min(model.tasks[known.task].latest);
            let stint = Stint { hours: gap.hours, moved: false, begin, leave: until, until };
            if let Some(found) = self.choose_who(model, draft, step, at.0, stint, job) {
                return Ok(found);
            }
        }
        self.choose_entry(model, draft, &entries, job, at, begin)
    }

    /// The best entry into one of these bays for a car that may do its next step from `begin` on.
    fn choose_entry(
        &self,
        model: &Model<'_>,
        draft: &Draft,
        bays: &[usize],
        job: &JobNow,
        (gap, start): (usize, Minute),
        begin: Minute,
    ) -> Result<Choice, Named> {
        let step = job.next;
        let task = model.steps[step].task;
        let (leave, latest) = (model.gaps[gap].span.to(), model.tasks[task].latest);
        // Every stay lasts at least a minute.
        let begin = begin.max(start + Minutes::new(1));
        let mut best: Option<Choice> = None;
        let mut soonest_taken: Option<Minute> = None;
        for bay in bays {
            for gap in model.gaps_of[*bay].clone() {
                let (span, GapNow { ready, taken }) = (model.gaps[gap].span, self.gaps[gap]);
                let from = begin.max(ready).max(span.from());
                if from > leave || from >= latest {
                    break;
                }
                if from >= span.to() || self.closed.contains(&(task, gap, job.stay + 1)) {
                    continue;
                }
                if taken.is_some() {
                    soonest_taken = Some(soonest_taken.map_or(from, |known| known.min(from)));
                    continue;
                }
                let until = span.to().min(latest);
                let stint = Stint { hours: model.gaps[gap].hours, moved: true, begin: from, leave, until };
                let Some(found) = self.choose_who(model, draft, step, gap, stint, job) else { continue };
                if best.is_none_or(|best| found.done.end < best.done.end) {
                    best = Some(found);
                }
                break;
            }
        }
        match (best, soonest_taken) {
            (Some(best), Some(taken)) if taken < best.done.begun => Err(Named::Waits),
            (Some(best), _) => Ok(best),
            (None, Some(_)) => Err(Named::Waits),
            (None, None) => Err(Named::Fails(Some(gap))),
        }
    }

    /// The technician who does a step in a gap, if the car can stay there for as long as it has to; the one that the draft
    /// says, if they can.
    fn choose_who(
        &self,
        model: &Model<'_>,
        draft: &Draft,
        step: usize,
        gap: usize,
        stint: Stint,
        job: &JobNow,
    ) -> Option<Choice> {
        let fixed = draft.who[step].and_then(|who| model.first_done(&self.free, step, stint, &[who]));
        let done = fixed.or_else(|| model.first_done(&self.free, step, stint, &model.steps[step].able))?;
        let mut progress = job.done.clone();
        model.note(&mut progress, step, stint.hours, done.end)?;
        let span = model.gaps[gap].span;
        model.holds_on(&progress, step, span).then_some(Choice { gap, stint, done })
    }

    /// Whether a job may not begin yet, because cars kept one another waiting.
    pub(super) fn stands_behind(&self, model: &Model<'_>, task: usize) -> bool {
        let over = |other: usize| self.jobs[other].out || self.jobs[other].next == model.tasks[other].steps.end;
        self.jobs[task].at.is_none() && self.behind.iter().any(|(behind, other)| *behind == task && !over(*other))
    }

    /// Of the jobs whose cars have bays and are not finished, the one that came last.
    pub(super) fn youngest(&self, model: &Model<'_>) -> Option<usize> {
        self.unfinished(model).max_by_key(|task| (self.jobs[*task].at.map(|(_, start)| start), *task))
    }

    /// Lets a job begin only after all others whose cars have bays; leaves it out if that does not help.
    pub(super) fn give_way(&mut self, model: &Model<'_>, task: usize) {
        let others: Vec<usize> = self.unfinished(model).filter(|other| *other != task).collect();
        if others.is_empty() || self.behind.len() > MOST_BEHIND * self.jobs.len() {
            self.jobs[task].out = true;
        }
        self.behind.extend(others.into_iter().map(|other| (task, other)));
    }

    fn unfinished(&self, model: &Model<'_>) -> impl Iterator<Item = usize> {
        let tasks = self.jobs.iter().zip(&model.tasks).enumerate();
        let open = tasks.filter(|(_, (job, task))| job.at.is_some() && job.next < task.steps.end);
        open.map(|(place, _)| place)
    }
}

impl Model<'_> {
    /// Whether a car with this progress, whose last step was `step`, can be in this gap until the next step begins or,
    /// after the last one, until its finish.
    pub(in crate::schedule::week) fn holds_on(&self, progress: &Progress, step: usize, span: Interval) -> bool {
        let known = &self.tasks[self.steps[step].task];
        let leaves = if step + 1 == known.steps.end { progress.finish() } else { self.ready(progress, step + 1) };
        leaves <= span.to() && progress.finish() <= known.latest
    }
}
