//! The moves of a booking over HTTP.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::booking::usecase::{self, Destination, Detailed};
use baywright_core::deposit::usecase::asked_at;
use baywright_core::job;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Audience, Desk};
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{BayId, BookingId};
use baywright_domain::invoice::DepositAsked;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{BookingView, minute};
use crate::plan::HandsWord;
use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Instant, Line, Reference};

/// New bay and start of a booking.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct MoveBody {
    /// Id of the bay, as in one of the offered times: the first one, if the car is moved from bay to bay.
    bay_id: Reference,
    /// Time when the car takes the bay, RFC 3339; a whole minute.
    start: Instant,
    /// Number of people who do the work: `ONE` or `TWO`; unchanged if null or left out.
    hands: Option<HandsWord>,
    /// Whether the car may be moved from bay to bay even if one bay has everything that its work needs, as in the search
    /// for times; false if left out.
    #[serde(default)]
    may_move: bool,
}

/// Reason for a cancellation.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CancelBody {
    /// Reason why the booking is cancelled.
    #[schema(example = "The customer asked for another week.")]
    reason: Line<500>,
}

/// Makes a move, only once for each idempotency key.
async fn go<A: Audience>(
    call: Call<A>,
    id: Path<String>,
    mut f: impl FnMut(&mut Tx<'_>, &BookingId) -> Done<Detailed> + Send + 'static,
) -> Answer {
    let id = BookingId::new(id.into_inner());
    call.change(move |tx| Ok(BookingView::of(f(tx, &id)?, tx))).await
}

/// Confirm a held place.
///
/// Possible until the hold runs out; after that the answer is 410 `hold-lapsed`.
#[utoipa::path(tag = "booking", params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The booking after the change.", body = BookingView),
        (status = 410, description = "The hold on the place has run out.")))]
#[post("/v1/bookings/{id}/book")]
pub(super) async fn book(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, _: IdempotencyKey) -> Answer {
    go(call, id, move |tx, id| {
        let booked = usecase::book(tx, id, seen)?;
        asked_at(tx, &booked.booking.quote, DepositAsked::AtBooking)?;
        Ok(booked)
    })
    .await
}

/// Hold a place for longer.
///
/// The place is held for as long as the shop's settings say (`hold_minutes` in its terms), from now on. Possible until the
/// hold runs out; after that the answer is 410 `hold-lapsed`.
#[utoipa::path(tag = "booking", params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The booking after the change.", body = BookingView),
        (status = 410, description = "The hold on the place has run out.")))]
#[post("/v1/bookings/{id}/hold-longer")]
pub(super) async fn hold_longer(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
) -> Answer {
    go(call, id, move |tx, id| usecase::hold_longer(tx, id, seen)).await
}

/// Move a booking to another place or time.
///
/// Possible before the car has come, and while a car that has come is waiting for its bay: it then waits for the new
/// one. The work is planned by the quote's latest plan; 409 `slot-taken` says what took the time, 409
/// `car-booked-elsewhere` that the car is in a bay for another booking then. A start after the period that
/// `availability` searches needs the confirmation `far-ahead`. The customer is told by mail if a time that they were
/// told changes.
#[utoipa::path(tag = "booking", request_body = MoveBody,
    params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["far-ahead"]))),
    responses((status = 200, description = "The booking after the change.", body = BookingView),
        (status = 410, description = "The hold on the place has run out.")))]
#[post("/v1/bookings/{id}/move")]
pub(super) async fn relocate(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<MoveBody>,
) -> Answer {
    let to = Destination {
        bay: BayId::new(body.value.bay_id),
        start: minute(body.value.start, "/start")?,
        may_move: body.value.may_move,
        hands: body.value.hands.map(|word| word.0),
    };
    go(call, id, move |tx, id| {
        let begun = job::usecase::has_begun(tx, id)?;
        usecase::relocate(tx, id, seen, &to, begun)
    })
    .await
}

/// Cancel a booking.
#[utoipa::path(tag = "booking", request_body = CancelBody,
    params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The booking after the change.", body = BookingView)))]
#[post("/v1/bookings/{id}/cancel")]
pub(super) async fn cancel(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<CancelBody>,
) -> Answer {
    let reason = body.value.reason;
    go(call, id, move |tx, id| usecase::cancel(tx, id, seen, reason.as_str())).await
}

/// Record a no-show.
///
/// Marks the booking as NO_SHOW because the car did not come. Possible from the booked start on.
#[utoipa::path(tag = "booking", params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The booking after the change.", body = BookingView)))]
#[post("/v1/bookings/{id}/no-show")]
pub(super) async fn no_show(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, _: IdempotencyKey) -> Answer {
    go(call, id, move |tx, id| usecase::no_show(tx, id, seen)).await
}

/// Record that the deposit was received.
#[utoipa::path(tag = "booking", params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The booking after the change.", body = BookingView)))]
#[post("/v1/bookings/{id}/deposit")]
pub(super) async fn deposit(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, _: IdempotencyKey) -> Answer {
    go(call, id, move |tx, id| usecase::deposit_received(tx, id, seen)).await
}
