//! What the customer is promised: the diary's finish, and what the work may take longer than its budgets.
//!
//! The diary is kept by budgets, since a bay that is kept free for what rarely happens earns nothing, and since its answers
//! are exact for the steps they are asked of. The promise is told with the margin of the plan's outlook, which runs while
//! the bay is open: it is work. It holds no bay and no person.

use baywright_domain::schedule::Placement;
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};

use super::{AHEAD_DAYS, Place};
use crate::plan::usecase::Plan;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::usecase::timetable;

/// Within so many days nearly every margin has run off; a longer look is dearer.
const NEAR_DAYS: u32 = 14;

/// Minutes from a placement's finish to what is promised for it. `open` is what is known already of its bay's open time;
/// where that doesn't suffice, or is empty, it is read.
pub(super) fn margin(tx: &mut Tx<'_>, plan: &Plan, placement: &Placement, open: &IntervalSet) -> Done<Minutes> {
    let Some(ahead) = plan.outlook()? else { return Ok(Minutes::ZERO) };
    let finish = placement.finish;
    if let Some(promised) = ahead.promise(finish, open) {
        return Ok(between(finish, promised));
    }
    for days in [NEAR_DAYS, AHEAD_DAYS] {
        let table = timetable(tx, finish, finish + Minutes::new(days * 1440))?;
        let bay = table.bays.into_iter().find(|bay| bay.code == placement.bay);
        let open = bay.map_or(IntervalSet::EMPTY, |bay| bay.open);
        if let Some(promised) = ahead.promise(finish, &open) {
            return Ok(between(finish, promised));
        }
    }
    Ok(ahead.margin())
}

/// What is left of a promise where the work ends at another moment: nothing that was promised gets sooner.
pub(super) fn rest(before: &Place, placement: &Placement) -> Minutes {
    between(placement.finish, before.promised)
}

/// Minutes from one moment to a later one; none where it isn't later.
fn between(from: Minute, to: Minute) -> Minutes {
    Interval::new(from, to).map_or(Minutes::ZERO, Interval::length)
}
