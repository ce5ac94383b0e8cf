//! Restores the bay's and people's time when a move of a booking is undone.

use baywright_domain::id::BookingId;
use diesel::prelude::*;

use super::stay;
use crate::booking::usecase::Attendance;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{attendance, placement};

/// Restores the booked start of a place that began earlier because the car came early.
pub(in crate::booking) fn begin_as_agreed(tx: &mut Tx<'_>, id: &BookingId) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(id.as_str()));
    let agreed: Option<Option<i64>> = mine.select(placement::agreed_starts).first(tx.conn).optional()?;
    let Some(starts) = agreed.flatten() else { return Ok(()) };
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(id.as_str()));
    diesel::update(mine)
        .set((placement::starts.eq(starts), placement::agreed_starts.eq(None::<i64>)))
        .execute(tx.conn)?;
    stay::begin(tx, id, starts)
}

/// Takes back the bay's time and the pieces of people's time that a booking had before it was released.
pub(in crate::booking) fn take_again(tx: &mut Tx<'_>, id: &BookingId, pieces: &[Attendance]) -> Stored<()> {
    let place = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(id.as_str()));
    diesel::update(place).set(placement::live.eq(true)).execute(tx.conn)?;
    for piece in pieces {
        let one = rows_of_shop!(attendance, tx)
            .filter(attendance::booking_id.eq(id.as_str()))
            .filter(attendance::person_id.eq(piece.person.as_str()))
            .filter(attendance::starts.eq(piece.when.from().get()))
            .filter(attendance::finishes.eq(piece.when.to().get()));
        diesel::update(one).set(attendance::live.eq(true)).execute(tx.conn)?;
    }
    Ok(())
}

/// A move that brings a car into its bay, for which a ready car may be driven out of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::booking) enum Entry {
    /// The arrival of the car.
    Arrival,
    /// The start of work on a car that was waiting for its bay.
    Start,
}

/// The booking whose car was driven out of the bay when the car of `id` came into it.
pub(in crate::booking) fn driven_out(tx: &mut Tx<'_>, id: &BookingId, on: Entry) -> Stored<Option<BookingId>> {
    let kept: Option<(Option<String>, Option<String>)> = rows_of_shop!(placement, tx)
        .filter(placement::booking_id.eq(id.as_str()))
        .select((placement::driven_out_on_arrival, placement::driven_out_on_entry))
        .first(tx.conn)
        .optional()?;
    let (arrival, start) = kept.unwrap_or_default();
    let other = match on {
        Entry::Arrival => arrival,
        Entry::Start => start,
    };
    Ok(other.map(BookingId::new))
}

/// Stores the booking whose car was driven out of the bay when the car of `id` came into it, so that this can be undone;
/// `None` once it is undone.
pub(in crate::booking) fn keep_driven_out(
    tx: &mut Tx<'_>,
    id: &BookingId,
    on: Entry,
    other: Option<&BookingId>,
) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(id.as_str()));
    let other = other.map(BookingId::as_str);
    match on {
        Entry::Arrival => diesel::update(mine).set(placement::driven_out_on_arrival.eq(other)).execute(tx.conn)?,
        Entry::Start => diesel::update(mine).set(placement::driven_out_on_entry.eq(other)).execute(tx.conn)?,
    };
    Ok(())
}
