//! The shop's time over a period, as the rules of scheduling read it.

use baywright_domain::calendar::{Dates, OpeningHours, Weekly, Zone, ZoneRules};
use baywright_domain::schedule::Bay;
use baywright_domain::time::{Interval, IntervalSet};
use chrono::NaiveDate;

use super::Closure;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::store;

/// The bays in use, of all bays, with their features and open time within a period; ids serve as codes. The diary adds the
/// time that bookings take.
pub fn open_bays(tx: &mut Tx<'_>, all: &[super::Bay], zone: &Zone, within: Interval) -> Done<Vec<Bay>> {
    // Hours that began the day before may extend into it; so may a closure of that day.
    let day = |minute| zone.to_local(minute).date();
    let (from, until) = (day(within.from()), day(within.to()));
    let first = from.checked_sub_days(chrono::Days::new(3)).unwrap_or(from);
    let last = until.checked_add_days(chrono::Days::new(3)).unwrap_or(until);
    let closures = store::hours::between(tx, first, last)?;
    let weekly = weekly(&store::hours::week(tx)?.0);
    let bays = all.iter().filter(|bay| bay.details.in_use).map(|bay| Bay {
        features: features(bay),
        open: open(&weekly, closed(&closures, &bay.id), zone, within),
        held: IntervalSet::EMPTY,
        code: bay.id.to_string(),
    });
    Ok(bays.collect())
}

/// Open time of the whole shop, with its closures from `first` to `last`; days outside those count as open as usual.
pub fn opening_hours(tx: &mut Tx<'_>, first: NaiveDate, last: NaiveDate) -> Done<OpeningHours> {
    let closures = store::hours::between(tx, first, last.succ_opt().unwrap_or(last))?;
    let whole = closures.iter().filter(|closure| closure.details.bay.is_none());
    let weekly = weekly(&store::hours::week(tx)?.0);
    Ok(OpeningHours { weekly, closures: whole.map(|closure| closure.details.dates).collect() })
}

/// The bays in use over a period, as if there were no closure.
pub fn bays_without_closures(tx: &mut Tx<'_>, within: Interval) -> Done<Vec<Bay>> {
    let zone = Zone::named(&tx.studio.zone)?;
    let open = open(&weekly(&store::hours::week(tx)?.0), Vec::new(), &zone, within);
    let bays = store::bay::all(tx)?.into_iter().filter(|bay| bay.details.in_use).map(|bay| Bay {
        features: features(&bay),
        open: open.clone(),
        held: IntervalSet::EMPTY,
        code: bay.id.to_string(),
    });
    Ok(bays.collect())
}

fn features(bay: &super::Bay) -> std::collections::BTreeSet<String> {
    bay.details.features.iter().map(|feature| feature.as_str().to_owned()).collect()
}

/// The dates on which the bay is closed: with the whole shop, or by itself.
fn closed(closures: &[Closure], bay: &baywright_domain::id::BayId) -> Vec<Dates> {
    let hits = |closure: &&Closure| closure.details.bay.as_ref().is_none_or(|only| only == bay);
    closures.iter().filter(hits).map(|closure| closure.details.dates).collect()
}

fn open(weekly: &Weekly, closures: Vec<Dates>, zone: &Zone, within: Interval) -> IntervalSet {
    OpeningHours { weekly: weekly.clone(), closures }.open(zone, within)
}

/// A week made from its periods of hours.
pub(crate) fn weekly(
    hours: &[(baywright_domain::calendar::DayOfWeek, baywright_domain::calendar::DayHours)],
) -> Weekly {
    hours.iter().fold(Weekly::new(), |week, (day, hours)| week.with((*day).into(), *hours))
}
