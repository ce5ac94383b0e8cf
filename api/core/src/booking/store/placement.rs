//! Bay time that bookings take.
//!
//! **What overlaps a stretch of time** is asked by the end of the placements, with a lower and an upper limit, and for
//! each bay by the one row that crosses the end of the stretch. With a limit on the start as well, SQLite would use an
//! index for one of the two and read all history, or everything still to come. The part `history` of `tests/run` would
//! show such a query.
//!
//! **A booking has one placement,** from its start to its finish, **and one row for each bay** in which its car is in
//! between (`stay`). The time of bays and cars is read from those rows, and the constraints that keep two cars out of
//! one bay are on them.
//!
//! **A car is in one bay at a time.** Each row names its car in `vehicle_id`, which triggers keep equal to the
//! booking's, and the constraints that keep bays free of overlaps hold for cars as well. A search treats the car's
//! other bookings as if every bay were taken then, so its earliest finish stays exact. The search of whole weeks
//! doesn't know cars, so it leaves cars with several bookings where they are.
//!
//! **At most one car is in a bay,** whatever the diary says: the column `standing` and a unique index ensure that on
//! both engines. The placement's `bay_id` is the bay in which the car is now, or to which it comes first.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BayId, BookingId, VehicleId};
use baywright_domain::schedule::Taken;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::time::{Interval, Minute, Minutes};
use diesel::prelude::*;

use super::{attendance, stay};
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::kept::Named;
use crate::platform::tx::Tx;
use crate::schema::{bay, booking, booking_stay, placement};

pub(super) type TakenRow = (String, String, i64, i64);

pub(super) fn taken((owner, booking, starts, finishes): TakenRow) -> Stored<Taken> {
    let when = Interval::new(Minute::new(starts), Minute::new(finishes))
        .ok_or_else(|| RowId::of("booking_stay", &booking).corrupt("finishes", "not after starts"))?;
    Ok(Taken { owner, booking, when })
}

/// The columns of a [`TakenRow`].
const TAKEN: (booking_stay::bay_id, booking_stay::booking_id, booking_stay::starts, booking_stay::finishes) =
    (booking_stay::bay_id, booking_stay::booking_id, booking_stay::starts, booking_stay::finishes);

/// The time taken from all bays within a period, for each bay by start. Holds that have run out are left out.
///
/// A query by end alone would read everything that is booked after the period. So it reads what ends within the period
/// and, for each bay, the one car that may still be there at its end: current placements do not overlap, so it is the
/// first one that ends later.
pub(in crate::booking) fn bays_taken(
    tx: &mut Tx<'_>,
    from: Minute,
    until: Minute,
    except: Option<&BookingId>,
) -> Stored<Vec<Taken>> {
    let except = except.map_or("", BookingId::as_str);
    let mut rows: Vec<TakenRow> = rows_of_shop!(booking_stay, tx)
        .filter(booking_stay::live)
        .filter(booking_stay::finishes.gt(from.get()))
        .filter(booking_stay::finishes.le(until.get()))
        .filter(booking_stay::booking_id.ne(except))
        .filter(booking_stay::hold_until.is_null().or(booking_stay::hold_until.gt(tx.now.ms())))
        .order(booking_stay::finishes.asc())
        .select(TAKEN)
        .load(tx.conn)?;
    let after = diesel::alias!(booking_stay as after);
    let first_to_end = after
        .filter(after.field(booking_stay::bay_id).eq(bay::id))
        .filter(after.field(booking_stay::live))
        .filter(after.field(booking_stay::finishes).gt(until.get()))
        .order(after.field(booking_stay::finishes).asc())
        .select(after.field(booking_stay::id))
        .single_value();
    let across: Vec<TakenRow> = bay::table
        .inner_join(booking_stay::table.on(booking_stay::id.nullable().eq(first_to_end)))
        .filter(of_shop!(bay, tx))
        .filter(of_shop!(booking_stay, tx))
        .filter(booking_stay::booking_id.ne(except))
        .filter(booking_stay::hold_until.is_null().or(booking_stay::hold_until.gt(tx.now.ms())))
        .select(TAKEN)
        .load(tx.conn)?;
    // The start is compared here: an index on it would read all bookings before the period.
    rows.extend(across.into_iter().filter(|(_, _, starts, _)| *starts < until.get()));
    rows.into_iter().map(taken).collect()
}

