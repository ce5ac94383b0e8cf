//! Random changes to a draft: of a pair of steps that delay each other, a section of the list, whole jobs, technicians,
//! bays and times.

use alloc::vec::Vec;

use super::draft::{Draft, NEVER_BEFORE, Schedule};
use super::model::Model;
use crate::dice::Dice;
use crate::time::{Minute, Minutes};

/// Input of a change: the schedule of the draft, and the steps that delay it.
pub(super) struct Seen<'a> {
    pub(super) schedule: &'a Schedule,
    pub(super) pairs: &'a [(usize, usize)],
    /// Whether some job is late.
    pub(super) late: bool,
}

/// Changes the draft at random; with `times`, also the earliest times at which cars come.
///
/// The last finish depends on one chain of steps, so mostly its pairs are swapped. Lateness is a sum over jobs, and
/// depends on their order: then whole jobs change places.
pub(super) fn change(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft, seen: &Seen<'_>, times: bool) {
    let mostly = if model.steps.len() > 30 { 90 } else { 60 };
    if !times && seen.late {
        match dice.below(20) {
            0..3 => return swap_jobs(model, dice, draft),
            3..10 => return move_job(model, dice, draft),
            _ => (),
        }
    } else if !times && !seen.pairs.is_empty() && dice.below(100) < mostly {
        return swap_pair(model, dice, draft, seen);
    }
    match dice.below(if times { 12 } else { 9 }) {
        0 | 1 => shuffle(dice, draft),
        2 => lay_down_anew(model, dice, draft),
        3 => jump(dice, draft),
        4 | 5 => technician(model, dice, draft),
        6 if model.moves && dice.below(3) > 0 => room(model, dice, draft),
        6 => bay(model, dice, draft),
        7 => hold_step(model, dice, draft, seen),
        8 => swap_pair(model, dice, draft, seen),
        _ => hold_car(model, dice, draft, seen),
    }
}

/// Moves the second step of a pair before the first, or the first after the second, together with the steps that must move
/// with it.
fn swap_pair(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft, seen: &Seen<'_>) {
    let Some((first, second)) = dice.one(seen.pairs) else { return };
    let Some((from, to)) = stretch(model, &draft.list, first, second) else { return shuffle(dice, draft) };
    let forward = dice.below(2) > 0;
    reorder(&mut draft.list[from..=to], model.steps[if forward { second } else { first }].task, forward);
}

/// The stretch of a list from the mention of one step to that of another; `None` if the other one comes first.
pub(super) fn stretch(model: &Model<'_>, list: &[usize], first: usize, second: usize) -> Option<(usize, usize)> {
    let (from, to) = (naming(model, list, first)?, naming(model, list, second)?);
    (from < to).then_some((from, to))
}

/// Moves all mentions of a job to the front or to the end of a stretch.
pub(super) fn reorder(stretch: &mut [usize], task: usize, forward: bool) {
    stretch.sort_by_key(|named| (*named == task) != forward);
}

/// Index at which the list mentions a step.
fn naming(model: &Model<'_>, list: &[usize], step: usize) -> Option<usize> {
    let task = model.steps[step].task;
    let nth = step - model.tasks[task].steps.start;
    list.iter().enumerate().filter(|(_, named)| **named == task).map(|(place, _)| place).nth(nth)
}

fn shuffle(dice: &mut Dice, draft: &mut Draft) {
    let length = draft.list.len();
    let (from, stretch) = (dice.below(length), 2 + dice.below(6));
    let to = (from + stretch).min(length);
    for place in (from + 1..to).rev() {
        let other = from + dice.below(place - from + 1);
        draft.list.swap(place, other);
    }
}

/// Takes one to three jobs out of the list and inserts them again, without fixed technicians, bays and times.
fn lay_down_anew(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft) {
    for _ in 0..=dice.below(3) {
        let task = dice.below(model.tasks.len());
        forget(model, draft, task);
        let mut at: Vec<usize> = model.tasks[task].steps.clone().map(|_| dice.below(draft.list.len() + 1)).collect();
        if dice.below(2) == 0
            && let Some(first) = at.first().copied()
        {
            at.fill(first);
        }
        at.sort_unstable();
        for (added, place) in at.into_iter().enumerate() {
            draft.list.insert(place + added, task);
        }
    }
}

/// Inserts a job elsewhere, without fixed technicians, bay and times: its steps are close together, sometimes with
/// other steps between them.
fn move_job(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft) {
    let task = dice.below(model.tasks.len());
    forget(model, draft, task);
    let mut at = dice.below(draft.list.len() + 1);
    let apart = 1 + dice.below(4);
    for _ in model.tasks[task].steps.clone() {
        draft.list.insert(at, task);
        at = (at + 1 + dice.below(apart)).min(draft.list.len());
    }
}

