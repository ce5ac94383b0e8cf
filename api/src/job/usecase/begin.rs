//! The beginning of a job, and what a later plan changes in it.

use baywright_domain::id::{BookingId, JobId};
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
    for (place, step) in (0..).zip(&plan.work()?.steps) {
        store::insert_step(tx, &id, place, step)?;
    }
    let detail = json!({ "booking": booking.as_str(), "plan": plan.id.as_str() });
    record::write(tx, "job.begun", ("job", id.as_str()), detail)?;
    // Whoever takes the car in need not be booked for its work, so whose job it is isn't asked here.
    let job = whole(tx, &id)?;
    Ok((arrived, job))
}

/// Brings a job that is under way to a later plan of its quote: new steps come in, budgets and order become the plan's,
/// and what was done stays done.
pub fn renew(tx: &mut Tx<'_>, booking: &BookingId, plan: &Plan) -> Done<Option<Job>> {
    let Some(job) = of_booking(tx, booking)? else { return Ok(None) };
    let mut added = Vec::new();
    for (place, planned) in (0..).zip(&plan.work()?.steps) {
        if let Some(step) = job.step(&planned.code) {
            store::replan_step(tx, step, place, planned)?;
        } else {
            store::insert_step(tx, &job.id, place, planned)?;
            added.push(planned.code.to_string());
        }
    }
    store::touch(tx, &job, Some(&plan.id))?;
    let detail = json!({ "plan": plan.id.as_str(), "added": added });
    record::write(tx, "job.replanned", ("job", job.id.as_str()), detail)?;
    of_booking(tx, booking)
}
