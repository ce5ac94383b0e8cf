//! Working time of people that bookings take.

use baywright_domain::id::{BookingId, PersonId};
use baywright_domain::schedule::{PlacedStep, Taken};
use baywright_domain::time::{Interval, Minute};
use diesel::prelude::*;

use super::placement::{TakenRow, taken};
use crate::booking::usecase::Attendance;
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, insert_rows, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::{attendance, person};

/// The columns of a [`TakenRow`].
const TAKEN: (attendance::person_id, attendance::booking_id, attendance::starts, attendance::finishes) =
    (attendance::person_id, attendance::booking_id, attendance::starts, attendance::finishes);

/// The time taken from all people within a period, for each person by start. Holds that have run out are left out.
/// Bookings after the period are not read, as with [`bays_taken`](super::bays_taken).
pub(in crate::booking) fn people_taken(
    tx: &mut Tx<'_>,
    from: Minute,
    until: Minute,
    except: Option<&BookingId>,
) -> Stored<Vec<Taken>> {
    let except = except.map_or("", BookingId::as_str);
    let mut rows: Vec<TakenRow> = rows_of_shop!(attendance, tx)
        .filter(attendance::live)
        .filter(attendance::finishes.gt(from.get()))
        .filter(attendance::finishes.le(until.get()))
        .filter(attendance::booking_id.ne(except))
        .filter(attendance::hold_until.is_null().or(attendance::hold_until.gt(tx.now.ms())))
        .order(attendance::finishes.asc())
        .select(TAKEN)
        .load(tx.conn)?;
    let after = diesel::alias!(attendance as after);
    let first_to_end = after
        .filter(after.field(attendance::person_id).eq(person::id))
        .filter(after.field(attendance::live))
        .filter(after.field(attendance::finishes).gt(until.get()))
        .order(after.field(attendance::finishes).asc())
        .select(after.field(attendance::id))
        .single_value();
    let across: Vec<TakenRow> = person::table
        .inner_join(attendance::table.on(attendance::id.nullable().eq(first_to_end)))
        .filter(of_shop!(person, tx))
        .filter(of_shop!(attendance, tx))
        .filter(attendance::booking_id.ne(except))
        .filter(attendance::hold_until.is_null().or(attendance::hold_until.gt(tx.now.ms())))
        .select(TAKEN)
        .load(tx.conn)?;
    // As with bays, the start is compared here.
    rows.extend(across.into_iter().filter(|(_, _, starts, _)| *starts < until.get()));
    rows.into_iter().map(taken).collect()
}

/// A row: booking, step, person, place, whether they help, start and finish.
type PieceRow = (String, String, String, i32, bool, i64, i64);

fn read_piece((booking, step, person, place, helps, starts, finishes): PieceRow) -> Stored<(BookingId, Attendance)> {
    let row = RowId::of("attendance", &booking);
    let when = Interval::new(Minute::new(starts), Minute::new(finishes));
    let when = when.ok_or_else(|| row.corrupt("finishes", "not after starts"))?;
    let place: u32 = row.read("place", place)?;
    Ok((booking.into(), Attendance { step, place, person: person.into(), helps, when }))
}

/// The columns of a [`PieceRow`].
const PIECE: (
    attendance::booking_id,
    attendance::step,
    attendance::person_id,
    attendance::place,
    attendance::helps,
    attendance::starts,
    attendance::finishes,
) = (
    attendance::booking_id,
    attendance::step,
    attendance::person_id,
    attendance::place,
    attendance::helps,
    attendance::starts,
    attendance::finishes,
);

