//! From arrival to hand-over, over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::invoice::usecase::is_issued;
use baywright_core::job::usecase::{self, Checked, Handover, NewHandover};
use baywright_core::platform::identity::{Crew, Role};
use baywright_core::platform::refusal::Refused;
use baywright_domain::customer::first_name;
use baywright_domain::id::BookingId;
use baywright_domain::vehicle::OdometerUnit;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::booking::BookingView;
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Instant, Line, Reference, Text, Word, integer_or_null};

/// An odometer's unit as it is sent over HTTP.
type OdometerWord = Word<OdometerUnit>;

/// Record of a hand-over.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct HandoverBody {
    /// Name of the person who took the car.
    #[schema(example = "Aoife Byrne")]
    received_by: Line<200>,
    /// Odometer reading in the vehicle's unit, kilometres or miles; null if it was not read.
    #[serde(default, deserialize_with = "integer_or_null")]
    #[schema(minimum = 0, maximum = 9_999_999, example = 84210)]
    odometer: Option<u32>,
    /// Checklist, point by point.
    #[schema(max_items = 40)]
    checklist: Vec<CheckedBody>,
    /// Aftercare advice for the following days, as it was given to the customer.
    #[schema(example = "Keep the car dry until tomorrow noon.")]
    aftercare: Text<4000>,
    /// Other notes about the hand-over.
    note: Text<2000>,
}

/// Point of the checklist.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CheckedBody {
    /// Name of the point that was checked.
    #[schema(example = "Keys and papers returned")]
    what: Line<200>,
    /// Whether the point was in order.
    done: bool,
}

/// Stored record of a hand-over.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Handover)]
pub(super) struct HandoverView {
    /// Id of the booking.
    booking_id: Reference,
    /// Id of the person who handed the car over.
    person_id: Reference,
    /// Name of the person who took the car; technicians see the first name only.
    #[schema(max_length = 200)]
    received_by: String,
    /// Odometer reading in the unit of `odometer_unit`; null if it was not read.
    #[schema(minimum = 0, maximum = 9_999_999)]
    odometer: Option<u32>,
    /// Unit of the odometer: kilometres or miles; null if it was not read.
    odometer_unit: Option<OdometerWord>,
    /// Checklist, point by point.
    #[schema(max_items = 40)]
    checklist: Vec<CheckedView>,
    /// Aftercare advice for the following days.
    #[schema(max_length = 4000)]
    aftercare: String,
    /// Other notes about the hand-over.
    #[schema(max_length = 2000)]
    note: String,
    /// Time of the hand-over, RFC 3339 in UTC.
    at: Instant,
}

/// Point of the checklist.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct CheckedView {
    /// Name of the point that was checked.
    #[schema(max_length = 200)]
    what: String,
    /// Whether the point was in order.
    done: bool,
}

impl HandoverView {
    /// The hand-over as that role may read it.
    fn of(kept: Handover, role: Option<Role>) -> Self {
        let checklist = kept.said.checklist.into_iter();
        let whole = !matches!(role, None | Some(Role::Technician));
        let received_by = kept.said.received_by;
        Self {
            booking_id: Reference::from(&kept.booking),
            person_id: Reference::from(&kept.person),
            received_by: if whole { received_by } else { first_name(&received_by).to_owned() },
            odometer: kept.said.odometer,
            odometer_unit: kept.unit.map(Word),
            checklist: checklist.map(|point| CheckedView { what: point.what, done: point.done }).collect(),
            aftercare: kept.said.aftercare,
            note: kept.said.note,
            at: Instant(kept.at),
        }
    }
}

/// Record the arrival of a car.
///
/// The car's job begins with the steps of the latest plan. The car is in its bay, or waits outside if it came early and
/// the bay is in use or booked for another car before its time: the warning `waits-outside-bay` says so. 409
/// `bay-occupied` if the car's time has come and the bay holds another car whose work is not done, 409 `car-is-here` if
/// the car itself is here for another booking. An arrival on another day than booked needs the confirmation
/// `arrival-on-another-day`; if the car would enter the bay, and the bay's last car is ready and was not handed over,
/// `bay-not-cleared` confirms that it was driven out.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true)),
        ("x-confirm" = json!(["arrival-on-another-day", "bay-not-cleared"]))),
    responses((status = 200, description = "The booking after the change.", body = BookingView)))]
#[post("/v1/bookings/{id}/arrive")]
pub(super) async fn arrive(call: Call<Crew>, id: Path<String>, IfMatch(seen): IfMatch, _: IdempotencyKey) -> Answer {
    let id = BookingId::new(id.into_inner());
    call.change(move |tx| Ok(BookingView::of(usecase::arrive(tx, &id, seen)?.0, tx))).await
}

/// Declare the work done.
///
/// Possible once every step is finished or removed, and no variation is waiting for the customer's answer.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The booking after the change.", body = BookingView)))]
#[post("/v1/bookings/{id}/ready")]
pub(super) async fn ready(call: Call<Crew>, id: Path<String>, IfMatch(seen): IfMatch, _: IdempotencyKey) -> Answer {
    let id = BookingId::new(id.into_inner());
    call.change(move |tx| Ok(BookingView::of(usecase::make_ready(tx, &id, seen, is_issued)?, tx))).await
}

/// Record the hand-over of a car.
///
/// Stores who took the car, the odometer reading, the checklist and the advice that was given.
#[utoipa::path(tag = "job", request_body = HandoverBody,
    params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The booking after the change.", body = BookingView)))]
#[post("/v1/bookings/{id}/hand-over")]
pub(super) async fn hand_over(
    call: Call<Crew>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<HandoverBody>,
) -> Answer {
    let id = BookingId::new(id.into_inner());
    let HandoverBody { received_by, odometer, checklist, aftercare, note } = body.value;
    if checklist.len() > 40 {
        return Err(Refused::field("/checklist", "too_many", "A checklist has at most 40 points.").into());
    }
    if odometer.is_some_and(|reading| reading > 9_999_999) {
        return Err(Refused::field("/odometer", "too_large", "Write an odometer reading of at most 9,999,999.").into());
    }
    let said = NewHandover {
        received_by: received_by.into(),
        odometer,
        checklist: checklist.into_iter().map(|p| Checked { what: p.what.into(), done: p.done }).collect(),
        aftercare: aftercare.into(),
        note: note.into(),
    };
    call.change(move |tx| Ok(BookingView::of(usecase::hand_over(tx, &id, seen, &said, is_issued)?, tx))).await
}

/// Read the record of a hand-over.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "Id of the booking.")),
    responses((status = 200, description = "Stored record of the hand-over.", body = HandoverView)))]
#[get("/v1/bookings/{id}/hand-over")]
pub(super) async fn show(call: Call<Crew>, id: Path<String>) -> Answer {
    let id = BookingId::new(id.into_inner());
    let view = call.read(move |tx| Ok(HandoverView::of(usecase::handover_of(tx, &id)?, tx.actor.role()))).await?;
    Ok(plain(&view))
}
