//! Lists of bookings.

use baywright_domain::booking::BookingState;
use baywright_domain::calendar::ZoneRules;
use baywright_domain::id::{BayId, BookingId, PersonId, QuoteId};
use baywright_domain::time::{Interval, Minute};
use chrono::NaiveDate;

use super::store;
use super::{Attendance, Booking};
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop;

/// Which bookings a list holds.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Only what finishes after this moment.
    pub from: Option<Minute>,
    /// Only what starts before this moment.
    pub until: Option<Minute>,
    /// Only one bay.
    pub bay: Option<BayId>,
    /// Only those in one of these states, where holds that have run out count as cancelled; empty for all.
    pub states: Vec<BookingState>,
    /// Only those of one quote.
    pub quote: Option<QuoteId>,
}

/// One page of the shop's bookings, by start.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Booking>> {
    let rows = store::page(tx, wanted, paging)?;
    let mark = |booking: &Booking| Mark { key: booking.place.starts.get().to_string(), id: booking.id.to_string() };
    Ok(paging.page(rows, mark))
}

/// All that stands in a bay within a stretch, or is held a place, by start.
pub fn within(tx: &mut Tx<'_>, stretch: Interval) -> Done<Vec<Booking>> {
    Ok(store::within(tx, stretch)?)
}

/// What a person works on within a stretch, by time; holds that have run out are left out.
pub fn work_of(tx: &mut Tx<'_>, person: &PersonId, stretch: Interval) -> Done<Vec<(BookingId, Attendance)>> {
    Ok(store::attendance_by(tx, person, stretch)?)
}

/// Bookings that are agreed and start within a stretch, by start.
pub fn starting(tx: &mut Tx<'_>, stretch: Interval) -> Done<Vec<Booking>> {
    let mut found = store::within(tx, stretch)?;
    found.retain(|booking| booking.state == BookingState::Booked && stretch.contains(booking.place.starts));
    Ok(found)
}

/// The booking of a quote that stands, if it has one.
pub fn of_quote(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<Booking>> {
    Ok(store::standing(tx, quote)?)
}

/// All bookings of those quotes, those that ended too, the first one first.
pub fn of_quotes(tx: &mut Tx<'_>, quotes: &[QuoteId]) -> Done<Vec<Booking>> {
    Ok(store::of_quotes(tx, quotes)?)
}

/// The people's pieces of those bookings by time, each with its booking.
pub fn pieces_of(tx: &mut Tx<'_>, bookings: &[BookingId]) -> Done<Vec<(BookingId, Attendance)>> {
    Ok(store::attendance_of_all(tx, bookings)?)
}

/// When the work of a quote is booked to begin, if it is booked.
pub fn starts_of(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<Minute>> {
    Ok(of_quote(tx, quote)?.map(|booking| booking.place.starts))
}

/// A day at the shop: from midnight to midnight, and the bookings that stand in a bay in it, by start, with those whose
/// cars are here on it though their places are on other days.
pub fn day(tx: &mut Tx<'_>, date: NaiveDate) -> Done<(Interval, Vec<shop::usecase::Bay>, Vec<Booking>)> {
    let zone = baywright_domain::calendar::Zone::named(&tx.studio.zone)?;
    let day = zone.day(date).ok_or_else(|| {
        Refused::invalid("no-such-day", "The shop's time zone left this day out. Choose the day before or after.")
    })?;
    let bays = shop::usecase::bays(tx)?;
    let mut bookings = store::within(tx, day)?;
    // Whether a car will be here tomorrow outside its place nobody knows.
    if tx.now.minute() >= day.from() {
        let here = store::here_before(tx, day)?;
        let more: Vec<Booking> =
            here.into_iter().filter(|one| bookings.iter().all(|listed| listed.id != one.id)).collect();
        bookings.extend(more);
        bookings.sort_by(|one, other| (one.place.starts, &one.id).cmp(&(other.place.starts, &other.id)));
    }
    Ok((day, bays, bookings))
}
