//! Bookings by time.

use baywright_domain::booking::BookingState;
use baywright_domain::time::Interval;
use diesel::prelude::*;

use super::{Row, whole};
use crate::booking::usecase::{Booking, Wanted};
use crate::platform::cursor::{Paging, Place};
use crate::platform::db::count;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{booking, customer, placement as place, vehicle};

/// The longest that a car stands in a bay, in minutes; the database holds it too.
const LONGEST: i64 = 129_600;

/// One page, by start and id.
pub(in crate::booking) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Booking>> {
    let mut query = whole!(tx).into_boxed();
    if let Some(from) = wanted.from {
        query = query.filter(place::finishes.gt(from.get()));
    }
    if let Some(until) = wanted.until {
        query = query.filter(place::starts.lt(until.get()));
    }
    if let Some(bay) = &wanted.bay {
        query = query.filter(place::bay_id.eq(bay.as_str().to_owned()));
    }
    if let Some(quote) = &wanted.quote {
        query = query.filter(booking::quote_id.eq(quote.as_str().to_owned()));
    }
    let now = tx.now.ms();
    query = match wanted.state {
        None => query,
        Some(BookingState::Held) => {
            query.filter(booking::state.eq(BookingState::Held.as_str())).filter(booking::hold_until.gt(now))
        }
        Some(BookingState::Cancelled) => query.filter(
            booking::state.eq(BookingState::Cancelled.as_str()).or(booking::hold_until.assume_not_null().le(now)),
        ),
        Some(state) => query.filter(booking::state.eq(state.as_str())),
    };
    paging.count(|| count(&query, tx.conn))?;
    let later = (place::starts.asc(), booking::id.asc());
    let rows: Vec<Row> = match &paging.place {
        Place::Start => query.order(later),
        Place::After(mark) => {
            let (starts, id) = (mark.number(), mark.id.clone());
            query.filter(place::starts.gt(starts).or(place::starts.eq(starts).and(booking::id.gt(id)))).order(later)
        }
        Place::Before(mark) => {
            let (starts, id) = (mark.number(), mark.id.clone());
            query
                .filter(place::starts.lt(starts).or(place::starts.eq(starts).and(booking::id.lt(id))))
                .order((place::starts.desc(), booking::id.desc()))
        }
    }
    .limit(paging.fetch())
    .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// All that stands in a bay within a stretch, or did, by start: neither cancelled nor missed.
pub(in crate::booking) fn within(tx: &mut Tx<'_>, stretch: Interval) -> Stored<Vec<Booking>> {
    let (from, until) = (stretch.from().get(), stretch.to().get());
    let rows: Vec<Row> = whole!(tx)
        .filter(place::finishes.gt(from))
        .filter(place::finishes.lt(until + LONGEST))
        .filter(place::starts.lt(until))
        .filter(booking::state.ne(BookingState::Cancelled.as_str()))
        .filter(booking::state.ne(BookingState::Missed.as_str()))
        .filter(booking::hold_until.is_null().or(booking::hold_until.gt(tx.now.ms())))
        .order((place::starts.asc(), booking::id.asc()))
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}