/// The pieces of work of a booking, by step and time; of two people at one step, the leader comes before the helper.
pub(in crate::booking) fn attendance_of(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<Vec<Attendance>> {
    let rows: Vec<PieceRow> = rows_of_shop!(attendance, tx)
        .filter(attendance::booking_id.eq(booking.as_str()))
        .order((attendance::place.asc(), attendance::starts.asc(), attendance::helps.asc()))
        .select(PIECE)
        .load(tx.conn)?;
    rows.into_iter().map(|row| Ok(read_piece(row)?.1)).collect()
}

/// Pieces of work of the given bookings, by time, each with its booking; ended bookings are included.
pub(in crate::booking) fn attendance_of_all(
    tx: &mut Tx<'_>,
    bookings: &[BookingId],
) -> Stored<Vec<(BookingId, Attendance)>> {
    if bookings.is_empty() {
        return Ok(Vec::new());
    }
    let rows: Vec<PieceRow> = rows_of_shop!(attendance, tx)
        .filter(attendance::booking_id.eq_any(bookings.iter().map(BookingId::as_str)))
        .order((attendance::starts.asc(), attendance::helps.asc(), attendance::id.asc()))
        .select(PIECE)
        .load(tx.conn)?;
    rows.into_iter().map(read_piece).collect()
}

/// The work of a person within a period, by time, with the booking. Holds that have run out are left out.
pub(in crate::booking) fn attendance_by(
    tx: &mut Tx<'_>,
    person: &PersonId,
    stretch: Interval,
) -> Stored<Vec<(BookingId, Attendance)>> {
    let rows: Vec<PieceRow> = rows_of_shop!(attendance, tx)
        .filter(attendance::person_id.eq(person.as_str()))
        .filter(attendance::live)
        .filter(attendance::finishes.gt(stretch.from().get()))
        .filter(attendance::starts.lt(stretch.to().get()))
        .filter(attendance::hold_until.is_null().or(attendance::hold_until.gt(tx.now.ms())))
        .order((attendance::starts.asc(), attendance::id.asc()))
        .select(PIECE)
        .load(tx.conn)?;
    rows.into_iter().map(read_piece).collect()
}

/// Stores the people's time for a booking, replacing what it had.
pub(super) fn replace(
    tx: &mut Tx<'_>,
    booking: &BookingId,
    steps: &[PlacedStep],
    hold_until: Option<UtcTime>,
) -> Stored<()> {
    let mine = rows_of_shop!(attendance, tx).filter(attendance::booking_id.eq(booking.as_str()));
    diesel::delete(mine).execute(tx.conn)?;
    let mut rows = Vec::new();
    for (at, step) in (0_i32..).zip(steps) {
        let who = step.leads().map(|leads| (leads, false)).into_iter().chain(step.helps().map(|helps| (helps, true)));
        for ((person, helps), piece) in who.flat_map(|who| step.pieces.iter().map(move |piece| (who, piece))) {
            rows.push((
                attendance::id.eq(ids::new::<String>()),
                attendance::shop_id.eq(tx.studio.id.as_str()),
                attendance::booking_id.eq(booking.as_str()),
                attendance::person_id.eq(person),
                attendance::step.eq(step.code.as_str()),
                attendance::place.eq(at),
                attendance::helps.eq(helps),
                attendance::starts.eq(piece.from().get()),
                attendance::finishes.eq(piece.to().get()),
                attendance::live.eq(true),
                attendance::hold_until.eq(hold_until.map(UtcTime::ms)),
            ));
        }
    }
    insert_rows!(tx.conn, attendance::table, rows)?;
    Ok(())
}

pub(super) fn release(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<()> {
    let mine = rows_of_shop!(attendance, tx).filter(attendance::booking_id.eq(booking.as_str()));
    diesel::update(mine).set(attendance::live.eq(false)).execute(tx.conn)?;
    Ok(())
}

pub(super) fn settle(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<()> {
    let mine = rows_of_shop!(attendance, tx).filter(attendance::booking_id.eq(booking.as_str()));
    diesel::update(mine).set(attendance::hold_until.eq(None::<i64>)).execute(tx.conn)?;
    Ok(())
}

pub(super) fn hold(tx: &mut Tx<'_>, booking: &BookingId, until: UtcTime) -> Stored<()> {
    let mine = rows_of_shop!(attendance, tx).filter(attendance::booking_id.eq(booking.as_str()));
    diesel::update(mine).set(attendance::hold_until.eq(until.ms())).execute(tx.conn)?;
    Ok(())
}
