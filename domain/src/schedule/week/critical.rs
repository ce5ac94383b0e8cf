//! Steps that delay a schedule: the chain that ends with the last or latest car.

use alloc::vec::Vec;

use super::draft::Schedule;
use super::model::Model;

/// A part of the path back from a job's finish.
pub(super) enum Part<'r> {
    /// Steps that follow one another on one technician, from the last to the first.
    Row(&'r [usize]),
    /// A step that waits for a bay, after the step with which another job entered it.
    Bay(usize, usize),
}

/// Pairs of steps of which the first delays the second, on the path back from a job's finish: of steps that follow one
/// another on one technician the neighbours (van Laarhoven, Aarts and Lenstra 1992 for shops of machines), and each
/// with either end of the row (Balas and Vazacopoulos 1998).
pub(super) fn pairs(model: &Model<'_>, schedule: &Schedule, task: usize, pairs: &mut Vec<(usize, usize)>) {
    pairs.clear();
    walk(model, schedule, task, |part| {
        match part {
            Part::Row(row) => add_row(row, pairs),
            Part::Bay(first, second) => pairs.push((first, second)),
        }
        pairs.len() <= 4 * model.steps.len()
    });
}

/// Follows the path back from a job's finish, for as long as `see` says so.
pub(super) fn walk(model: &Model<'_>, schedule: &Schedule, task: usize, mut see: impl FnMut(Part<'_>) -> bool) {
    let Some(mut step) = model.tasks[task].steps.clone().next_back() else { return };
    let mut row = Vec::new();
    loop {
        let worked = &schedule.work[step];
        let on_time = worked.pieces.len() == 1 && worked.begin() == worked.ready;
        row.push(step);
        if !on_time && let Some(before) = before_on_technician(model, schedule, step) {
            step = before;
            continue;
        }
        let mut goes_on = see(Part::Row(&row));
        row.clear();
        let job = model.steps[step].task;
        if let Some((first, last)) = before_on_route(model, schedule, step) {
            goes_on = see(Part::Bay(first, step));
            step = last;
        } else if step > model.tasks[job].steps.start {
            step -= 1;
        } else if let Some(first) = before_in_bay(model, schedule, job) {
            goes_on = see(Part::Bay(first, step));
            let other = model.steps[first].task;
            step = model.tasks[other].steps.end - 1;
        } else {
            return;
        }
        if !goes_on {
            return;
        }
    }
}

/// The step that the same technician did or began last before this one's end.
fn before_on_technician(model: &Model<'_>, schedule: &Schedule, step: usize) -> Option<usize> {
    let worked = &schedule.work[step];
    let same = schedule.order.iter().copied().filter(|other| {
        let other_worked = &schedule.work[*other];
        *other != step
            && model.share(other_worked.who, worked.who)
            && other_worked.end < worked.end
            && other_worked.end > worked.ready
    });
    same.max_by_key(|other| schedule.work[*other].end)
}

/// The first step of the job that had the bay before this one, if this one started as soon as the bay was free.
fn before_in_bay(model: &Model<'_>, schedule: &Schedule, job: usize) -> Option<usize> {
    let stay = schedule.stays[job]?;
    let slot = model.diary.horizon.slot();
    let before = schedule.stays.iter().enumerate().find(|(_, other)| {
        other.is_some_and(|other| {
            other.bay == stay.bay && other.finish <= stay.start && stay.start < other.finish + slot
        })
    });
    before.map(|(other, _)| model.tasks[other].steps.start)
}

/// If some car changes bays: the car that had the bay directly before the stay that begins with this step, by the first
/// step of its stay and by the step with which it left.
fn before_on_route(model: &Model<'_>, schedule: &Schedule, step: usize) -> Option<(usize, usize)> {
    if !model.moves {
        return None;
    }
    let job = model.steps[step].task;
    let entered = schedule.rooms(model, job).into_iter().find(|room| room.first == step)?;
    let slot = model.diary.horizon.slot();
    for other in (0..model.tasks.len()).filter(|other| *other != job) {
        let rooms = schedule.rooms(model, other);
        let before = rooms
            .iter()
            .position(|room| room.bay == entered.bay && room.to <= entered.from && entered.from < room.to + slot);
        if let Some(at) = before {
            let last = model.tasks[other].steps.end - 1;
            return Some((rooms[at].first, rooms.get(at + 1).map_or(last, |next| next.first)));
        }
    }
    None
}

/// A row is listed from the last step to the first.
fn add_row(row: &[usize], pairs: &mut Vec<(usize, usize)>) {
    for [second, first] in row.array_windows() {
        pairs.push((*first, *second));
    }
    if let [last, between @ .., first] = row
        && !between.is_empty()
    {
        pairs.push((*first, *last));
        for middle in between {
            pairs.push((*first, *middle));
            pairs.push((*middle, *last));
        }
    }
}
