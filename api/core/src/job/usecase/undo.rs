//! Undoing: the last move of a step, and the last move of a booking with what followed from it for the job.

use baywright_domain::booking::BookingMove;
use baywright_domain::id::{BookingId, JobId, QuoteId};
use baywright_domain::job::{Made, Piece, StepMove, StepState};
use baywright_domain::menu::Code;
use baywright_domain::undo::{self, UndoRefusal};
use baywright_domain::variation::VariationState;
use serde_json::json;

use super::correct::elsewhere;
use super::step::{again, busy_meanwhile, may_change};
use super::{Job, Step, of_booking, own, store, technician};
use crate::amendment::usecase::{self as amendment, What};
use crate::booking::usecase::{Detailed, nothing_to_undo};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::{agreement, booking, learning, plan, shop};

/// Undoes the last move of a step: its state, its clock and the products used are as they were before.
///
/// # Errors
/// `Conflict` if there is nothing to undo, if later steps that depend on it have begun, if somebody whose clock would
/// run again works on another step or has worked on one since, on any car, or if the car is ready; `Invalid` if it was
/// done too long ago and no reason is given.
pub fn undo(tx: &mut Tx<'_>, id: &JobId, code: &Code, seen: Seen, reason: Option<&str>) -> Done<(Job, Step)> {
    let (job, step) = may_change(tx, id, code, seen)?;
    let nothing = UndoRefusal::Nothing { record: "step", state: step.step.state.label() };
    let store::Last { version, entered, made: last } = store::last_move(tx, &step)?.ok_or(nothing)?;
    let free = shop::usecase::settings(tx)?.terms.undo;
    let reason = undo::reason(last.at, tx.now.datetime(), free, reason)?;
    let elsewhere = on_other_cars(tx, &job, &step, &last)?;
    let mut rules = job.rules();
    rules.undo(code, &last, &elsewhere)?;
    let after = rules.steps.iter().find(|one| one.code == *code).ok_or_else(|| Refused::not_found("step"))?;
    if after.state == StepState::Open && !still_planned(tx, &job, code)? {
        let detail = "A variation that was signed since has removed this step, so it can't be reopened.";
        return Err(Refused::conflict("nothing-to-undo", detail).into());
    }
    store::put_step(tx, &step, after).map_err(busy_meanwhile)?;
    store::drop_move(tx, &step, version)?;
    if last.what == StepMove::Finish {
        store::drop_uses(tx, &step)?;
    }
    let begun: Vec<&Code> = rules.steps.iter().filter(|one| !one.pieces.is_empty()).map(|one| &one.code).collect();
    if entered && begun.is_empty() {
        booking::usecase::leave_bay(tx, &job.booking)?;
    } else if entered {
        booking::usecase::return_to_bay(tx, &job.booking, job.bay_after(begun.into_iter()))?;
    }
    store::touch(tx, &job, None)?;
    let what = What::Undone { what: last.what.as_str().to_owned(), made_at: UtcTime::from(last.at) };
    amendment::keep(tx, &job.booking.id, Some(code.as_str()), what, reason.as_deref())?;
    let detail = json!({
        "step": code.as_str(), "undone": last.what.as_str(), "made_at": UtcTime::from(last.at).to_string(),
        "with_reason": reason.is_some(),
    });
    record::write(tx, "job.step-undone", ("job", job.id.as_str()), detail)?;
    again(tx, id, code)
}

fn still_planned(tx: &mut Tx<'_>, job: &Job, code: &Code) -> Done<bool> {
    let work = plan::usecase::show(tx, &job.plan)?.work()?;
    Ok(work.steps.iter().any(|step| step.code == *code))
}

/// The work on other cars of the people whose work would count again, since it began.
fn on_other_cars(tx: &mut Tx<'_>, job: &Job, step: &Step, last: &Made) -> Done<Vec<(String, Piece)>> {
    let again: Vec<Piece> = last.before.pieces.iter().filter(|piece| !step.pieces().contains(piece)).cloned().collect();
    let found = elsewhere(tx, job, &again)?;
    Ok(found.into_iter().map(|(name, piece)| (format!("{name} on another car"), piece)).collect())
}

/// Undoes the last move of a booking: arrival, ready, hand-over, no-show or cancellation, with its consequences.
///
/// Invoices are above jobs, so the caller passes the check that the work of a quote was not invoiced after a given
/// time.
///
/// # Errors
/// `Conflict` if there is nothing to undo, or something was built on it: the problem says what to undo first. `Invalid`
/// if it was done too long ago and no reason is given. `NotAllowed` for a technician whose job it isn't.
pub fn undo_booking(
    tx: &mut Tx<'_>,
    id: &BookingId,
    seen: Seen,
    reason: Option<&str>,
    not_invoiced_since: impl FnOnce(&mut Tx<'_>, &QuoteId, UtcTime) -> Done<()>,
) -> Done<Detailed> {
    let booking = booking::usecase::show(tx, id)?;
    seen.check(booking.version)?;
    let job = of_booking(tx, id)?;
    match &job {
        Some(job) => own(tx, job)?,
        None if technician(tx).is_some() => {
            return Err(Refused::not_allowed("This car isn't here. Ask the desk to undo this.").into());
        }
        None => {}
    }
    let last = booking.last_move().ok_or_else(|| nothing_to_undo(&booking))?;
    let Some(job) = job else { return booking::usecase::undo(tx, &booking, last, reason) };
    match last.what {
        BookingMove::Arrive => nothing_begun(tx, &job)?,
        _ => not_invoiced_since(tx, &job.booking.quote, last.at)?,
    }
    let undone = booking::usecase::undo(tx, &booking, last, reason)?;
    match last.what {
        BookingMove::Arrive => {
            store::set_aside(tx, &job.id)?;
            record::write(tx, "job.set-aside", ("job", job.id.as_str()), json!({ "booking": id.as_str() }))?;
        }
        BookingMove::MakeReady => learning::usecase::unlearn(tx, &job.id)?,
        BookingMove::HandOver => store::drop_handover(tx, id)?,
        _ => {}
    }
    Ok(undone)
}

/// An arrival is undone only while no work was done on the car, and nothing was agreed after it was inspected.
fn nothing_begun(tx: &mut Tx<'_>, job: &Job) -> Done<()> {
    let begun = job.steps.iter().filter(|step| step.step.state != StepState::Open);
    let names: Vec<&str> = begun.map(|step| step.step.name.as_str()).collect();
    if !names.is_empty() {
        let detail = format!("Work on this car has begun: {}. Undo those steps first.", names.join(", "));
        return Err(Refused::conflict("undo-first", detail).into());
    }
    let changes = agreement::usecase::of_quote(tx, &job.booking.quote)?;
    for change in changes.iter().filter(|change| change.booking == job.booking.id) {
        let number = change.number;
        let detail = match change.state {
            VariationState::Draft | VariationState::Declined => continue,
            VariationState::Sent => format!(
                "The customer has not answered variation {number} yet, and it applies only while the car is here. Let \
                 the desk decline it first."
            ),
            VariationState::Signed => format!(
                "Variation {number} was signed while the car was here, so its arrival can no longer be undone. If the \
                 car leaves without work, remove its steps and make it ready."
            ),
        };
        return Err(Refused::conflict("undo-first", detail).into());
    }
    Ok(())
}
