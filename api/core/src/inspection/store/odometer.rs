//! Odometer readings.

use baywright_domain::id::{InspectionId, VehicleId};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::inspection;

/// The latest odometer reading of a vehicle at an inspection other than the given one, with its time.
pub(in crate::inspection) fn last_odometer(
    tx: &mut Tx<'_>,
    vehicle: &VehicleId,
    except: Option<&InspectionId>,
) -> Stored<Option<(UtcTime, u32)>> {
    let row: Option<(String, i64, Option<i32>)> = rows_of_shop!(inspection, tx)
        .filter(inspection::vehicle_id.eq(vehicle.as_str()))
        .filter(inspection::id.ne(except.map_or("", InspectionId::as_str)))
        .filter(inspection::odometer.is_not_null())
        .order(inspection::id.desc())
        .select((inspection::id, inspection::created_at, inspection::odometer))
        .first(tx.conn)
        .optional()?;
    let Some((id, created_at, shown)) = row else { return Ok(None) };
    let row = RowId::of("inspection", &id);
    let shown = row.required("odometer", shown)?;
    Ok(Some((row.read("created_at", created_at)?, row.read("odometer", shown)?)))
}
