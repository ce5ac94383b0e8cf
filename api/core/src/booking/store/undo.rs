//! Restores the bay's and people's time when a move of a booking is undone.

use baywright_domain::id::BookingId;
use diesel::prelude::*;

use crate::booking::usecase::Attendance;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{attendance, placement};

/// Restores the booked start of a place that began earlier because the car came early.
pub(in crate::booking) fn begin_as_agreed(tx: &mut Tx<'_>, id: &BookingId) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx)
        .filter(placement::booking_id.eq(id.as_str()))
        .filter(placement::agreed_starts.is_not_null());
    diesel::update(mine)
        .set((
            placement::starts.eq(placement::agreed_starts.assume_not_null()),
            placement::agreed_starts.eq(None::<i64>),
        ))
        .execute(tx.conn)?;
    Ok(())
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
