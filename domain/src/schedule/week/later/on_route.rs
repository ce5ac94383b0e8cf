//! Moves cars that change bays later, in the same bays.

use alloc::vec::Vec;

use super::Mover;
use crate::schedule::week::draft::{Schedule, Stay};
use crate::schedule::week::model::Model;
use crate::schedule::week::route::{Done, Stint};
use crate::time::{Interval, Minute, Minutes};

/// A step as it would be done: when it may begin, by whom, and in which of its conditions.
type Placed = (Minute, Done, Stint);

impl Mover {
    /// Starts a lifted job as late as its finish allows, each step in its bay; puts it back as it was if it can't start
    /// later.
    pub(super) fn settle_on_route(
        &mut self,
        model: &Model<'_>,
        schedule: &mut Schedule,
        task: usize,
        stay: Stay,
    ) -> bool {
        let horizon = model.diary.horizon;
        let last = horizon.slot_before(stay.finish - model.tasks[task].shortest + Minutes::new(1));
        let last = last.unwrap_or(stay.start).max(stay.start);
        let in_time = |slot| self.follow(model, schedule, task, Stay { start: slot, ..stay }).is_some();
        let latest = horizon.last_in_time(stay.start, last + horizon.slot(), in_time);
        let latest = model.diary.open_slot_until(stay.hours, latest).unwrap_or(stay.start).max(stay.start);
        let later = Stay { start: latest, ..stay };
        let placed = if latest > stay.start { self.follow(model, schedule, task, later) } else { None };
        let moved = placed.is_some();
        let finish = placed.map_or(stay.finish, |(finish, placed)| {
            for (step, (ready, done, stint)) in model.tasks[task].steps.clone().zip(placed) {
                let worked = &mut schedule.work[step];
                worked.pieces.clear();
                let pieces = &mut worked.pieces;
                model.attend(&self.free[done.who], step, stint, |piece| pieces.push(piece));
                (worked.who, worked.ready, worked.end) = (done.who, ready, done.end);
            }
            finish
        });
        self.lower(model, schedule, task, if moved { Stay { finish, ..later } } else { stay });
        moved
    }

    /// The steps of a lifted job from a start on, each in its bay, and its finish; `None` if it is not finished by the
    /// stay's finish or does not fit.
    fn follow(
        &mut self,
        model: &Model<'_>,
        schedule: &Schedule,
        task: usize,
        stay: Stay,
    ) -> Option<(Minute, Vec<Placed>)> {
        let steps = model.tasks[task].steps.clone();
        self.spent += steps.len() as u64;
        let mut bay = stay.bay;
        let mut window = self.bays[bay].iter().find(|window| window.contains(stay.start)).copied()?;
        let mut progress = model.begin(task, stay.hours, stay.start)?;
        let mut placed = Vec::with_capacity(steps.len());
        for step in steps {
            let (ready, hours) = (model.ready(&progress, step), model.diary.bays[schedule.work[step].bay].hours);
            let able = &model.steps[step].able;
            let (done, stint) = if schedule.work[step].bay == bay {
                let until = window.to().min(stay.finish);
                let stint = Stint { hours, moved: false, begin: ready, leave: until, until };
                (model.first_done(&self.free, step, stint, able)?, stint)
            } else {
                bay = schedule.work[step].bay;
                let begin = ready.max(stay.start + Minutes::new(1));
                let leave = window.to();
                let enter = |entered: &Interval| {
                    let (begin, until) = (begin.max(entered.from()), entered.to().min(stay.finish));
                    let stint = Stint { hours, moved: true, begin, leave, until };
                    let done = model.first_done(&self.free, step, stint, able)?;
                    Some((*entered, done, stint))
                };
                let (entered, done, stint) = self.bays[bay].iter().find_map(enter)?;
                window = entered;
                (done, stint)
            };
            model.note(&mut progress, step, hours, done.end)?;
            if !model.holds_on(&progress, step, window) || progress.finish() > stay.finish {
                return None;
            }
            placed.push((ready, done, stint));
        }
        Some((progress.finish(), placed))
    }
}
