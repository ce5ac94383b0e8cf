//! A draft that keeps the promises to customers.
//!
//! A start that a customer was told is a promise. A job counts as moved if it starts at another time than its customer
//! was told, or is ready later. No car has to come later only to occupy its bay for less time.

use alloc::vec::Vec;

use super::Job;
use super::draft::Draft;
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
        let bay = model.diary.bays.iter().position(|bay| bay.code == told.bay);
        draft.bay[task] = bay.filter(|bay| known.bays.contains(bay));
        for step in known.steps.clone() {
            let placed = told.steps.get(model.steps[step].in_plan);
            let end = placed.and_then(|placed| placed.pieces.last()).map_or(told.start, |last| last.to());
            draft.who[step] = placed.and_then(|placed| technician(model, step, placed));
            named.push((Some(end), known.due, task));
        }
    }
    // Promised jobs come first.
    named.sort_by_key(|(end, due, task)| (end.is_none(), *end, *due, *task));
    draft.list.extend(named.into_iter().map(|(_, _, task)| task));
    draft
}

fn technician(model: &Model<'_>, step: usize, placed: &PlacedStep) -> Option<usize> {
    let code = placed.technician.as_ref()?;
    let place = model.diary.people.iter().position(|person| person.code == *code)?;
    model.steps[step].able.contains(&place).then_some(place)
}
