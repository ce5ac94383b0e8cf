//! Moves steps as late as the finishes and other jobs allow, so that cars occupy bays for less time.
//!
//! With the other jobs where they are, a later start of a job never gives an earlier finish, so the latest start for a
//! finish is found by bisection. A job whose finish has room can also come and go later as a whole. A car that changes
//! bays keeps its bays and the steps with which it moves.

mod on_route;

use alloc::vec::Vec;

use super::board;
use super::draft::{Lead, Schedule, Score, Stay, score};
use super::model::Model;
use crate::time::{Interval, Minute, Minutes};

fn length(stay: &Stay) -> u64 {
    stay.start.get().abs_diff(stay.finish.get())
}

/// Moves jobs within a schedule; keeps its working memory from one schedule to the next.
#[derive(Default)]
pub(super) struct Mover {
    free: Vec<Vec<Interval>>,
    bays: Vec<Vec<Interval>>,
    jobs: Vec<usize>,
    /// Steps placed so far.
    pub(super) spent: u64,
}

/// Maximum number of rounds in which all jobs are tried again after one has moved.
const MOST_ROUNDS: usize = 8;

/// Maximum number of steps that are placed to find a shorter stay for one job.
const MOST_STEPS: u64 = 20_000;

impl Mover {
    /// Starts every job as late as its finish allows.
    pub(super) fn settle(&mut self, model: &Model<'_>, schedule: &mut Schedule) -> Score {
        self.set_up(model, schedule);
        self.settle_all(model, schedule);
        schedule.sort(model);
        score(model, schedule)
    }

    /// Starts every job as late as its finish allows, and gives each the shortest stay that moves no other job and worsens no
    /// main objective.
    pub(super) fn shorten(&mut self, model: &Model<'_>, schedule: &mut Schedule) -> Score {
        self.set_up(model, schedule);
        self.settle_all(model, schedule);
        for _ in 0..MOST_ROUNDS {
            let last = score(model, schedule).lead.finish;
            let mut moved = false;
            for place in 0..self.jobs.len() {
                moved |= self.shorten_one(model, schedule, self.jobs[place], last);
            }
            if !moved {
                break;
            }
            self.settle_all(model, schedule);
        }
        schedule.sort(model);
        score(model, schedule)
    }

    fn set_up(&mut self, model: &Model<'_>, schedule: &Schedule) {
        board::copy(&mut self.free, model.people());
        for worked in schedule.order.iter().map(|step| &schedule.work[*step]) {
            for piece in &worked.pieces {
                model.take(&mut self.free, worked.who, *piece);
            }
        }
        self.bays.resize_with(model.gaps_of.len(), Vec::new);
        for (bay, gaps) in self.bays.iter_mut().zip(&model.gaps_of) {
            bay.clear();
            bay.extend(model.gaps[gaps.clone()].iter().map(|gap| gap.span));
        }
        self.jobs.clear();
        for (task, stay) in schedule.stays.iter().enumerate() {
            if stay.is_some() {
                self.jobs.push(task);
                self.take_bays(model, schedule, task);
            }
        }
        self.jobs.sort_by_key(|task| core::cmp::Reverse(schedule.stays[*task].map(|stay| (stay.finish, stay.start))));
    }

    fn settle_all(&mut self, model: &Model<'_>, schedule: &mut Schedule) {
        for _ in 0..MOST_ROUNDS {
            let mut moved = false;
            for place in 0..self.jobs.len() {
                moved |= self.settle_one(model, schedule, self.jobs[place]);
            }
            if !moved {
                break;
            }
        }
    }

    fn settle_one(&mut self, model: &Model<'_>, schedule: &mut Schedule, task: usize) -> bool {
        let Some(stay) = schedule.stays[task] else { return false };
        let known = &model.tasks[task];
        // A customer brings the car at the promised time, so it is not delayed.
        if stay.start + known.shortest == stay.finish || known.kept(stay.start, stay.finish).is_some() {
            return false;
        }
        self.lift(model, schedule, task, stay);
        if known.route.is_some() {
            return self.settle_on_route(model, schedule, task, stay);
        }
        let latest = self.latest_start(model, task, stay);
        let moved = latest > stay.start && self.put(model, schedule, task, Stay { start: latest, ..stay });
        if !moved {
            self.lower(model, schedule, task, stay);
        }
        moved
    }

