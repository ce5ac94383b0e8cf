//! Queries of bookings by time.

use baywright_domain::booking::BookingState;
use baywright_domain::time::Interval;
use diesel::dsl::exists;
use diesel::prelude::*;

use super::{Row, read, whole};
use crate::booking::usecase::{Booking, Wanted};
use crate::platform::clock::UtcTime;
use crate::platform::db::{count, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::kept::Named;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{booking, booking_stay, customer, placement as place, vehicle};

/// Longest time that a car can be in a bay, in minutes; a constraint of the database says the same.
pub(in crate::booking) const LONGEST: i64 = 129_600;

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
        // Asked for each booking, by its own few stays: a list of all that were ever in the bay would be long.
        let there = rows_of_shop!(booking_stay, id = tx.studio.id.to_string())
            .filter(booking_stay::booking_id.eq(booking::id))
            .filter(booking_stay::bay_id.eq(bay.as_str().to_owned()));
        query = query.filter(exists(there));
    }
    if let Some(quote) = &wanted.quote {
        query = query.filter(booking::quote_id.eq(quote.as_str().to_owned()));
    }
    if !wanted.states.is_empty() {
        // A hold counts as held or as cancelled depending on the clock, so each state takes its part of them.
        let (held, cancelled) = (BookingState::Held, BookingState::Cancelled);
        let wants = |state: BookingState| wanted.states.contains(&state);
        let plain = wanted.states.iter().filter(|state| **state != held).map(|state| state.stored());
        let from = if wants(cancelled) { i64::MIN } else { tx.now.ms() };
        let until = if wants(held) { i64::MAX } else { tx.now.ms() };
        let hold = booking::hold_until.assume_not_null();
        let split = booking::state.eq(held.stored()).and(hold.gt(from)).and(hold.le(until));
        query = query.filter(booking::state.eq_any(plain).or(split));
    }
    if let Some(moment) = paging.made_after {
        query = query.filter(booking::created_at.gt(moment.ms()));
    }
    paging.count(|| count(&query, tx.conn))?;
    if let Some(mark) = paging.mark() {
        let (starts, id) = (mark.number(), mark.id.clone());
        query = if paging.against() {
            query.filter(place::starts.lt(starts).or(place::starts.eq(starts).and(booking::id.lt(id))))
        } else {
            query.filter(place::starts.gt(starts).or(place::starts.eq(starts).and(booking::id.gt(id))))
        };
    }
    let query = if paging.against() {
        query.order((place::starts.desc(), booking::id.desc()))
    } else {
        query.order((place::starts.asc(), booking::id.asc()))
    };
    let rows: Vec<Row> = query.limit(paging.fetch()).load(tx.conn)?;
    read(tx, rows)
}

/// All bookings that have, or had, a bay within a period, by start, except cancelled ones and no-shows.
pub(in crate::booking) fn within(tx: &mut Tx<'_>, stretch: Interval) -> Stored<Vec<Booking>> {
    let (from, until) = (stretch.from().get(), stretch.to().get());
    let rows: Vec<Row> = whole!(tx)
        .filter(place::finishes.gt(from))
        .filter(place::finishes.lt(until + LONGEST))
        .filter(place::starts.lt(until))
        .filter(booking::state.ne(BookingState::Cancelled.stored()))
        .filter(booking::state.ne(BookingState::NoShow.stored()))
        .filter(booking::hold_until.is_null().or(booking::hold_until.gt(tx.now.ms())))
        .order((place::starts.asc(), booking::id.asc()))
        .load(tx.conn)?;
    read(tx, rows)
}

/// Cars that came before the end of a period and were not handed over, whatever their places are, in no order. A place
/// that is further from the period than the longest time in a bay is not found.
pub(in crate::booking) fn here_before(tx: &mut Tx<'_>, stretch: Interval) -> Stored<Vec<Booking>> {
    let (from, until) = (stretch.from().get(), stretch.to().get());
    let come = BookingState::ALL.iter().filter(|state| state.has_come()).map(|state| state.stored());
    let rows: Vec<Row> = whole!(tx)
        .filter(place::finishes.gt(from - LONGEST))
        .filter(place::finishes.lt(until + LONGEST))
        .filter(place::live)
        .filter(booking::state.eq_any(come))
        .filter(booking::arrived_at.lt(UtcTime::from_minute(stretch.to()).ms()))
        .load(tx.conn)?;
    read(tx, rows)
}
