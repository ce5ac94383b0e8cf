//! Computes the end of one step or one wait within the time that allows it.

use super::{Step, Wait, WaitWhen};
use crate::time::{Interval, Minute, Minutes};

/// The attended part of a step: its duration, and the shortest piece that may come before another one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Labour {
    pub(super) minutes: Minutes,
    pub(super) smallest: Minutes,
}

impl From<&Step> for Labour {
    fn from(step: &Step) -> Self {
        Self { minutes: step.minutes, smallest: step.smallest_piece() }
    }
}

/// Does the work of a step in `windows` (when one technician may attend to it, none ended by `begin`) from `begin` on,
/// and passes each piece to `piece`. Returns when it is done, or `None` if that is after `limit` or never.
///
/// All of a window is used if that finishes the step or makes a piece that is long enough; else it is skipped. This
/// gives the earliest end: less remaining work never needs a longer window.
pub(super) fn work(
    windows: impl IntoIterator<Item = Interval>,
    labour: Labour,
    begin: Minute,
    limit: Minute,
    mut piece: impl FnMut(Interval),
) -> Option<Minute> {
    let mut left = labour.minutes;
    for window in windows {
        let from = window.from().max(begin);
        let end = from + left;
        if end > limit {
            return None;
        }
        if end <= window.to() {
            piece(Interval::new(from, end)?);
            return Some(end);
        }
        let all = Interval::new(from, window.to())?;
        if all.length() >= labour.smallest {
            piece(all);
            left = Minutes::new(left.get() - all.length().get());
        }
    }
    None
}

/// The windows that have not ended by `begin`.
pub(super) fn rest(windows: &[Interval], begin: Minute) -> &[Interval] {
    windows.get(windows.partition_point(|window| window.to() <= begin)..).unwrap_or_default()
}

/// Time when a wait that begins at `begin` has passed; `None` if the bay's open time does not suffice for it.
pub(super) fn wait(open: &[Interval], wait: Wait, begin: Minute) -> Option<Minute> {
    if wait.when == WaitWhen::Any || wait.minutes == Minutes::ZERO {
        return Some(begin + wait.minutes);
    }
    let mut left = wait.minutes;
    for hours in rest(open, begin) {
        let from = hours.from().max(begin);
        let end = from + left;
        if end <= hours.to() {
            return Some(end);
        }
        left = Minutes::new(left.get() - Interval::new(from, hours.to())?.length().get());
    }
    None
}
