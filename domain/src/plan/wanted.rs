//! A place that somebody requests, and the reason why the work doesn't fit there.

use alloc::string::String;
use core::slice;

use super::scheduled::texts;
use super::{Hands, PlannedStep, WorkPlan, features};
use crate::schedule::stays::{Moving, Visit};
use crate::schedule::{Bay, Diary, Holder, Horizon, Obstacle, Taken, Technician, Unplannable};
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
    /// Moves that the car may make.
    pub moving: Moving,
    /// Code of the bay that is asked for: of the first one, if the car changes bays.
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
        let (plan, orders) = (self.work.to_schedule()?, self.work.step_orders()?);
        let empty = Diary::new(self.horizon, self.bays, self.technicians)?;
        let (search, visits) = (empty.search(&plan), empty.visits(&orders, self.moving));
        let Some(bay) = self.bays.iter().find(|bay| bay.code == self.bay) else { return Ok(Obstacle::NoBay) };
        if let Some(ideal) = visits.at(self.bay, self.start) {
            return Ok(self.taken(&ideal));
        }
        // A car that changes bays needs in the first one what its first step needs.
        let moves = self.moving.allows_moves() && visits.have_bays();
        let begun = self.work.steps.first().filter(|_| moves).map(slice::from_ref);
        let needed = texts(&features(begun.unwrap_or(&self.work.steps)));
        if let Some(feature) = needed.difference(&bay.features).next() {
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

    /// The booking that has the time that `ideal` needs, the visit with nothing booked.
    fn taken(&self, ideal: &Visit) -> Obstacle {
        let Some(whole) = Interval::new(ideal.start, ideal.finish) else { return Obstacle::PeopleBusy };
        if let Some(elsewhere) = self.car.iter().find(|taken| taken.when.overlaps(whole)) {
            return Obstacle::CarElsewhere { booking: elsewhere.booking.clone(), when: elsewhere.when };
        }
        let mut stays = ideal.stays.iter();
        let taken = stays.find_map(|stay| Taken::first_of(self.held, &stay.bay, Interval::new(stay.from, stay.to)?));
        match taken {
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
