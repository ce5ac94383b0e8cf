//! Assignment of people to steps, once bay, start and finish are known.

use alloc::vec::Vec;

use super::Search;
use crate::schedule::diary::BayTime;
use crate::schedule::progress::Progress;
use crate::schedule::{PlacedStep, Placement, Step};
use crate::time::{Minute, Minutes};

impl Search<'_> {
    /// The placement in `bay` from `start` that ends at `finish`, which a forward pass has found possible.
    pub(super) fn place(&self, bay: &BayTime, start: Minute, finish: Minute) -> Option<Placement> {
        let mut done = Progress::new(start);
        let mut steps = Vec::with_capacity(self.plan.steps().len());
        for (place, step) in self.plan.steps().iter().enumerate() {
            let placed = if step.minutes == Minutes::ZERO {
                let end = self.begin(&done, place);
                let passed = self.wait(bay.hours, step, end, finish)?;
                done.note(self.plan, place, end, passed);
                PlacedStep { code: step.code.clone(), technician: None, pieces: Vec::new() }
            } else {
                let (placed, after) = self.first_by_code(bay.hours, place, step, &done, finish)?;
                done = after;
                placed
            };
            steps.push(placed);
        }
        Some(Placement { bay: bay.code.clone(), start, finish, steps })
    }

    /// Places the step with the technician of the smallest code for whom the rest still ends at `finish`, and returns
    /// the progress after it. That technician need not be the one who finishes first.
    fn first_by_code(
        &self,
        hours: usize,
        place: usize,
        step: &Step,
        done: &Progress,
        finish: Minute,
    ) -> Option<(PlacedStep, Progress)> {
        let begin = self.begin(done, place);
        self.able.get(place)?.iter().find_map(|person| {
            let end = self.end_by(hours, *person, step, begin, finish, |_| ())?;
            let passed = self.wait(hours, step, end, finish)?;
            let mut after = done.clone();
            after.note(self.plan, place, end, passed);
            self.finish(hours, place + 1, after.clone(), finish)?;
            let mut pieces = Vec::new();
            self.end_by(hours, *person, step, begin, finish, |piece| pieces.push(piece))?;
            let technician = self.diary.people.get(*person).map(|person| person.code.clone());
            Some((PlacedStep { code: step.code.clone(), technician, pieces }, after))
        })
    }
}
