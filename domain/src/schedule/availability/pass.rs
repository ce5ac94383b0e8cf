//! The forward pass: each step as early as anyone can do it.

use super::Search;
use crate::schedule::{Step, window};
use crate::time::{Interval, IntervalSet, Minute, Minutes};

impl Search<'_> {
    /// The earliest finish of the steps from the `first` one on, if that one may begin at `begin`, in a bay with this
    /// open time; `None` if it is after `limit`. It never falls as `begin` rises.
    pub(super) fn finish(&self, hours: usize, first: usize, begin: Minute, limit: Minute) -> Option<Minute> {
        let mut at = begin;
        for (place, step) in self.plan.steps().iter().enumerate().skip(first) {
            if step.minutes > Minutes::ZERO {
                at = self.soonest_end(hours, place, step, at, limit)?;
            }
            at = self.wait(hours, step, at, limit)?;
        }
        Some(at)
    }

    /// Time when one technician, beginning at `begin`, ends a step; `None` if that is after `limit`.
    pub(super) fn end_by(
        &self,
        hours: usize,
        person: usize,
        step: &Step,
        begin: Minute,
        limit: Minute,
        piece: impl FnMut(Interval),
    ) -> Option<Minute> {
        let windows = self.attended.get(hours * self.diary.people.len() + person)?;
        let windows = window::rest(windows.as_slice(), begin).iter().copied();
        window::work(windows, step.into(), begin, limit, piece)
    }

    /// Time when the wait after a step that ended at `end` has passed; `None` if that is after `limit`.
    pub(super) fn wait(&self, hours: usize, step: &Step, end: Minute, limit: Minute) -> Option<Minute> {
        let open = self.diary.hours.get(hours).map_or(&[][..], IntervalSet::as_slice);
        window::wait(open, step.wait, end).filter(|passed| *passed <= limit)
    }

    /// Time when the first of the able technicians ends a step. Nobody ends it earlier than without interruption from
    /// `begin` on, so the search stops at one who does.
    fn soonest_end(&self, hours: usize, place: usize, step: &Step, begin: Minute, limit: Minute) -> Option<Minute> {
        let mut soonest = None;
        for person in self.able.get(place)? {
            let sooner = self.end_by(hours, *person, step, begin, soonest.unwrap_or(limit), |_| ());
            soonest = sooner.or(soonest);
            if sooner == Some(begin + step.minutes) {
                break;
            }
        }
        soonest
    }
}
