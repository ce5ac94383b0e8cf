//! A draft that keeps the promises to customers.
//!
//! A start that a customer was told is a promise. A job counts as moved if it starts at another time than its customer
//! was told, or is ready later. No car has to come later only to occupy its bay for less time.

use alloc::vec::Vec;

use super::Job;
use super::draft::{Draft, Schedule, Stay, Worked};
use super::model::Model;
use crate::schedule::PlacedStep;
use crate::time::Minute;

/// Steps in the order of their promised ends, in their bays and by their technicians; jobs without a promise come last,
/// by due time. As long as nothing has changed, the result equals the promises.
pub(super) fn as_told(model: &Model<'_>, jobs: &[Job]) -> Draft {
    let mut draft = Draft::of_jobs(model, core::iter::empty());
    let mut named: Vec<(Option<Minute>, Minute, usize)> = Vec::with_capacity(model.steps.len());
    for (task, job) in jobs.iter().enumerate() {
        let known = &model.tasks[task];
        let Some(told) = &job.promised else {
            named.extend(known.steps.clone().map(|_| (None, known.due, task)));
            continue;
        };
        let place = |code: &str| model.diary.bays.iter().position(|bay| bay.code == code);
        let bay = told.stays.first().and_then(|stay| place(&stay.bay));
        draft.bay[task] = bay.filter(|bay| known.bays.contains(bay));
        for step in known.steps.clone() {
            let placed = told.steps.get(model.steps[step].in_plan);
            let end = placed.and_then(|placed| placed.pieces.last()).map_or(told.start, |last| last.to());
            draft.who[step] = placed.and_then(|placed| technician(model, step, placed));
            if known.route.is_some() {
                let stay = told.stays.get(told.stay_of(model.steps[step].in_plan));
                draft.room[step] = stay.and_then(|stay| place(&stay.bay));
            }
            named.push((Some(end), known.due, task));
        }
    }
    // Promised jobs come first.
    named.sort_by_key(|(end, due, task)| (end.is_none(), *end, *due, *task));
    draft.list.extend(named.into_iter().map(|(_, _, task)| task));
    draft
}

/// The schedule exactly as customers were told, if all jobs have a promise and none breaks a rule. Two cars may change
/// places in the same minute in it, which no draft says.
pub(super) fn schedule_as_told(model: &Model<'_>, jobs: &[Job]) -> Option<Schedule> {
    let mut rest = model.diary.clone();
    let mut schedule = Schedule::default();
    schedule.clear(model);
    for (task, job) in jobs.iter().enumerate() {
        let told = job.promised.as_ref()?;
        rest.check_visit(&job.order, job.moving, told).ok()?;
        rest.book_visit(told);
        let known = &model.tasks[task];
        if told.start < known.arrives || told.finish > known.latest {
            return None;
        }
        let place = |code: &str| model.diary.bays.iter().position(|bay| bay.code == code);
        let first = place(&told.stays.first()?.bay)?;
        let hours = model.diary.bays[first].hours;
        schedule.stays[task] = Some(Stay { bay: first, hours, start: told.start, finish: told.finish });
        let mut done = model.begin(task, hours, told.start)?;
        for step in known.steps.clone() {
            let in_plan = model.steps[step].in_plan;
            let (placed, stay) = (told.steps.get(in_plan)?, told.stays.get(told.stay_of(in_plan))?);
            let (bay, end) = (place(&stay.bay)?, placed.pieces.last()?.to());
            let (who, ready) = (technician(model, step, placed)?, model.ready(&done, step));
            model.note(&mut done, step, model.diary.bays[bay].hours, end)?;
            schedule.work[step] = Worked { who, bay, ready, end, pieces: placed.pieces.clone() };
            schedule.order.push(step);
        }
    }
    Some(schedule)
}

fn technician(model: &Model<'_>, step: usize, placed: &PlacedStep) -> Option<usize> {
    let code = placed.technician.as_ref()?;
    let place = model.diary.people.iter().position(|person| person.code == *code)?;
    model.steps[step].able.contains(&place).then_some(place)
}
