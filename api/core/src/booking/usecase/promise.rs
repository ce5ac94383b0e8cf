//! The promise to the customer: the diary's finish, plus a margin for work that takes longer than its budgets.
//!
//! The diary uses budgets, since a bay that is kept free for a rare case earns nothing, and since the search is exact
//! for the steps it is given. The promise adds the margin of the plan's outlook, which runs while the bay is open,
//! because it is work. The margin takes no bay and no person. The promise is rounded up to a full step of the clock at
//! which the shop is open, since nobody arranges to fetch a car at 15:59.
//!
//! **Size of the margin.** The plan's quantile (80 %, a setting of the shop) minus the sum of its budgets, counted from
//! the finish of the placement. Scaling up the budgets in the diary would instead keep bays free for time that four
//! jobs of five never need, and would add a margin for each step although the whole needs far less.
//!
//! **Where it applies.** Only to what the customer reads: `promised` beside `finish`, the mails and their calendar
//! file. The search is unaffected, and reschedulings are due by the diary's finish. The promise is stored with the
//! place, so that new opening hours don't change it. An overrun changes it only if the car will be ready later than its
//! customer was told. A variation names the time by which the car will be ready with its work, and once it is signed
//! that time is the promise.
//!
//! **What it does not cover.** It covers the duration of the work only. Cars that follow each other closely, and an
//! overrun before a last cure, can still break it; and steps count as independent although one dirty car makes all of
//! them slower.

use baywright_domain::learning::Outlook;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::{Wait, WaitWhen};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};

use super::timetable::timetable;
use super::{AHEAD_DAYS, Booking, Place, bay_hours};
use crate::plan::usecase::Plan;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop;
use crate::shop::settings::Settings;

/// Days that are searched first: nearly every margin ends within them, and a longer search costs more.
const NEAR_DAYS: u32 = 14;

/// Promised time for work that the diary has until `finish`, in a bay with this open time: the finish plus the margin,
/// rounded up to a round time of day. `None` if the known open time ends before.
pub(super) fn moment(
    settings: &Settings,
    outlook: Option<&Outlook>,
    finish: Minute,
    open: &IntervalSet,
) -> Option<Minute> {
    let done = outlook.map_or(Some(finish), |ahead| ahead.promise(finish, open))?;
    settings.terms.promise_step.promise(&settings.zone, open, done)
}

/// Minutes from a visit's finish to its promise. `open` is the last bay's open time as far as it is known; if that is
/// too short or empty, it is read.
pub(super) fn margin(
    tx: &mut Tx<'_>,
    settings: &Settings,
    plan: &Plan,
    visit: &Visit,
    open: &IntervalSet,
) -> Done<Minutes> {
    margin_of(tx, settings, plan.outlook()?.as_ref(), visit, open)
}

fn margin_of(
    tx: &mut Tx<'_>,
    settings: &Settings,
    outlook: Option<&Outlook>,
    visit: &Visit,
    open: &IntervalSet,
) -> Done<Minutes> {
    let finish = visit.finish;
    if let Some(promised) = moment(settings, outlook, finish, open) {
        return Ok(between(finish, promised));
    }
    for days in [NEAR_DAYS, AHEAD_DAYS] {
        let open = timetable(tx, finish, finish + Minutes::new(days * 1440))?.open_time(visit.last_bay());
        if let Some(promised) = moment(settings, outlook, finish, &open) {
            return Ok(between(finish, promised));
        }
    }
    Ok(outlook.map_or(Minutes::ZERO, Outlook::margin))
}

/// The margin of a car that stays until a time that a person has named: the earlier promise stays if it is late enough,
/// else that time is promised, rounded up.
pub(super) fn longer(tx: &mut Tx<'_>, settings: &Settings, before: &Place, visit: &Visit) -> Done<Minutes> {
    if visit.finish <= before.promised {
        return Ok(rest(before, visit));
    }
    margin_of(tx, settings, None, visit, &IntervalSet::EMPTY)
}

/// Promise for a car in its bay if its work is done at that time: with the margin of its current promise, which passes
/// while the bay is open, and rounded up like every promise. It is never earlier than the current one. `None` if the
/// known open time ends before.
pub fn promise_if_done(tx: &mut Tx<'_>, booking: &Booking, done: Minute) -> Done<Option<Minute>> {
    let place = &booking.place;
    let Some(later) = Interval::new(place.finishes, done) else { return Ok(Some(place.promised)) };
    let settings = shop::usecase::settings(tx)?;
    let open = bay_hours(tx, place.bay_at(done), later.from())?;
    let margin = Interval::new(place.finishes, place.promised).map_or(0, |margin| open.clip(margin).total());
    let margin = Wait { minutes: Minutes::new(u32::try_from(margin).unwrap_or(u32::MAX)), when: WaitWhen::Open };
    let ready = margin.over(&open, done);
    let promised = ready.and_then(|ready| settings.terms.promise_step.promise(&settings.zone, &open, ready));
    Ok(promised.map(|promised| promised.max(place.promised)))
}

/// The promise if the work ends at another time: a promise never gets earlier.
pub(super) fn rest(before: &Place, visit: &Visit) -> Minutes {
    between(visit.finish, before.promised)
}

/// Minutes from one time to a later one; none if it isn't later.
pub(super) fn between(from: Minute, to: Minute) -> Minutes {
    Interval::new(from, to).map_or(Minutes::ZERO, Interval::length)
}
