//! The shop's time over a period, as the rules of scheduling read it.

use baywright_domain::calendar::Zone;
use baywright_domain::schedule::{Bay, Technician};
use baywright_domain::time::{Interval, IntervalSet, Minute};

use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{people, shop};

/// The bays in use and the people who work, with their time; ids serve as codes. The diary adds the time that bookings
/// take.
#[derive(Debug, Clone, Default)]
pub struct Timetable {
    /// Bays with features and open time.
    pub bays: Vec<Bay>,
    /// People with skills and working time.
    pub technicians: Vec<Technician>,
}

impl Timetable {
    /// Open time of the bay with that code; none if the bay isn't in use.
    pub(super) fn open_time(self, code: &str) -> IntervalSet {
        let bay = self.bays.into_iter().find(|bay| bay.code == code);
        bay.map_or(IntervalSet::EMPTY, |bay| bay.open)
    }
}

/// The timetable from one minute up to another; empty if the period is empty.
pub fn timetable(tx: &mut Tx<'_>, from: Minute, until: Minute) -> Done<Timetable> {
    let (bays, people) = (shop::usecase::bays(tx)?, people::usecase::everyone(tx)?);
    timetable_of(tx, &bays, &people, (from, until))
}

/// The same for a caller that has read all bays and people already.
pub fn timetable_of(
    tx: &mut Tx<'_>,
    bays: &[shop::usecase::Bay],
    people: &[people::usecase::Person],
    (from, until): (Minute, Minute),
) -> Done<Timetable> {
    let Some(within) = Interval::new(from, until) else { return Ok(Timetable::default()) };
    let zone = Zone::named(&tx.studio.zone)?;
    let bays = shop::usecase::open_bays(tx, bays, &zone, within)?;
    Ok(Timetable { bays, technicians: people::usecase::working(tx, people, &zone, within)? })
}
