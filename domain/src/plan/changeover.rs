//! Minutes that it costs to change from one step to the next.

use crate::menu::{ChangeoverRates, Cleanliness, Setup};
use crate::time::Minutes;

/// Minutes between two consecutive steps: the sum of what has to change. `None` before the first step and after the
/// last one stands for the empty bay: no tool out, nothing masked, and any place to begin or end at.
pub fn changeover(from: Option<&Setup>, to: Option<&Setup>, rates: &ChangeoverRates) -> Minutes {
    let mut lost = Minutes::ZERO;
    if let (Some(from), Some(to)) = (from, to) {
        if from.area != to.area {
            lost = lost + rates.wet_dry;
        }
        if from.side != to.side {
            lost = lost + rates.outside_inside;
        }
        if let (Some(old), Some(new)) = (&from.zone, &to.zone)
            && old != new
        {
            lost = lost + rates.zone;
        }
        if (from.cleanliness, to.cleanliness) == (Cleanliness::Dirty, Cleanliness::Clean) {
            lost = lost + rates.clean_up;
        }
    }
    let (old, new) = (from.and_then(|setup| setup.tool.as_ref()), to.and_then(|setup| setup.tool.as_ref()));
    if old != new {
        if old.is_some() {
            lost = lost + rates.tool_away;
        }
        if new.is_some() {
            lost = lost + rates.tool_out;
        }
    }
    match (from.is_some_and(|setup| setup.masked), to.is_some_and(|setup| setup.masked)) {
        (false, true) => lost + rates.mask_on,
        (true, false) => lost + rates.mask_off,
        _ => lost,
    }
}
