//! Lower bounds of all schedules.

use alloc::collections::BinaryHeap;
use alloc::vec::Vec;
use core::cmp::Reverse;
use core::slice;

use super::draft::Lead;
use super::model::Model;
use crate::schedule::progress::Progress;
use crate::time::{Interval, Minute, Minutes};

/// Lower bound from a week in which no job waits for another one, raised by the work that only one technician can do.
pub(super) fn bound(model: &Model<'_>) -> Lead {
    let mut lead = Lead::BEST;
    let mut heads: Vec<Option<Minute>> = alloc::vec![None; model.steps.len()];
    for (task, known) in model.tasks.iter().enumerate() {
        let Some(finish) = alone(model, task, &mut heads) else {
            lead.unplaced += 1;
            continue;
        };
        lead.moved += usize::from(known.promised.is_some_and(|told| !can_keep(model, task, told)));
        lead.lateness = lead.lateness.saturating_add(known.lateness(finish));
        lead.finish = lead.finish.max(finish);
    }
    for person in 0..model.people().len() {
        lead.finish = lead.finish.max(one_technician(model, person, &heads));
    }
    lead
}

/// The earliest finish of a job that is alone in the shop, and the earliest start of each of its steps.
fn alone(model: &Model<'_>, task: usize, heads: &mut [Option<Minute>]) -> Option<Minute> {
    let known = &model.tasks[task];
    if known.route.is_some() {
        return alone_on_route(model, task, heads);
    }
    let mut best: Option<Minute> = None;
    for bay in &known.bays {
        for gap in &model.gaps[model.gaps_of[*bay].clone()] {
            let limit = gap.span.to().min(known.latest);
            let rest = Interval::new(gap.span.from().max(known.arrives), limit);
            let start = rest.and_then(|rest| model.diary.first_slot(gap.hours, rest));
            let Some(mut done) = start.and_then(|start| model.begin(task, gap.hours, start)) else { continue };
            let mut fits = true;
            for step in known.steps.clone() {
                let at = model.ready(&done, step);
                heads[step] = Some(heads[step].map_or(at, |head| head.min(at)));
                let end = model.soonest(model.people(), gap.hours, step, at, limit);
                let noted = end.and_then(|(_, end)| model.note(&mut done, step, gap.hours, end));
                if noted.is_none() || done.finish() > limit {
                    fits = false;
                    break;
                }
            }
            if fits {
                let finish = done.finish();
                best = Some(best.map_or(finish, |best| best.min(finish)));
                break;
            }
        }
    }
    if best.is_none() {
        heads[known.steps.clone()].fill(None);
    }
    best
}

/// The same for a job whose car may change bays. The finish is exact, the starts are those in a shop that never closes.
fn alone_on_route(model: &Model<'_>, task: usize, heads: &mut [Option<Minute>]) -> Option<Minute> {
    let (known, job) = (&model.tasks[task], &model.jobs[task]);
    let visits = model.diary.visits(slice::from_ref(&job.order), job.moving);
    let finish = visits.earliest(known.arrives).map(|visit| visit.finish).filter(|finish| *finish <= known.latest)?;
    let plan = job.order.plan();
    let mut done = Progress::new(known.arrives);
    let mut attended = known.steps.clone();
    for (place, step) in plan.steps().iter().enumerate() {
        let begin = done.begin(plan, place);
        if step.minutes > Minutes::ZERO
            && let Some(step) = attended.next()
        {
            heads[step] = Some(begin);
        }
        let end = begin + step.minutes;
        done.note(plan, place, end, end + step.wait.minutes);
    }
    Some(finish)
}

/// Whether a job whose car may change bays could start and be ready at these times if it were alone in the shop.
fn can_keep_on_route(model: &Model<'_>, task: usize, (from, until): (Minute, Minute)) -> bool {
    let (known, job) = (&model.tasks[task], &model.jobs[task]);
    let visits = model.diary.visits(slice::from_ref(&job.order), job.moving);
    let in_time = |finish: Minute| finish <= until.min(known.latest);
    let bays = model.diary.bays.iter();
    bays.filter_map(|bay| visits.at(&bay.code, from)).any(|visit| in_time(visit.finish))
}

/// Whether a job that is alone in the shop could start and be ready at the times that its customer was told.
fn can_keep(model: &Model<'_>, task: usize, (from, until): (Minute, Minute)) -> bool {
    let known = &model.tasks[task];
    if known.route.is_some() {
        return from >= known.arrives && can_keep_on_route(model, task, (from, until));
    }
    let gaps = known.bays.iter().flat_map(|bay| &model.gaps[model.gaps_of[*bay].clone()]);
    from >= known.arrives
        && gaps.filter(|gap| gap.span.contains(from)).any(|gap| {
            let limit = gap.span.to().min(known.latest).min(until);
            let rest = Interval::new(from, limit);
            rest.and_then(|rest| model.diary.first_slot(gap.hours, rest)) == Some(from)
                && model
                    .begin(task, gap.hours, from)
                    .and_then(|begin| model.finish(model.people(), gap.hours, known.steps.clone(), begin, limit))
                    .is_some()
        })
}

/// The last finish if one technician does everything that nobody else can do, may interrupt anything at any minute, and
/// never rests: of the steps that may begin, always the one with the longest tail (Jackson's preemptive rule, 1955).
fn one_technician(model: &Model<'_>, person: usize, heads: &[Option<Minute>]) -> Minute {
    let only = |step: &usize| {
        let able = &model.steps[*step].able;
        !able.is_empty() && able.iter().all(|technician| model.includes(*technician, person))
    };
    let mut coming: Vec<(Minute, usize)> =
        (0..model.steps.len()).filter(only).filter_map(|step| Some((heads[step]?, step))).collect();
    coming.sort_unstable();
    let mut coming = coming.into_iter().peekable();
    let mut open: BinaryHeap<(u32, Reverse<usize>, u32)> = BinaryHeap::new();
    let mut last = super::draft::NEVER_BEFORE;
    let mut now = last;
    loop {
        while let Some((_, step)) = coming.next_if(|(head, _)| *head <= now) {
            let known = &model.steps[step];
            open.push((known.tail.get(), Reverse(step), known.labour.minutes.get()));
        }
        let Some((tail, step, left)) = open.pop() else {
            match coming.peek() {
                Some((head, _)) => now = *head,
                None => return last,
            }
            continue;
        };
        let until = coming.peek().map_or(i64::MAX, |(head, _)| head.get());
        let free = u32::try_from(until.saturating_sub(now.get())).unwrap_or(u32::MAX);
        let worked = left.min(free);
        now = Minute::new(now.get() + i64::from(worked));
        if worked == left {
            last = last.max(Minute::new(now.get() + i64::from(tail)));
        } else {
            open.push((tail, step, left - worked));
        }
    }
}
