//! What the customer is promised: the diary's finish, and what the work may take longer than its budgets.
//!
//! The diary is kept by budgets, since a bay that is kept free for what rarely happens earns nothing, and since its answers
//! are exact for the steps they are asked of. The promise is told with the margin of the plan's outlook, which runs while
//! the bay is open: it is work. It holds no bay and no person. It is rounded up to a full step of the clock at which the shop
//! is open, since nobody arranges to fetch a car at 15:59.
//!
//! **Which margin.** The plan's quantile (80 %, a setting of the shop) minus the sum of its budgets. It runs after the
//! finish of the placement. Budgets scaled up in the diary would keep bays free for what four jobs of five never need,
//! and would add up a margin for each step although the whole needs far less.
//!
//! **What has it.** Only what the customer reads: `promised` beside `finish`, the mails and their calendar file. The
//! search is asked and answers as before, and proposals are due by the diary's finish. The promise is stored with the
//! place, so that new opening hours don't change it. An overrun changes it only if the car will be ready later than its
//! customer was told.
//!
//! **What it does not cover.** It says how long work takes. Cars that follow each other closely, and an overrun before
//! a last cure, can still break it; and steps count as independent although one dirty car makes all of them slower.

use baywright_domain::learning::Outlook;
use baywright_domain::schedule::Placement;
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};

use super::timetable::timetable;
use super::{AHEAD_DAYS, Place};
use crate::plan::usecase::Plan;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;

/// Days that are searched first: nearly every margin has run off within them, and a longer search costs more.
const NEAR_DAYS: u32 = 14;

/// The moment that is promised for work that the diary has until `finish`, in a bay with this open time: what the work may
/// take longer, rounded up to a time that people say. `None` if the open time that is known ends before.
pub(super) fn moment(
    settings: &Settings,
    outlook: Option<&Outlook>,
    finish: Minute,
    open: &IntervalSet,
) -> Option<Minute> {
    let done = outlook.map_or(Some(finish), |ahead| ahead.promise(finish, open))?;
    settings.terms.promise_step.promise(&settings.zone, open, done)
}

/// Minutes from a placement's finish to what is promised for it. `open` is what is known already of its bay's open time;
/// if that isn't enough, or is empty, it is read.
pub(super) fn margin(
    tx: &mut Tx<'_>,
    settings: &Settings,
    plan: &Plan,
    placement: &Placement,
    open: &IntervalSet,
) -> Done<Minutes> {
    margin_of(tx, settings, plan.outlook()?.as_ref(), placement, open)
}

fn margin_of(
    tx: &mut Tx<'_>,
    settings: &Settings,
    outlook: Option<&Outlook>,
    placement: &Placement,
    open: &IntervalSet,
) -> Done<Minutes> {
    let finish = placement.finish;
    if let Some(promised) = moment(settings, outlook, finish, open) {
        return Ok(between(finish, promised));
    }
    for days in [NEAR_DAYS, AHEAD_DAYS] {
        let table = timetable(tx, finish, finish + Minutes::new(days * 1440))?;
        let bay = table.bays.into_iter().find(|bay| bay.code == placement.bay);
        let open = bay.map_or(IntervalSet::EMPTY, |bay| bay.open);
        if let Some(promised) = moment(settings, outlook, finish, &open) {
            return Ok(between(finish, promised));
        }
    }
    Ok(outlook.map_or(Minutes::ZERO, Outlook::margin))
}

/// The margin of a car that stays longer, until a moment that a person has named: what was promised holds if it is late
/// enough, else that moment is promised, rounded up.
pub(super) fn longer(tx: &mut Tx<'_>, settings: &Settings, before: &Place, placement: &Placement) -> Done<Minutes> {
    if placement.finish <= before.promised {
        return Ok(rest(before, placement));
    }
    margin_of(tx, settings, None, placement, &IntervalSet::EMPTY)
}

/// What is left of a promise if the work ends at another moment: nothing that was promised gets sooner.
pub(super) fn rest(before: &Place, placement: &Placement) -> Minutes {
    between(placement.finish, before.promised)
}

/// Minutes from one moment to a later one; none if it isn't later.
fn between(from: Minute, to: Minute) -> Minutes {
    Interval::new(from, to).map_or(Minutes::ZERO, Interval::length)
}
