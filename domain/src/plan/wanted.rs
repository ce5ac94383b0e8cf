//! A place that somebody requests, and the reason why the work doesn't fit there.

use alloc::string::String;

use super::{Hands, PlannedStep, WorkPlan};
use crate::schedule::{Bay, Diary, Holder, Horizon, Obstacle, Placement, Taken, Technician, Unplannable};
use crate::time::{Interval, Minute};

/// A requested bay and start, with the shop's time.
#[derive(Debug, Clone, Copy)]
pub struct PlaceWanted<'a> {
    /// The period for which the shop's time is known.
    pub horizon: Horizon,
    /// Its bays, as if nothing were booked.
    pub bays: &'a [Bay],
    /// Its people as if nothing were booked, with the pairs of them where the work takes two.
    pub technicians: &'a [Technician],
    /// Time that bookings take of the bays, for each bay earliest first.
    pub held: &'a [Taken],
    /// Time that other bookings of the same car take of any bay, earliest first.
    pub car: &'a [Taken],
    /// Work to be done.
    pub work: &'a WorkPlan,
    /// Code of the bay that is asked for.
    pub bay: &'a str,
    /// Requested start.
    pub start: Minute,
}

impl PlaceWanted<'_> {
    /// Reason why the work doesn't fit there, if it doesn't: the place is taken by others, or would not do with nothing
    /// booked either.
    ///
    /// # Errors
    /// [`Unplannable`] if bays or people share a code, or no step takes time.
    pub fn why_not(&self) -> Result<Obstacle, Unplannable> {
        let plan = self.work.to_schedule()?;
        let empty = Diary::new(self.horizon, self.bays, self.technicians)?;
        let search = empty.search(&plan);
        let Some(bay) = self.bays.iter().find(|bay| bay.code == self.bay) else { return Ok(Obstacle::NoBay) };
        if let Some(ideal) = search.at(self.bay, self.start) {
            return Ok(self.taken(&ideal));
        }
        if let Some(feature) = plan.features().difference(&bay.features).next() {
            return Ok(Obstacle::Feature { feature: feature.clone() });
        }
        if let Some((_, step)) = self.work.steps.iter().enumerate().find(|(at, _)| !search.able(*at)) {
            return Ok(step.nobody_able());
        }
        if !self.horizon.is_slot(self.start) {
            return Ok(Obstacle::OffSlot { slot: self.horizon.slot() });
        }
        if !bay.open.contains(self.start) {
            return Ok(Obstacle::Closed);
        }
        Ok(Obstacle::NeverEnds { days: self.horizon.span().length().get() / 1440 })
    }

    /// The booking that has the time that `ideal` needs, the placement with nothing booked.
    fn taken(&self, ideal: &Placement) -> Obstacle {
        let Some(stay) = Interval::new(ideal.start, ideal.finish) else { return Obstacle::PeopleBusy };
        if let Some(elsewhere) = self.car.iter().find(|taken| taken.when.overlaps(stay)) {
            return Obstacle::CarElsewhere { booking: elsewhere.booking.clone(), when: elsewhere.when };
        }
        match Taken::first_of(self.held, self.bay, stay) {
            Some(taken) => Obstacle::BayTaken(Holder::Booking(taken.booking.clone(), taken.when)),
            None => Obstacle::PeopleBusy,
        }
    }
}

impl PlannedStep {
    /// Reason that nobody, or no two people, can do this step.
    pub fn nobody_able(&self) -> Obstacle {
        let skills = self.skills.iter().map(|code| String::from(code.as_str())).collect();
        Obstacle::NobodyAble { step: self.name.clone(), skills, two: self.hands == Hands::Two }
    }
}