/// Bay time of cars that are in a bay before their stay there begins: from now until then. The stay follows directly,
/// unless others have the bay in between; this time has no row of its own.
pub(in crate::booking) fn standing_early(tx: &mut Tx<'_>, except: Option<&BookingId>) -> Stored<Vec<Taken>> {
    let now = tx.now.minute().get();
    let mut rows: Vec<TakenRow> = placement::table
        .inner_join(
            booking_stay::table
                .on(booking_stay::booking_id.eq(placement::booking_id).and(booking_stay::bay_id.eq(placement::bay_id))),
        )
        .filter(of_shop!(placement, tx))
        .filter(of_shop!(booking_stay, tx))
        .filter(placement::standing)
        .filter(placement::live)
        .filter(placement::booking_id.ne(except.map_or("", BookingId::as_str)))
        .filter(booking_stay::finishes.gt(now))
        .order((placement::bay_id.asc(), booking_stay::starts.asc()))
        .select(TAKEN)
        .load(tx.conn)?;
    // Of a car that comes back to its bay later, the stay that it is in counts, or the next one.
    rows.dedup_by(|later, first| later.1 == first.1);
    rows.retain(|(_, _, starts, _)| *starts > now);
    rows.into_iter().map(|(bay, booking, starts, _)| taken((bay, booking, now, starts))).collect()
}

/// Time when another car has the bay at that minute: the first one to end after it, by index, if it has begun.
pub(in crate::booking) fn bay_at(tx: &mut Tx<'_>, bay: &BayId, at: Minute) -> Stored<Option<Interval>> {
    let first: Option<(i64, i64)> = rows_of_shop!(booking_stay, tx)
        .filter(booking_stay::bay_id.eq(bay.as_str()))
        .filter(booking_stay::live)
        .filter(booking_stay::finishes.gt(at.get()))
        .filter(booking_stay::hold_until.is_null().or(booking_stay::hold_until.gt(tx.now.ms())))
        .order(booking_stay::finishes.asc())
        .select((booking_stay::starts, booking_stay::finishes))
        .first(tx.conn)
        .optional()?;
    let stretch = first.and_then(|(starts, finishes)| Interval::new(Minute::new(starts), Minute::new(finishes)));
    Ok(stretch.filter(|stretch| stretch.contains(at)))
}

/// The time that a car has in all bays within a period, by start, without the booking `except`. Holds that have run out
/// are left out.
pub(in crate::booking) fn car_taken(
    tx: &mut Tx<'_>,
    car: &VehicleId,
    (from, until): (Minute, Minute),
    except: Option<&BookingId>,
) -> Stored<Vec<Taken>> {
    let rows: Vec<TakenRow> = rows_of_shop!(booking_stay, tx)
        .filter(booking_stay::vehicle_id.eq(car.as_str()))
        .filter(booking_stay::live)
        .filter(booking_stay::finishes.gt(from.get()))
        .filter(booking_stay::starts.lt(until.get()))
        .filter(booking_stay::booking_id.ne(except.map_or("", BookingId::as_str)))
        .filter(booking_stay::hold_until.is_null().or(booking_stay::hold_until.gt(tx.now.ms())))
        .order(booking_stay::starts.asc())
        .select(TAKEN)
        .load(tx.conn)?;
    rows.into_iter().map(taken).collect()
}

/// Another booking for which that car has come and was not handed over.
pub(in crate::booking) fn here(tx: &mut Tx<'_>, car: &VehicleId, except: &BookingId) -> Stored<Option<BookingId>> {
    let come = BookingState::ALL.iter().filter(|state| state.has_come()).map(|state| state.stored());
    let id: Option<String> = booking::table
        .inner_join(placement::table.on(placement::booking_id.eq(booking::id)))
        .filter(of_shop!(booking, tx))
        .filter(of_shop!(placement, tx))
        .filter(placement::vehicle_id.eq(car.as_str()))
        .filter(placement::live)
        .filter(booking::state.eq_any(come))
        .filter(booking::id.ne(except.as_str()))
        .select(booking::id)
        .first(tx.conn)
        .optional()?;
    Ok(id.map(BookingId::new))
}

/// Time when the last place that is booked or held ends.
pub(in crate::booking) fn last_finish(tx: &mut Tx<'_>) -> Stored<Option<Minute>> {
    let last: Option<i64> = rows_of_shop!(placement, tx)
        .filter(placement::live)
        .order(placement::finishes.desc())
        .select(placement::finishes)
        .first(tx.conn)
        .optional()?;
    Ok(last.map(Minute::new))
}

/// The booking whose car is in that bay now.
pub(in crate::booking) fn standing_in(tx: &mut Tx<'_>, bay: &BayId) -> Stored<Option<BookingId>> {
    let id: Option<String> = rows_of_shop!(placement, tx)
        .filter(placement::bay_id.eq(bay.as_str()))
        .filter(placement::standing)
        .filter(placement::live)
        .select(placement::booking_id)
        .first(tx.conn)
        .optional()?;
    Ok(id.map(BookingId::new))
}

