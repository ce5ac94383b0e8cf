//! Correcting the times of a step, and ending a wait early.

use baywright_domain::id::{JobId, PersonId};
use baywright_domain::job::{self, JobRefusal, JobStep, Piece, StepMove};
use baywright_domain::menu::Code;
use serde_json::json;

use super::step::{again, busy_meanwhile, change, clear_from, may_change};
use super::{Job, Step, store, technician};
use crate::amendment::usecase::{self as amendment, What};
use crate::people;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::record;
use crate::platform::refusal::{FieldFault, Refused};
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// Replaces the times of the work on a step, with a reason. If the step was finished when its last piece ended, it now
/// counts as finished when that piece ends, and its drying or curing begins then.
///
/// # Errors
/// `Invalid` with every impossible time; `Conflict` if the step hasn't begun or the car is ready; `NotAllowed` if a
/// technician changes a colleague's times.
pub fn correct(
    tx: &mut Tx<'_>,
    id: &JobId,
    code: &Code,
    seen: Seen,
    pieces: &[Piece],
    reason: &str,
) -> Done<(Job, Step)> {
    let (job, step) = may_change(tx, id, code, seen)?;
    if let Some(me) = technician(tx)
        && step.step.touched(pieces).any(|piece| piece.who != me)
    {
        return Err(Refused::not_allowed("You can only correct your own times. Ask the desk for a colleague's.").into());
    }
    all_work_here(tx, &step, pieces)?;
    let elsewhere = elsewhere(tx, &job, pieces)?;
    let mut rules = job.rules();
    let arrived = job.booking.arrived_at.map(UtcTime::datetime);
    rules.correct(code, pieces.to_vec(), &elsewhere, arrived, tx.now.datetime())?;
    let mut after = found(&rules, code)?.clone();
    dries_from(tx, &job, &step, &rules, &mut after)?;
    store::put_step(tx, &step, &after).map_err(busy_meanwhile)?;
    store::push_move(tx, &step, StepMove::Correct, false)?;
    store::touch(tx, &job, None)?;
    amendment::keep(tx, &job.booking.id, Some(code.as_str()), What::TimesCorrected, Some(reason))?;
    let minutes = |step: &JobStep| step.of_all_hands(tx.now.datetime()).get();
    let detail = json!({
        "step": code.as_str(), "before_minutes": minutes(&step.step), "after_minutes": minutes(&after),
    });
    record::write(tx, "job.times-corrected", ("job", job.id.as_str()), detail)?;
    again(tx, id, code)
}

fn found<'r>(rules: &'r job::Job, code: &Code) -> Done<&'r JobStep> {
    let step = rules.steps.iter().find(|one| one.code == *code);
    Ok(step.ok_or_else(|| JobRefusal::UnknownStep(code.clone()))?)
}

/// Refuses people whom the shop doesn't know.
fn all_work_here(tx: &mut Tx<'_>, step: &Step, pieces: &[Piece]) -> Done<()> {
    let mut faults = Vec::new();
    for (place, piece) in pieces.iter().enumerate().filter(|(_, piece)| !step.pieces().contains(piece)) {
        match people::usecase::show(tx, &piece.who) {
            Ok(_) => {}
            Err(Fail::Refused(_)) => faults.push(FieldFault {
                pointer: format!("/pieces/{place}/person_id"),
                code: "no_such_person".to_owned(),
                detail: "The shop has no person with this id.".to_owned(),
            }),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() {
        return Ok(());
    }
    Err(Refused::invalid("invalid-value", "The shop has no person with this id.").with_faults(faults).into())
}

/// The work of these people on other cars in the meantime.
pub(super) fn elsewhere(tx: &mut Tx<'_>, job: &Job, pieces: &[Piece]) -> Done<Vec<(String, Piece)>> {
    let mut people: Vec<PersonId> = pieces.iter().map(|piece| piece.who.clone()).collect();
    people.sort_unstable();
    people.dedup();
    let Some(from) = pieces.iter().map(|piece| piece.from).min() else { return Ok(Vec::new()) };
    let until = pieces.iter().map(|piece| piece.until.unwrap_or(tx.now.datetime())).max().unwrap_or(from);
    // One minute more, so that work that runs at this very moment is included.
    let until = UtcTime::from(until.max(tx.now.datetime())).plus_minutes(1);
    Ok(store::work_elsewhere(tx, &job.id, &people, UtcTime::from(from), until)?)
}

/// A wait that began when the step was finished now begins at its corrected end, unless it was ended early, or steps
/// after it have begun.
fn dries_from(tx: &mut Tx<'_>, job: &Job, step: &Step, rules: &job::Job, after: &mut JobStep) -> Done<()> {
    let (Some(was), Some(is), Some(dry)) = (step.step.finished_at, after.finished_at, step.step.clear_from) else {
        return Ok(());
    };
    if was == is || !rules.may_dry_otherwise(&after.code) {
        return Ok(());
    }
    if clear_from(tx, job, step, was.into())?.map(UtcTime::datetime) == Some(dry) {
        after.clear_from = clear_from(tx, job, step, is.into())?.map(UtcTime::datetime);
    }
    Ok(())
}

/// Ends the drying or curing of a step early, with a reason; later steps may begin from `from` on, or from now.
///
/// # Errors
/// `Conflict` if the step isn't finished or is dry already; `Invalid` if `from` has passed, or isn't earlier than
/// before.
pub fn end_wait(
    tx: &mut Tx<'_>,
    id: &JobId,
    code: &Code,
    seen: Seen,
    from: Option<UtcTime>,
    reason: &str,
) -> Done<(Job, Step)> {
    let (job, _) = may_change(tx, id, code, seen)?;
    let (now, from) = (tx.now.datetime(), from.unwrap_or(tx.now).datetime());
    change(tx, &job, code, "job.wait-ended", |rules| rules.end_wait(code, from, now))?;
    amendment::keep(tx, &job.booking.id, Some(code.as_str()), What::WaitEnded, Some(reason))?;
    again(tx, id, code)
}
