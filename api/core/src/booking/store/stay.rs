//! The bays of bookings, one row for each stay.
//!
//! The columns `live`, `hold_until` and `vehicle_id` are copies of the placement's: a trigger writes them when it
//! changes, so that the constraints on these rows hold for current bookings only.

use std::collections::BTreeMap;

use baywright_domain::id::BookingId;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::time::Minute;
use diesel::prelude::*;

use crate::booking::usecase::Stay;
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, insert_rows, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::booking_stay;

/// Number of bookings in one query.
const AT_ONCE: usize = 500;

/// A row: booking, bay, start, finish and first step.
type StayRow = (String, String, i64, i64, Option<String>);

/// The stays of the given bookings, by booking, each booking's in order.
pub(super) fn of(tx: &mut Tx<'_>, bookings: &[String]) -> Stored<BTreeMap<String, Vec<Stay>>> {
    let mut found: BTreeMap<String, Vec<Stay>> = BTreeMap::new();
    for some in bookings.chunks(AT_ONCE) {
        let rows: Vec<StayRow> = rows_of_shop!(booking_stay, tx)
            .filter(booking_stay::booking_id.eq_any(some.iter().map(String::as_str)))
            .order((booking_stay::booking_id.asc(), booking_stay::ordinal.asc()))
            .select((
                booking_stay::booking_id,
                booking_stay::bay_id,
                booking_stay::starts,
                booking_stay::finishes,
                booking_stay::begins_with,
            ))
            .load(tx.conn)?;
        for (booking, bay, starts, finishes, begins_with) in rows {
            let stay = Stay { bay: bay.into(), from: Minute::new(starts), to: Minute::new(finishes), begins_with };
            found.entry(booking).or_default().push(stay);
        }
    }
    Ok(found)
}

/// Removes a booking's stays, before others are stored.
pub(super) fn remove(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<()> {
    diesel::delete(rows_of_shop!(booking_stay, tx).filter(booking_stay::booking_id.eq(booking.as_str())))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores the stays of a booking of this car; its placement must be stored already.
pub(super) fn insert(
    tx: &mut Tx<'_>,
    booking: &BookingId,
    car: &str,
    visit: &Visit,
    hold_until: Option<UtcTime>,
) -> Stored<()> {
    let row = RowId::of("booking_stay", booking.as_str());
    let mut rows = Vec::new();
    for (at, stay) in visit.stays.iter().enumerate() {
        let ordinal = row.write("ordinal", &at)?;
        rows.push((
            booking_stay::id.eq(ids::new::<String>()),
            booking_stay::shop_id.eq(tx.studio.id.as_str()),
            booking_stay::booking_id.eq(booking.as_str()),
            booking_stay::ordinal.eq(ordinal),
            booking_stay::bay_id.eq(stay.bay.as_str()),
            booking_stay::starts.eq(stay.from.get()),
            booking_stay::finishes.eq(stay.to.get()),
            booking_stay::begins_with.eq(visit.begins_with(at).map(|step| step.code.as_str())),
            booking_stay::live.eq(true),
            booking_stay::hold_until.eq(hold_until.map(UtcTime::ms)),
            booking_stay::vehicle_id.eq(car),
        ));
    }
    insert_rows!(tx.conn, booking_stay::table, rows)?;
    Ok(())
}

/// Sets when a booking's first stay begins.
pub(super) fn begin(tx: &mut Tx<'_>, booking: &BookingId, at: i64) -> Stored<()> {
    let first = rows_of_shop!(booking_stay, tx)
        .filter(booking_stay::booking_id.eq(booking.as_str()))
        .filter(booking_stay::ordinal.eq(0));
    diesel::update(first).set(booking_stay::starts.eq(at)).execute(tx.conn)?;
    Ok(())
}
