//! What a careful colleague would look at in an inspection. None of it refuses anything.

use baywright_domain::id::{InspectionId, VehicleId};

use super::details::Details;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{job, vehicle};

/// Warns of an odometer that shows less than before, and of readings on what has no paint.
pub(super) fn look(tx: &mut Tx<'_>, vehicle: &VehicleId, id: &InspectionId, details: &Details) -> Done<()> {
    for (place, readings) in details.readings.iter().enumerate().filter(|(_, readings)| !readings.panel.is_painted()) {
        let detail =
            format!("There is no paint to read on: {}. Check that the right panel was chosen.", readings.panel);
        tx.warn("reading-not-on-paint", format!("/readings/{place}/panel"), detail);
    }
    let Some(shown) = details.odometer.and_then(|shown| u32::try_from(shown).ok()) else { return Ok(()) };
    let unit = vehicle::usecase::show(tx, vehicle)?.details.odometer_unit;
    job::usecase::odometer(tx, vehicle, unit, shown, Some(id))
}