    /// Takes the shortest of all stays that a job could have with the others where they are; of equal ones the one that
    /// ends first.
    fn shorten_one(&mut self, model: &Model<'_>, schedule: &mut Schedule, task: usize, last: Minute) -> bool {
        let Some(stay) = schedule.stays[task] else { return false };
        let known = &model.tasks[task];
        let shortest = u64::from(known.shortest.get());
        if known.route.is_some() || length(&stay) == shortest || known.kept(stay.start, stay.finish).is_some() {
            return false;
        }
        let (earliest, limit) = (known.arrives, last.min(known.latest).min(stay.finish.max(known.due)));
        self.lift(model, schedule, task, stay);
        let found = self.shortest_stay(model, task, earliest, limit).0;
        let better = found.filter(|found| length(found) < length(&stay));
        let moved = better.is_some_and(|better| self.put(model, schedule, task, better));
        if !moved {
            self.lower(model, schedule, task, stay);
        }
        moved
    }

    /// The shortest stay of a lifted job from `earliest` to `limit`, of equal ones the one that ends first, and whether all
    /// stays were examined.
    fn shortest_stay(
        &mut self,
        model: &Model<'_>,
        task: usize,
        earliest: Minute,
        limit: Minute,
    ) -> (Option<Stay>, bool) {
        let known = &model.tasks[task];
        let mut best: Option<Stay> = None;
        let most = self.spent + MOST_STEPS;
        for bay in &known.bays {
            for place in 0..self.bays[*bay].len() {
                let window = self.bays[*bay][place];
                let hours = model.diary.bays[*bay].hours;
                let (mut from, until) = (earliest.max(window.from()), window.to().min(limit));
                while let Some(start) = Interval::new(from, until).and_then(|rest| model.diary.first_slot(hours, rest))
                {
                    if self.spent > most {
                        return (best, false);
                    }
                    let Some(finish) = self.finish(model, task, hours, start, until) else { break };
                    let first = Stay { bay: *bay, hours, start, finish };
                    let found = Stay { start: self.latest_start(model, task, first), ..first };
                    if best.is_none_or(|best| (length(&found), found.finish) < (length(&best), best.finish)) {
                        best = Some(found);
                        if length(&found) == u64::from(known.shortest.get()) {
                            return (best, true);
                        }
                    }
                    from = found.start + Minutes::new(1);
                }
            }
        }
        (best, true)
    }

    /// The shortest stay of a lifted job that begins at `start` and ends by `limit`.
    fn stay_from(&mut self, model: &Model<'_>, task: usize, start: Minute, limit: Minute) -> Option<Stay> {
        let mut best: Option<Stay> = None;
        for bay in &model.tasks[task].bays {
            let Some(window) = self.bays[*bay].iter().find(|window| window.contains(start)).copied() else { continue };
            let hours = model.diary.bays[*bay].hours;
            if let Some(finish) = self.finish(model, task, hours, start, window.to().min(limit))
                && best.is_none_or(|best| finish < best.finish)
            {
                best = Some(Stay { bay: *bay, hours, start, finish });
            }
        }
        best
    }

    /// Lower bound of the time in bays in any schedule with this score: each job as if it were alone.
    pub(super) fn least_standing(&mut self, model: &Model<'_>, lead: Lead) -> u64 {
        self.set_up(model, &Schedule { stays: alloc::vec![None; model.tasks.len()], ..Schedule::default() });
        let mut least = 0;
        for (task, known) in model.tasks.iter().enumerate() {
            let limit = known.latest.min(lead.finish);
            let limit = if lead.lateness == 0 { limit.min(known.due) } else { limit };
            let (found, all) = match known.promised.filter(|_| lead.moved == 0) {
                _ if known.route.is_some() => (None, false),
                Some((from, until)) => (self.stay_from(model, task, from, until.min(limit)), true),
                None => self.shortest_stay(model, task, known.arrives, limit),
            };
            least += match found {
                Some(stay) if all => length(&stay),
                _ if lead.unplaced > 0 => 0,
                _ => u64::from(known.shortest.get()),
            };
        }
        least
    }

