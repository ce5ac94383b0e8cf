//! What a careful colleague would look at in an inspection; it refuses nothing. Whether the odometer shows less, or far
//! more, than it did before is asked of jobs by the routes, since jobs stand above inspections.

use super::details::Details;
use crate::platform::tx::Tx;

/// Warns of readings on what has no paint.
pub(super) fn look(tx: &mut Tx<'_>, details: &Details) {
    for (place, readings) in details.readings.iter().enumerate().filter(|(_, readings)| !readings.panel.is_painted()) {
        let detail =
            format!("There is no paint to measure on: {}. Check that the right panel was chosen.", readings.panel);
        tx.warn("reading-not-on-paint", format!("/readings/{place}/panel"), detail);
    }
}
