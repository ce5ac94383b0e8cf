//! Warnings about an inspection that a careful colleague would give; nothing is refused. Whether the odometer shows
//! less, or far more, than before is checked by the routes with the jobs' use case, since jobs are above inspections.

use super::details::Details;
use crate::platform::tx::Tx;

/// Warns of paint readings on parts that have no paint.
pub(super) fn look(tx: &mut Tx<'_>, details: &Details) {
    for (place, readings) in details.readings.iter().enumerate().filter(|(_, readings)| !readings.panel.is_painted()) {
        let detail =
            format!("There is no paint to measure on: {}. Check that the right panel was chosen.", readings.panel);
        tx.warn("reading-not-on-paint", format!("/readings/{place}/panel"), detail);
    }
}
