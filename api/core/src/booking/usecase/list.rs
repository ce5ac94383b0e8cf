//! Lists of bookings.

use baywright_domain::booking::BookingState;
use baywright_domain::calendar::ZoneRules;
use baywright_domain::id::{BayId, BookingId, PersonId, QuoteId};
use baywright_domain::time::{Interval, Minute};
use chrono::NaiveDate;

use super::store;
use super::{Attendance, Booking, Stay};
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop;

/// Filter of a list of bookings.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to bookings that finish after this time.
    pub from: Option<Minute>,
    /// Limits the list to bookings that start before this time.
    pub until: Option<Minute>,
    /// Limits the list to one bay.
    pub bay: Option<BayId>,
    /// Limits the list to these states, in which holds that have run out count as cancelled; empty for all.
    pub states: Vec<BookingState>,
    /// Limits the list to the bookings of one quote.
    pub quote: Option<QuoteId>,
}

impl Booking {
    /// Whether the car has that bay at any time of a period. One whose place is at another time has the bay that it is in.
    pub fn has_bay_in(&self, bay: &BayId, period: Interval) -> bool {
        let within = |stay: &&Stay| Interval::new(stay.from, stay.to).is_some_and(|stay| stay.overlaps(period));
        let mut stays = self.place.stays.iter().filter(within).peekable();
        if stays.peek().is_none() { self.place.bay == *bay } else { stays.any(|stay| stay.bay == *bay) }
    }
}

/// One page of the shop's bookings, by start.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Booking>> {
    let rows = store::page(tx, wanted, paging)?;
    let mark = |booking: &Booking| Mark { key: booking.place.starts.get().to_string(), id: booking.id.to_string() };
    Ok(paging.page(rows, mark))
}

/// All bookings that have a bay within a period, held ones included, by start.
pub fn within(tx: &mut Tx<'_>, stretch: Interval) -> Done<Vec<Booking>> {
    Ok(store::within(tx, stretch)?)
}

/// The work of a person within a period, by time; holds that have run out are left out.
pub fn work_of(tx: &mut Tx<'_>, person: &PersonId, stretch: Interval) -> Done<Vec<(BookingId, Attendance)>> {
    Ok(store::attendance_by(tx, person, stretch)?)
}

/// Confirmed bookings that start within a period, by start.
pub fn starting(tx: &mut Tx<'_>, stretch: Interval) -> Done<Vec<Booking>> {
    let mut found = store::within(tx, stretch)?;
    found.retain(|booking| booking.state == BookingState::Booked && stretch.contains(booking.place.starts));
    Ok(found)
}

/// The current booking of a quote, if it has one.
pub fn of_quote(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<Booking>> {
    Ok(store::standing(tx, quote)?)
}

/// Whether the place of a quote's current booking still fits the work that is agreed; `None` if the quote has none.
pub fn fits(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<bool>> {
    Ok(store::fits(tx, quote)?)
}

/// All bookings of the given quotes, including ended ones, oldest first.
pub fn of_quotes(tx: &mut Tx<'_>, quotes: &[QuoteId]) -> Done<Vec<Booking>> {
    Ok(store::of_quotes(tx, quotes)?)
}

/// Pieces of people's work of the given bookings, by time, each with its booking.
pub fn pieces_of(tx: &mut Tx<'_>, bookings: &[BookingId]) -> Done<Vec<(BookingId, Attendance)>> {
    Ok(store::attendance_of_all(tx, bookings)?)
}

/// Time when the work of a quote is booked to begin, if it is booked.
pub fn starts_of(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<Minute>> {
    Ok(of_quote(tx, quote)?.map(|booking| booking.place.starts))
}

/// A day at the shop, from midnight to midnight: the bookings that have a bay on it, by start, and those whose cars are
/// here although their places are on other days.
pub fn day(tx: &mut Tx<'_>, date: NaiveDate) -> Done<(Interval, Vec<shop::usecase::Bay>, Vec<Booking>)> {
    let zone = baywright_domain::calendar::Zone::named(&tx.studio.zone)?;
    let day = zone.day(date).ok_or_else(|| {
        Refused::invalid("no-such-day", "The shop's time zone left this day out. Choose the day before or after.")
    })?;
    Ok((day, shop::usecase::bays(tx)?, seen_in(tx, day)?))
}

/// The bookings that have a bay within a period, by start, and those whose cars are here although their places are at other
/// times.
pub fn seen_in(tx: &mut Tx<'_>, period: Interval) -> Done<Vec<Booking>> {
    let mut bookings = store::within(tx, period)?;
    // Nobody knows whether a car will be here tomorrow outside its place.
    if tx.now.minute() >= period.from() {
        let here = store::here_before(tx, period)?;
        let more: Vec<Booking> =
            here.into_iter().filter(|one| bookings.iter().all(|listed| listed.id != one.id)).collect();
        bookings.extend(more);
        bookings.sort_by(|one, other| (one.place.starts, &one.id).cmp(&(other.place.starts, &other.id)));
    }
    Ok(bookings)
}