/// Swaps the mentions of two jobs; the surplus mentions of the longer one stay where they are.
fn swap_jobs(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft) {
    let jobs = model.tasks.len();
    let one = dice.below(jobs);
    let other = (one + 1 + dice.below(jobs - 1)) % jobs;
    let mut left = [one, other].map(|task| (task, model.tasks[task].steps.len()));
    for named in &mut draft.list {
        let wanted = match *named {
            task if task == one => 1,
            task if task == other => 0,
            _ => continue,
        };
        let put = if left[wanted].1 > 0 { wanted } else { 1 - wanted };
        left[put].1 -= 1;
        *named = left[put].0;
    }
}

/// Takes a job out of the list, with everything that is fixed for it.
fn forget(model: &Model<'_>, draft: &mut Draft, task: usize) {
    let known = &model.tasks[task];
    draft.list.retain(|named| *named != task);
    for step in known.steps.clone() {
        (draft.who[step], draft.after[step]) = (None, NEVER_BEFORE);
        if let Some(room) = draft.room.get_mut(step) {
            *room = None;
        }
    }
    (draft.bay[task], draft.from[task]) = (None, known.arrives);
}

/// Moves one mention elsewhere.
fn jump(dice: &mut Dice, draft: &mut Draft) {
    let (from, to) = (dice.below(draft.list.len()), dice.below(draft.list.len()));
    if from < to {
        draft.list[from..=to].rotate_left(1);
    } else {
        draft.list[to..=from].rotate_right(1);
    }
}

fn technician(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft) {
    let step = dice.below(model.steps.len());
    let able = &model.steps[step].able;
    if able.len() < 2 {
        return jump(dice, draft);
    }
    draft.who[step] = if dice.below(4) == 0 { None } else { dice.one(able) };
}

fn bay(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft) {
    let task = dice.below(model.tasks.len());
    let bays = &model.tasks[task].bays;
    // If there is a bay for every job, fixing one is useless.
    if bays.len() < 2 || bays.len() >= model.tasks.len() {
        return jump(dice, draft);
    }
    draft.bay[task] = if dice.below(4) == 0 { None } else { dice.one(bays) };
}

/// Lets a car that may change bays do so at another step, or with a step go to another bay.
fn room(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft) {
    let step = dice.below(model.steps.len());
    let rooms = &model.steps[step].rooms;
    if rooms.is_empty() {
        return jump(dice, draft);
    }
    draft.room[step] = if dice.below(3) == 0 { None } else { dice.one(rooms) };
}

/// Makes a step wait for the end of another one or for some time, or removes such a wait: a step that is done at once
/// may split the time in which another one could have been done.
fn hold_step(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft, seen: &Seen<'_>) {
    let step = dice.below(model.steps.len());
    let others = seen.schedule.order.as_slice();
    draft.after[step] = match dice.below(4) {
        0 if draft.after[step] == NEVER_BEFORE => {
            dice.one(others).map_or(NEVER_BEFORE, |other| seen.schedule.work[other].end)
        }
        1 => {
            let longest = dice.one(others).map_or(Minutes::ZERO, |other| model.steps[other].labour.minutes);
            let longest = usize::try_from(longest.get()).unwrap_or(0);
            later(seen.schedule.work[step].begin(), 1, 1 + dice.below(longest))
        }
        _ => NEVER_BEFORE,
    };
}

/// Lets a car come later or sooner.
fn hold_car(model: &Model<'_>, dice: &mut Dice, draft: &mut Draft, seen: &Seen<'_>) {
    let task = dice.below(model.tasks.len());
    let Some(stay) = seen.schedule.stays[task] else { return };
    let slot = i64::from(model.diary.horizon.slot().get());
    let slots = |from: Minute, to: Minute| usize::try_from((to.get() - from.get()) / slot).unwrap_or(0);
    let known = &model.tasks[task];
    draft.from[task] = match dice.below(5) {
        0 => known.arrives,
        1 => stay.start,
        2 => stay.start + Minutes::new(u32::try_from(slot).unwrap_or(1)),
        3 => later(stay.start, slot, dice.below(9)),
        _ => {
            let last = known.latest - known.shortest;
            later(known.arrives, slot, dice.below(slots(known.arrives, last) + 1))
        }
    };
}

fn later(from: Minute, slot: i64, slots: usize) -> Minute {
    Minute::new(from.get() + slot * i64::try_from(slots).unwrap_or(0))
}
