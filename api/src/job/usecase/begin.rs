//! The beginning of a job, and what a later plan changes in it.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BookingId, JobId, QuoteId};
use baywright_domain::job::StepState;
use baywright_domain::menu::Code;
use serde_json::json;

use super::{Job, of_booking, store, whole};
use crate::booking;
use crate::booking::usecase::Detailed;
use crate::plan;
use crate::plan::usecase::Plan;
use crate::platform::etag::IfMatch;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// Takes the car in: its job begins, with the steps of the quote's latest plan.
pub fn arrive(tx: &mut Tx<'_>, booking: &BookingId, seen: IfMatch) -> Done<(Detailed, Job)> {
    let arrived = booking::usecase::arrive(tx, booking, seen)?;
    let plan = plan::usecase::of_quote(tx, &arrived.booking.quote)?;
    let id: JobId = ids::new();
    store::insert(tx, &id, booking, &plan.id)?;
    for (place, step) in (0..).zip(&plan.work()?.with(arrived.booking.hands).steps) {
        store::insert_step(tx, &id, place, step)?;
    }
    let detail = json!({ "booking": booking.as_str(), "plan": plan.id.as_str() });
    record::write(tx, "job.begun", ("job", id.as_str()), detail)?;
    // Whoever takes the car in need not be booked for its work, so whose job it is isn't asked here.
    let job = whole(tx, &id)?;
    Ok((arrived, job))
}

/// Makes the plan of what is agreed on a quote now, and brings the job that is under way to it.
pub fn replan(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<Plan>> {
    let plan = plan::usecase::renew(tx, quote)?;
    if let Some(plan) = &plan
        && let Some(booking) = booking::usecase::of_quote(tx, quote)?
        && booking.state == BookingState::InBay
        && let Some(job) = of_booking(tx, &booking.id)?
        && job.plan != plan.id
    {
        renew(tx, &job, plan)?;
    }
    Ok(plan)
}

/// New steps come in, budgets and order become the plan's, steps that nobody needs any more are struck out where nobody
/// has begun them, and what was done stays done.
fn renew(tx: &mut Tx<'_>, job: &Job, plan: &Plan) -> Done<()> {
    let planned = plan.work()?.with(job.booking.hands).steps;
    let mut added = Vec::new();
    for (place, step) in (0..).zip(&planned) {
        if let Some(there) = job.step(&step.code) {
            store::replan_step(tx, there, place, step)?;
        } else {
            store::insert_step(tx, &job.id, place, step)?;
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
        rules.strike(code, "No longer part of what was agreed")?;
    }
    for (before, after) in job.steps.iter().zip(&rules.steps).filter(|(before, after)| before.step != **after) {
        store::set_step(tx, before, after)?;
    }
    store::touch(tx, job, Some(&plan.id))?;
    let gone: Vec<&str> = gone.iter().map(Code::as_str).collect();
    let detail = json!({ "plan": plan.id.as_str(), "added": added, "struck": gone });
    record::write(tx, "job.replanned", ("job", job.id.as_str()), detail)
}
