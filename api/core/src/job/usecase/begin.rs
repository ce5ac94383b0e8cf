//! The beginning of a job, and what a later plan changes in it.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BookingId, JobId, QuoteId};
use baywright_domain::job::StepState;
use baywright_domain::menu::Code;
use baywright_domain::time::Minute;
use serde_json::json;

use super::forecast::forecast_of;
use super::{Job, of_booking, store, whole};
use crate::booking::usecase::{Booking, Detailed, Misfit};
use crate::plan::usecase::Plan;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::{booking, plan, shop};

/// Records the arrival: the job begins, with the steps of the quote's latest plan.
pub fn arrive(tx: &mut Tx<'_>, booking: &BookingId, seen: Seen) -> Done<(Detailed, Job)> {
    let arrived = booking::usecase::arrive(tx, booking, seen)?;
    let plan = plan::usecase::of_quote(tx, &arrived.booking.quote)?;
    // A car whose arrival was undone before already has its job, with its notes.
    let id: JobId = if let Some(id) = store::set_aside_of(tx, booking)? {
        store::take_up(tx, &id, &plan.id)?;
        id
    } else {
        let id = ids::new();
        store::insert(tx, &id, booking, &plan.id)?;
        id
    };
    store::insert_steps(tx, &id, (0..).zip(&arrived.booking.work(&plan)?.steps))?;
    let detail = json!({ "booking": booking.as_str(), "plan": plan.id.as_str() });
    record::write(tx, "job.begun", ("job", id.as_str()), detail)?;
    // The person who records the arrival need not be booked for its work, so that is not checked here.
    let job = whole(tx, &id)?;
    Ok((arrived, job))
}

/// Consequences of a signature: makes the plan of what is agreed on the quote now, updates the job that is under way
/// and the time that its booking keeps for it, and tells the studio at once if the booking no longer fits. A person who
/// recorded an acceptance reads it in the answer; for an acceptance through a link the studio gets a mail. `told` is the
/// time by which the car will be ready, if what was signed names one.
pub fn after_signing(tx: &mut Tx<'_>, quote: &QuoteId, told: Option<Minute>, by_link: bool) -> Done<()> {
    let plan = plan::usecase::renew(tx, quote)?;
    let Some(booking) = booking::usecase::of_quote(tx, quote)? else { return Ok(()) };
    let misfit = match booking.state {
        BookingState::Held | BookingState::Booked => booking::usecase::after_signing(tx, &booking)?,
        BookingState::InBay => replan(tx, &booking, plan.as_ref(), told)?,
        _ => None,
    };
    let Some(misfit) = misfit else { return Ok(()) };
    if by_link {
        let booking = booking::usecase::show(tx, &booking.id)?;
        booking::usecase::tell_misfit(tx, &booking, &misfit)?;
    } else {
        for sentence in &misfit.sentences {
            tx.warn("booking-no-longer-fits", "", sentence);
        }
    }
    Ok(())
}

/// Updates the job of a car in its bay to a new plan, promises the time that its customer was told and agreed to, and
/// keeps the bay for the longer work if it is free.
fn replan(tx: &mut Tx<'_>, booking: &Booking, plan: Option<&Plan>, told: Option<Minute>) -> Done<Option<Misfit>> {
    let Some(job) = of_booking(tx, &booking.id)? else { return Ok(None) };
    match plan.filter(|plan| plan.id != job.plan) {
        Some(plan) => renew(tx, &job, plan)?,
        // A change of price alone is told with the time of the work as it goes on, which may have become later.
        None if told.is_some_and(|told| told > booking.place.promised) => {}
        None => return Ok(None),
    }
    let job = whole(tx, &job.id)?;
    let ahead = forecast_of(tx, &job)?;
    let now = booking::usecase::agree_longer(tx, &job.booking, ahead.expected, told)?;
    if now.fits {
        return Ok(None);
    }
    let settings = shop::usecase::settings(tx)?;
    let until = match ahead.expected {
        Some(expected) => format!("until {}", settings.wall(expected)),
        None => format!("for longer than {} days, or can't be done in this bay", booking::usecase::AHEAD_DAYS),
    };
    let sentence = format!(
        "With the change that was signed now, the work goes on {until}. But the bay is booked only until {}, and the \
         customer was promised {}. Ask for a new plan of the next days in which this car stays longer: POST \
         /v1/reschedulings with booking {} in overruns.",
        settings.wall(now.place.finishes),
        settings.wall(now.place.promised),
        now.id
    );
    Ok(Some(Misfit { sentences: vec![sentence] }))
}

/// New steps are added, budgets and order become the plan's, steps that are no longer needed are removed if nobody
/// has begun them, and finished work stays.
fn renew(tx: &mut Tx<'_>, job: &Job, plan: &Plan) -> Done<()> {
    let planned = job.booking.work(plan)?.steps;
    let mut added = Vec::new();
    for (place, step) in (0..).zip(&planned) {
        if let Some(there) = job.step(&step.code) {
            store::replan_step(tx, there, place, step)?;
        } else {
            store::insert_steps(tx, &job.id, [(place, step)])?;
            added.push(step.code.to_string());
        }
    }
    let needed = |code: &Code| planned.iter().any(|step| step.code == *code);
    let gone: Vec<Code> = job
        .steps
        .iter()
        .filter(|step| step.step.state == StepState::Open && !needed(&step.step.code))
        .map(|step| step.step.code.clone())
        .collect();
    let mut rules = job.rules();
    for code in &gone {
        rules.remove(code, "No longer part of what was agreed")?;
    }
    for (before, after) in job.steps.iter().zip(&rules.steps).filter(|(before, after)| before.step != **after) {
        store::set_step(tx, before, after)?;
    }
    store::touch(tx, job, Some(&plan.id))?;
    let gone: Vec<&str> = gone.iter().map(Code::as_str).collect();
    let detail = json!({ "plan": plan.id.as_str(), "added": added, "removed": gone });
    record::write(tx, "job.replanned", ("job", job.id.as_str()), detail)
}
