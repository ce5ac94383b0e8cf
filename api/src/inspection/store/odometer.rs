//! What odometers showed.

use baywright_domain::id::{InspectionId, VehicleId};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::inspection;

/// When the odometer of a vehicle was last read at an inspection, but for the one named, and what it showed.
pub(in crate::inspection) fn last_odometer(
    tx: &mut Tx<'_>,
    vehicle: &VehicleId,
    except: Option<&InspectionId>,
) -> Stored<Option<(UtcTime, u32)>> {
    let row: Option<(i64, Option<i32>)> = rows_of_shop!(inspection, tx)
        .filter(inspection::vehicle_id.eq(vehicle.as_str()))
        .filter(inspection::id.ne(except.map_or("", InspectionId::as_str)))
        .filter(inspection::odometer.is_not_null())
        .order(inspection::id.desc())
        .select((inspection::created_at, inspection::odometer))
        .first(tx.conn)
        .optional()?;
    Ok(row.and_then(|(at, shown)| Some((UtcTime::from_ms(at), u32::try_from(shown?).ok()?))))
}