    /// Takes a job out of bay and diary; its record stays as it is.
    fn lift(&mut self, model: &Model<'_>, schedule: &Schedule, task: usize, stay: Stay) {
        for worked in &schedule.work[model.tasks[task].steps.clone()] {
            for piece in &worked.pieces {
                model.give(&mut self.free, worked.who, *piece);
            }
        }
        if model.tasks[task].route.is_some() {
            for room in schedule.rooms(model, task) {
                if let Some(stretch) = Interval::new(room.from, room.to) {
                    board::give(&mut self.bays[room.bay], stretch);
                }
            }
        } else if let Some(stretch) = Interval::new(stay.start, stay.finish) {
            board::give(&mut self.bays[stay.bay], stretch);
        }
    }

    /// Takes the time of a placed job's bays.
    fn take_bays(&mut self, model: &Model<'_>, schedule: &Schedule, task: usize) {
        let Some(stay) = schedule.stays[task] else { return };
        if model.tasks[task].route.is_some() {
            for room in schedule.rooms(model, task) {
                if let Some(stretch) = Interval::new(room.from, room.to) {
                    board::take(&mut self.bays[room.bay], stretch);
                }
            }
        } else if let Some(stretch) = Interval::new(stay.start, stay.finish) {
            board::take(&mut self.bays[stay.bay], stretch);
        }
    }

    /// Puts a job back as its record has it.
    fn lower(&mut self, model: &Model<'_>, schedule: &mut Schedule, task: usize, stay: Stay) {
        for worked in &schedule.work[model.tasks[task].steps.clone()] {
            for piece in &worked.pieces {
                model.take(&mut self.free, worked.who, *piece);
            }
        }
        schedule.stays[task] = Some(stay);
        self.take_bays(model, schedule, task);
    }

    /// Places a lifted job again from a start that is known to work, each step with the technician who ends it first. If the
    /// start doesn't work after all, nothing changes.
    fn put(&mut self, model: &Model<'_>, schedule: &mut Schedule, task: usize, stay: Stay) -> bool {
        let steps = model.tasks[task].steps.clone();
        let Some(finish) = self.finish(model, task, stay.hours, stay.start, stay.finish) else { return false };
        let Some(mut done) = model.begin(task, stay.hours, stay.start) else { return false };
        for step in steps {
            let at = model.ready(&done, step);
            let Some((who, end)) = model.soonest(&self.free, stay.hours, step, at, finish) else { return false };
            let worked = &mut schedule.work[step];
            worked.pieces.clear();
            let pieces = &mut worked.pieces;
            model.end_by(&self.free[who], stay.hours, step, at, end, |piece| pieces.push(piece));
            (worked.who, worked.bay, worked.ready, worked.end) = (who, stay.bay, at, end);
            if model.note(&mut done, step, stay.hours, end).is_none() {
                return false;
            }
        }
        self.lower(model, schedule, task, Stay { finish, ..stay });
        true
    }

    fn finish(&mut self, model: &Model<'_>, task: usize, hours: usize, start: Minute, limit: Minute) -> Option<Minute> {
        let steps = model.tasks[task].steps.clone();
        self.spent += steps.len() as u64;
        let begin = model.begin(task, hours, start)?;
        model.finish(&self.free, hours, steps, begin, limit)
    }

    /// The last slot in open time from which a lifted job still finishes with this stay.
    fn latest_start(&mut self, model: &Model<'_>, task: usize, stay: Stay) -> Minute {
        let horizon = model.diary.horizon;
        let Stay { hours, start, finish, .. } = stay;
        let until = finish - model.tasks[task].shortest + Minutes::new(1);
        let last = horizon.slot_before(until).unwrap_or(start).max(start);
        let in_time = |slot| self.finish(model, task, hours, slot, finish).is_some();
        let latest = horizon.last_in_time(start, last + horizon.slot(), in_time);
        model.diary.open_slot_until(hours, latest).unwrap_or(start).max(start)
    }
}
