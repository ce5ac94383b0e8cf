//! The forward pass: each step as early as anyone can do it.

use super::Search;
use crate::schedule::progress::Progress;
use crate::schedule::{Step, window};
use crate::time::{Interval, IntervalSet, Minute, Minutes};

impl Search<'_> {
    /// The earliest finish of all steps, if the first may begin at `start`, in a bay with this open time; `None` if it
    /// is after `limit`. It never falls as `start` rises.
    pub(super) fn finish_from(&self, hours: usize, start: Minute, limit: Minute) -> Option<Minute> {
        self.finish(hours, 0, Progress::new(start), limit)
    }

    /// The earliest finish if the steps before the `first` one are done and ended as `done` says; `None` if it is after
    /// `limit`. It never falls as one of the steps before ends later.
    pub(super) fn finish(&self, hours: usize, first: usize, mut done: Progress, limit: Minute) -> Option<Minute> {
        for (place, step) in self.plan.steps().iter().enumerate().skip(first) {
            let mut end = self.begin(&done, place);
            if step.minutes > Minutes::ZERO {
                end = self.soonest_end(hours, place, step, end, limit)?;
            }
            let passed = self.wait(hours, step, end, limit)?;
            done.note(self.plan, place, end, passed);
        }
        Some(done.finish())
    }

    /// Time when the step at this index may begin after the progress `done`.
    pub(super) fn begin(&self, done: &Progress, place: usize) -> Minute {
        let begin = done.begin(self.plan, place);
        self.not_before.get(place).map_or(begin, |moment| begin.max(*moment))
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
