//! Reading bookings over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_core::booking::usecase::{self, Wanted};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::identity::{Crew, Desk};
use baywright_core::platform::refusal::Refused;
use baywright_domain::booking::BookingState;
use baywright_domain::id::{BayId, BookingId, QuoteId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{BookingView, rounded_up};
use crate::platform::answer::{Answer, Page, item, page, plain};
use crate::platform::call::Call;
use crate::platform::cursor::{ByStart, List};
use crate::platform::etag::IfNoneMatch;
use crate::platform::wire::{Day, Instant, Reference, Words};

type StateWords = Words<BookingState>;

/// Conditions for the list of bookings.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct BookingFilter {
    /// Limits the list to bookings that finish after this time, RFC 3339.
    #[param(nullable = false)]
    from: Option<Instant>,
    /// Limits the list to bookings that start before this time, RFC 3339.
    #[param(nullable = false)]
    until: Option<Instant>,
    /// Limits the list to bookings that have the bay with this id at any time.
    #[param(nullable = false)]
    bay_id: Option<Reference>,
    /// Limits the list to bookings in one of these states; a hold that has run out counts as CANCELLED.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    state: StateWords,
    /// Limits the list to bookings of the quote with this id.
    #[param(nullable = false)]
    quote_id: Option<Reference>,
}

/// List the bookings.
///
/// Returns one page of bookings, by start.
#[utoipa::path(tag = "booking", params(BookingFilter, crate::platform::cursor::StartParams),
    responses((status = 200, description = "One page of bookings.", body = Page<BookingView>)))]
#[get("/v1/bookings")]
pub(super) async fn list(call: Call<Desk>, list: List<BookingFilter, ByStart>) -> Answer {
    let filter = list.filter;
    let wanted = Wanted {
        from: filter.from.map(|at| at.0.minute()),
        // A start within the minute of the given time is included.
        until: filter.until.map(rounded_up),
        bay: filter.bay_id.map(BayId::new),
        states: filter.state.0,
        quote: filter.quote_id.map(QuoteId::new),
    };
    let paging = list.paging;
    let found = call
        .read(move |tx| {
            let found = usecase::list(tx, &wanted, &paging)?;
            Ok(found.map(|booking| BookingView::listed(booking, tx)))
        })
        .await?;
    Ok(page(&list.links, found))
}

/// Read a booking.
#[utoipa::path(tag = "booking", params(("id" = Reference, Path, description = "Id of the booking.")),
    responses((status = 200, description = "The requested booking.", body = BookingView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/bookings/{id}")]
pub(super) async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = BookingId::new(id.into_inner());
    let view = call.read(move |tx| Ok(BookingView::of(usecase::detailed(tx, &id)?, tx))).await?;
    // A hold runs out without a change of its version.
    let known = if view.is_held() { IfNoneMatch::default() } else { known };
    Ok(item(&view, &known))
}

/// Day at the shop.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = DayAtShop)]
pub(super) struct DayView {
    /// Date in the shop's time zone.
    date: Day,
    /// First moment of the day at the shop, RFC 3339 in UTC.
    start: Instant,
    /// First moment of the next day at the shop, RFC 3339 in UTC.
    finish: Instant,
    /// Bays with their bookings, in the order of the bays.
    #[schema(max_items = 200)]
    bays: Vec<BayDay>,
}

/// Bay with its bookings on one day.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct BayDay {
    /// Id of the bay.
    id: Reference,
    /// Name of the bay.
    #[schema(max_length = 100)]
    name: String,
    /// Bookings that occupy the bay at any time of the day, by start; without the people who work on them. A car that
    /// changes bays is listed in each of its bays.
    #[schema(max_items = 1000)]
    bookings: Vec<BookingView>,
}

/// Read a day.
///
/// Returns the bookings that occupy each bay at any time of the day, including holds but not cancelled bookings and
/// no-shows. A car that has come and is not handed over is listed on every day from its arrival until today, even if
/// its bay is booked for another day. Technicians see first names and no amounts.
#[utoipa::path(tag = "booking", params(("date" = Day, Path, description = "Date in the shop's time zone.")),
    responses((status = 200, description = "Bookings of the day, bay by bay.", body = DayView)))]
#[get("/v1/days/{date}")]
pub(super) async fn day(call: Call<Crew>, date: Path<String>) -> Answer {
    let date = Day::parse(&date).map_err(|error| Refused::malformed(format!("The day in the address: {error}.")))?;
    let view = call
        .read(move |tx| {
            let (stretch, bays, bookings) = usecase::day(tx, date.0)?;
            let bays = bays
                .into_iter()
                .map(|bay| {
                    let here = bookings.iter().filter(|booking| booking.has_bay_in(&bay.id, stretch)).cloned();
                    let bookings = here.map(|booking| BookingView::listed(booking, tx)).collect();
                    BayDay { id: Reference::from(&bay.id), name: bay.details.name, bookings }
                })
                .collect();
            let (start, finish) = (UtcTime::from_minute(stretch.from()), UtcTime::from_minute(stretch.to()));
            Ok(DayView { date, start: Instant(start), finish: Instant(finish), bays })
        })
        .await?;
    Ok(plain(&view))
}