/// Stores whether a booking's car is in its bay. A constraint of the database keeps two cars out of one bay.
pub(in crate::booking) fn stand(tx: &mut Tx<'_>, booking: &BookingId, stands: bool) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(booking.as_str()));
    diesel::update(mine).set(placement::standing.eq(stands)).execute(tx.conn)?;
    Ok(())
}

/// Stores that a booking's car is now in this bay, or will come there first.
pub(in crate::booking) fn bring_to(tx: &mut Tx<'_>, booking: &BookingId, bay: &BayId) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(booking.as_str()));
    diesel::update(mine).set(placement::bay_id.eq(bay.as_str())).execute(tx.conn)?;
    Ok(())
}

/// Stores the bays' and the people's time for a booking, replacing what it had. The promise is `margin` minutes after
/// the end of the visit, whose steps include `move_minutes` for each move. A car that is in a bay now stays in it.
pub(in crate::booking) fn take(
    tx: &mut Tx<'_>,
    id: &BookingId,
    visit: &Visit,
    move_minutes: Minutes,
    margin: Minutes,
    hold_until: Option<UtcTime>,
) -> Stored<()> {
    let row = RowId::of("placement", id.as_str());
    let margin = row.write("promise_margin", &margin)?;
    let (order, move_minutes) = (row.write("plan_order", &visit.order)?, row.write("move_minutes", &move_minutes)?);
    let bay = visit.stays.first().map_or("", |first| first.bay.as_str());
    let car: String =
        rows_of_shop!(booking, tx).filter(booking::id.eq(id.as_str())).select(booking::vehicle_id).first(tx.conn)?;
    // The earlier stays would be current again with the placement.
    stay::remove(tx, id)?;
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(id.as_str()));
    let values = (
        placement::starts.eq(visit.start.get()),
        placement::finishes.eq(visit.finish.get()),
        placement::live.eq(true),
        placement::hold_until.eq(hold_until.map(UtcTime::ms)),
        placement::promise_margin.eq(margin),
        placement::vehicle_id.eq(&car),
        placement::plan_order.eq(order),
        placement::move_minutes.eq(move_minutes),
    );
    if diesel::update(mine).set(values).execute(tx.conn)? == 0 {
        diesel::insert_into(placement::table)
            .values((
                placement::id.eq(ids::new::<String>()),
                placement::shop_id.eq(tx.studio.id.as_str()),
                placement::booking_id.eq(id.as_str()),
                placement::bay_id.eq(bay),
                placement::starts.eq(visit.start.get()),
                placement::finishes.eq(visit.finish.get()),
                placement::live.eq(true),
                placement::hold_until.eq(hold_until.map(UtcTime::ms)),
                placement::promise_margin.eq(margin),
                placement::vehicle_id.eq(&car),
                placement::standing.eq(false),
                placement::plan_order.eq(order),
                placement::move_minutes.eq(move_minutes),
            ))
            .execute(tx.conn)?;
    } else {
        let elsewhere = rows_of_shop!(placement, tx)
            .filter(placement::booking_id.eq(id.as_str()))
            .filter(placement::standing.eq(false));
        diesel::update(elsewhere).set(placement::bay_id.eq(bay)).execute(tx.conn)?;
    }
    stay::insert(tx, id, &car, visit, hold_until)?;
    attendance::replace(tx, id, &visit.steps, hold_until)
}

/// Gives a booking its first bay from that minute on, before its booked start.
pub(in crate::booking) fn begin(tx: &mut Tx<'_>, booking: &BookingId, at: Minute) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(booking.as_str()));
    // The earlier value is kept, so that the arrival can be undone.
    diesel::update(mine)
        .set((placement::starts.eq(at.get()), placement::agreed_starts.eq(placement::starts.nullable())))
        .execute(tx.conn)?;
    stay::begin(tx, booking, at.get())
}

/// Frees the booking's time.
pub(in crate::booking) fn release(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(booking.as_str()));
    diesel::update(mine).set(placement::live.eq(false)).execute(tx.conn)?;
    attendance::release(tx, booking)
}

/// Turns held time into booked time, which doesn't run out.
pub(in crate::booking) fn settle(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(booking.as_str()));
    diesel::update(mine).set(placement::hold_until.eq(None::<i64>)).execute(tx.conn)?;
    attendance::settle(tx, booking)
}

/// Holds the time of a booking until another moment.
pub(in crate::booking) fn hold(tx: &mut Tx<'_>, booking: &BookingId, until: UtcTime) -> Stored<()> {
    let mine = rows_of_shop!(placement, tx).filter(placement::booking_id.eq(booking.as_str()));
    diesel::update(mine).set(placement::hold_until.eq(until.ms())).execute(tx.conn)?;
    attendance::hold(tx, booking, until)
}
