//! Declaring a car ready, and handing it over.

use baywright_domain::id::{BookingId, PersonId, QuoteId};
use baywright_domain::vehicle::OdometerUnit;
use serde_json::json;

use super::lesson::learn;
use super::look::{Billing, odometer, warn_of_billing};
use super::{Job, doer, of_booking, own, store};
use crate::booking::usecase::Detailed;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::{agreement, booking, vehicle};

/// A point of the hand-over's checklist.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// Name of the point that was checked.
    pub what: String,
    /// Whether it was fine.
    pub done: bool,
}

/// Details of a hand-over that is recorded.
#[derive(Debug, Clone)]
pub struct NewHandover {
    /// Person who took the car.
    pub received_by: String,
    /// Odometer reading, in the vehicle's unit.
    pub odometer: Option<u32>,
    /// Name of the point that was checked.
    pub checklist: Vec<Checked>,
    /// Advice for the days after, as it was given to the customer.
    pub aftercare: String,
    /// Other notes.
    pub note: String,
}

/// The stored record of a hand-over.
#[derive(Debug, Clone)]
pub struct Handover {
    /// The booking.
    pub booking: BookingId,
    /// Person who handed the car over.
    pub person: PersonId,
    /// Unit of the odometer.
    pub unit: Option<OdometerUnit>,
    /// Details of the hand-over.
    pub said: NewHandover,
    /// Time of the hand-over.
    pub at: UtcTime,
}

/// Declares the work done, once every step is finished or removed; the actual times of its steps are stored for
/// learning.
///
/// Invoices are above jobs, so the caller says whether the work of a quote is `invoiced`: what is advised about removed
/// work depends on it.
pub fn make_ready(
    tx: &mut Tx<'_>,
    id: &BookingId,
    seen: Seen,
    invoiced: impl FnOnce(&mut Tx<'_>, &QuoteId) -> Done<bool>,
) -> Done<Detailed> {
    let job = begun(tx, id)?;
    job.rules().ready()?;
    if let Some(number) = agreement::usecase::unanswered(tx, &job.booking.quote)? {
        let detail = format!(
            "The customer has not answered variation {number} yet, and can't accept it once the car is ready. Wait for \
             their answer, or let the desk decline it."
        );
        return Err(Refused::conflict("variation-unanswered", detail).into());
    }
    let ready = booking::usecase::make_ready(tx, id, seen)?;
    let agreed = agreement::usecase::agreed(tx, &job.booking.quote)?;
    learn(tx, &job, &agreed.quote.menu, agreed.car())?;
    let when = if invoiced(tx, &job.booking.quote)? { Billing::Issued } else { Billing::Ready };
    warn_of_billing(tx, &job.booking.quote, when)?;
    Ok(ready)
}

/// Records the hand-over of a car. The caller says whether the work of a quote is `invoiced`, as for [`make_ready`].
pub fn hand_over(
    tx: &mut Tx<'_>,
    id: &BookingId,
    seen: Seen,
    said: &NewHandover,
    invoiced: impl FnOnce(&mut Tx<'_>, &QuoteId) -> Done<bool>,
) -> Done<Detailed> {
    let job = begun(tx, id)?;
    let done = booking::usecase::hand_over(tx, id, seen)?;
    let unit = vehicle::usecase::show(tx, &done.booking.vehicle)?.details.odometer_unit;
    let kept = Handover {
        booking: id.clone(),
        person: doer(tx, None)?,
        unit: said.odometer.map(|_| unit),
        said: said.clone(),
        at: tx.now,
    };
    if let Some(shown) = said.odometer {
        odometer(tx, &done.booking.vehicle, unit, shown, None)?;
    }
    let when = if invoiced(tx, &job.booking.quote)? { Billing::Issued } else { Billing::HandedOver };
    warn_of_billing(tx, &job.booking.quote, when)?;
    store::insert_handover(tx, &job.id, &kept)?;
    record::write(tx, "job.handed-over", ("job", job.id.as_str()), json!({ "booking": id.as_str() }))?;
    Ok(done)
}

/// The record of a booking's hand-over; `NotFound` before it.
pub fn handover_of(tx: &mut Tx<'_>, id: &BookingId) -> Done<Handover> {
    let job = of_booking(tx, id)?.ok_or_else(|| Refused::not_found("hand-over"))?;
    own(tx, &job)?;
    Ok(store::handover(tx, id)?.ok_or_else(|| Refused::not_found("hand-over"))?)
}

fn begun(tx: &mut Tx<'_>, id: &BookingId) -> Done<Job> {
    let booking = booking::usecase::show(tx, id)?;
    let job = of_booking(tx, id)?.ok_or_else(|| {
        let state = booking.state.label();
        Refused::conflict("wrong-state", format!("This booking is {state}. Take the car in first."))
    })?;
    own(tx, &job)?;
    Ok(job)
}
