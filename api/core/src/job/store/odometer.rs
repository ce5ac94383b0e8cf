//! Odometer readings at hand-overs.

use baywright_domain::id::VehicleId;
use baywright_domain::vehicle::OdometerUnit;
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{booking, handover};

/// The latest odometer reading of a vehicle at a hand-over in that unit, with its time.
pub(in crate::job) fn last_odometer(
    tx: &mut Tx<'_>,
    vehicle: &VehicleId,
    unit: OdometerUnit,
) -> Stored<Option<(UtcTime, u32)>> {
    let row: Option<(String, i64, Option<i32>)> = handover::table
        .inner_join(booking::table.on(booking::shop_id.eq(handover::shop_id).and(booking::id.eq(handover::booking_id))))
        .filter(of_shop!(handover, tx))
        .filter(of_shop!(booking, tx))
        .filter(booking::vehicle_id.eq(vehicle.as_str()))
        .filter(handover::odometer_unit.eq(unit.as_str()))
        .order(handover::at.desc())
        .select((handover::id, handover::at, handover::odometer))
        .first(tx.conn)
        .optional()?;
    let Some((id, at, shown)) = row else { return Ok(None) };
    let row = RowId::of("handover", &id);
    let shown = row.required("odometer", shown)?;
    Ok(Some((row.read("at", at)?, row.read("odometer", shown)?)))
}
