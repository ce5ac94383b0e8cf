//! Bookings over HTTP.

mod availability;
mod list;
mod moves;
mod unsigned;
mod view;

use actix_web::post;
use baywright_core::booking::usecase::{self, NewBooking, Wish};
use baywright_core::deposit::usecase::asked_at;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{BayId, BookingId, QuoteId};
use baywright_domain::invoice::DepositAsked;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::plan::HandsWord;
use crate::platform::answer::{Answer, Created};
use crate::platform::body::{Body, Query, Rehearsal};
use crate::platform::call::Call;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Instant, Reference, Text};

pub use view::{BookingView, StayView};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(availability::availability).service(unsigned::first_times).service(unsigned::options);
    config.service(list::list).service(create).service(list::show).service(list::day);
    config.service(moves::book).service(moves::relocate).service(moves::cancel).service(moves::no_show);
    config.service(moves::deposit).service(moves::hold_longer);
}

/// Place to be held or booked.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BookingBody {
    /// Id of the signed quote whose work is to be done.
    quote_id: Reference,
    /// Id of the bay, as in one of the offered times: the first one, if the car is moved from bay to bay.
    bay_id: Reference,
    /// Time when the car takes the bay, as in one of the offered times, RFC 3339; a whole minute.
    start: Instant,
    /// Whether the place is only held, for as long as the shop's settings say, instead of booked.
    hold: bool,
    /// Number of people who do the work, as in the search for times: `ONE` or `TWO`; `ONE` if left out. With two, the
    /// steps that allow it are shorter and take the time of both.
    #[serde(default)]
    hands: HandsWord,
    /// Whether the car may be moved from bay to bay even if one bay has everything that its work needs, as in the search
    /// for times; false if left out.
    #[serde(default)]
    may_move: bool,
    /// Note of the desk about the booking.
    note: Text<2000>,
}

/// A time in a request as a minute of the rules.
pub(super) fn minute(at: Instant, pointer: &str) -> Result<baywright_domain::time::Minute, Refused> {
    let minute = at.0.minute();
    if UtcTime::from_minute(minute) == at.0 {
        return Ok(minute);
    }
    Err(Refused::field(pointer, "no_whole_minute", "Write a time without seconds, such as 2026-03-28T08:30:00Z."))
}

/// A time in a request, rounded up to a whole minute.
pub(crate) fn rounded_up(at: Instant) -> baywright_domain::time::Minute {
    at.0.plus_ms(59_999).minute()
}

/// Hold or book a place.
///
/// Takes the bay and start of one of the times that `availability` offered. People and times of each step, and the other
/// bays of a car that is moved, are found again by the same rules, and everything is checked against the current diary:
/// 409 `slot-taken` says what took the time, 409 `car-booked-elsewhere` that the car is in a bay for another booking
/// then. A start after the period that `availability` searches needs the confirmation `far-ahead`.
#[utoipa::path(tag = "booking", request_body = BookingBody, params(Rehearsal),
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["far-ahead"]))),
    responses((status = 200, description = "The booking as it would be made.", body = BookingView),
        (status = 201, description = "The new booking.", body = BookingView)))]
#[post("/v1/bookings")]
async fn create(call: Call<Desk>, _: IdempotencyKey, query: Query<Rehearsal>, body: Body<BookingBody>) -> Answer {
    let BookingBody { quote_id, bay_id, start, hold, hands, may_move, note } = body.value;
    let new = NewBooking {
        quote: QuoteId::new(quote_id),
        bay: BayId::new(bay_id),
        start: minute(start, "/start")?,
        may_move,
        wish: if hold { Wish::Hold } else { Wish::Book },
        hands: hands.0,
        note: note.into(),
    };
    let look = new.clone();
    let look = move |tx: &mut Tx<'_>| usecase::is_plainly_taken(tx, &look);
    let make = move |tx: &mut Tx<'_>| {
        let made = usecase::make(tx, &new)?;
        if !hold {
            asked_at(tx, &new.quote, DepositAsked::AtBooking)?;
        }
        let id = BookingId::new(made.booking.id.as_str());
        Ok(Created { location: format!("/v1/bookings/{id}"), view: BookingView::of(made, tx) })
    };
    if query.0.is_asked() {
        call.read(look).await?;
        return call.rehearse(make).await;
    }
    call.create_after_look(look, make).await
}
