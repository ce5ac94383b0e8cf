//! Finish of some work with each cause of a delay taken away, for pictures beside the reasons.
//!
//! Each figure is the answer of the same exact search in a shop that differs in one thing only: its bays are empty, or
//! nobody is busy. Since less in the way never makes the best finish later, no figure is later than the finish as it is,
//! and the difference is what that cause costs. Two causes may hide each other: taking away either alone may then gain
//! nothing, which is why the figure without any booking is there too.

use alloc::vec::Vec;

use super::stays::{Moving, StepOrder, Visits};
use super::{Bay, Diary, Horizon, Technician, Unplannable};
use crate::time::{IntervalSet, Minute};
use crate::word::words;

words! {
    /// The one thing in which the shop of a figure differs from the shop as it is.
    pub enum Relief("relief") {
        /// Nothing differs.
        AsIs = "AS_IS" "as it is",
        /// No bay has another car.
        BaysEmpty = "BAYS_EMPTY" "with empty bays",
        /// Nobody has other work.
        EveryoneFree = "EVERYONE_FREE" "with nobody busy",
        /// Neither bays nor people have anything else booked.
        NothingBooked = "NOTHING_BOOKED" "with nothing else booked",
        /// Everybody is at work whenever a bay is open.
        EveryoneIn = "EVERYONE_IN" "with everyone at work",
        /// There are no closures, only the usual hours.
        NoClosures = "NO_CLOSURES" "without closures",
        /// The car has no other booking.
        CarFree = "CAR_FREE" "without the car's other bookings",
        /// The car may change bays more often.
        WithMoves = "WITH_MOVES" "with a move to another bay",
        /// The work lacks one of its services.
        Without = "WITHOUT" "without a service",
    }
}

/// Finish with one cause taken away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Figure {
    /// The cause that is taken away.
    pub relief: Relief,
    /// Time when the work would be done; `None` if even so it would not be done in the period that is known.
    pub finish: Option<Minute>,
}

/// A shop's time, with the causes that can be taken away one by one.
#[derive(Debug, Clone, Copy)]
pub struct Causes<'a> {
    /// The period for which the shop's time is known.
    pub horizon: Horizon,
    /// Its bays with the time that other cars take.
    pub bays: &'a [Bay],
    /// Its people with their other work, and the pairs of them if the work takes two.
    pub technicians: &'a [Technician],
    /// Time for which the car is in any bay for other bookings.
    pub car: &'a IntervalSet,
    /// The bays as if there were no closure.
    pub unclosed: &'a [Bay],
    /// Moves that the car may make.
    pub moving: Moving,
    /// Moves that it could make if the shop allowed them.
    pub moves: Moving,
}

impl Causes<'_> {
    /// The figures for work in any of these orders. `finish` is the question that was answered with no: the first time
    /// for the work, or its finish at one place. Causes that the shop does not have are left out.
    ///
    /// # Errors
    /// If bays or technicians share a code.
    pub fn figures(
        &self,
        orders: &[StepOrder],
        finish: impl Fn(&Visits<'_>) -> Option<Minute>,
    ) -> Result<Vec<Figure>, Unplannable> {
        let ask = |bays: &[Bay], technicians: &[Technician], moving| -> Result<Option<Minute>, Unplannable> {
            Ok(finish(&Diary::new(self.horizon, bays, technicians)?.visits(orders, moving)))
        };
        let held = |bay: &Bay| bay.held.union(self.car);
        let bays = self.bays_with(|bay| Bay { held: held(bay), ..bay.clone() });
        let empty = self.bays_with(|bay| Bay { held: self.car.clone(), ..bay.clone() });
        let idle = self.people_with(|person| Technician { busy: IntervalSet::EMPTY, ..person.clone() });
        let whole = IntervalSet::from(self.horizon.span());
        let always = self.people_with(|person| Technician { working: whole.clone(), ..person.clone() });
        let mut figures = Vec::new();
        let mut tell = |relief, finish| figures.push(Figure { relief, finish });
        tell(Relief::AsIs, ask(&bays, self.technicians, self.moving)?);
        tell(Relief::BaysEmpty, ask(&empty, self.technicians, self.moving)?);
        tell(Relief::EveryoneFree, ask(&bays, &idle, self.moving)?);
        tell(Relief::NothingBooked, ask(&empty, &idle, self.moving)?);
        tell(Relief::EveryoneIn, ask(&bays, &always, self.moving)?);
        let usual = self.bays_with(|bay| Bay { open: self.usual(bay), held: held(bay), ..bay.clone() });
        if usual != bays {
            tell(Relief::NoClosures, ask(&usual, self.technicians, self.moving)?);
        }
        if !self.car.is_empty() {
            tell(Relief::CarFree, ask(self.bays, self.technicians, self.moving)?);
        }
        if self.moves.max_stays > self.moving.max_stays {
            tell(Relief::WithMoves, ask(&bays, self.technicians, self.moves)?);
        }
        Ok(figures)
    }

    /// Time when the bay would be open without closures. Hours that it has beyond its usual ones stay.
    fn usual(&self, bay: &Bay) -> IntervalSet {
        let usual = self.unclosed.iter().find(|one| one.code == bay.code);
        usual.map_or_else(|| bay.open.clone(), |usual| usual.open.union(&bay.open))
    }

    fn bays_with(&self, change: impl Fn(&Bay) -> Bay) -> Vec<Bay> {
        self.bays.iter().map(change).collect()
    }

    fn people_with(&self, change: impl Fn(&Technician) -> Technician) -> Vec<Technician> {
        self.technicians.iter().map(change).collect()
    }
}

#[cfg(test)]
mod tests {
    use alloc::collections::BTreeSet;
    use alloc::vec;

    use super::*;
    use crate::schedule::stays::StayStep;
    use crate::schedule::{Holds, Step, Wait, Work};
    use crate::time::{Interval, Minutes};

    fn set(pairs: &[(i64, i64)]) -> IntervalSet {
        pairs.iter().filter_map(|&(from, to)| Interval::new(Minute::new(from), Minute::new(to))).collect()
    }

    #[test]
    fn each_figure_lacks_one_cause_and_those_that_hide_each_other_are_taken_away_together() {
        let step = Step {
            code: "wash".into(),
            minutes: Minutes::new(60),
            skills: BTreeSet::new(),
            work: Work::Whole,
            wait: Wait::NONE,
        };
        let step = StayStep { step, features: BTreeSet::new(), holds: Holds::Car };
        let orders = [StepOrder::new(&BTreeSet::new(), vec![step], Minutes::ZERO).unwrap()];
        let bay = |open, held| Bay { code: "B".into(), features: BTreeSet::new(), open: set(open), held: set(held) };
        let (bays, unclosed) = ([bay(&[(0, 600)], &[(0, 200)])], [bay(&[(0, 600)], &[])]);
        let person = Technician {
            code: "T".into(),
            skills: BTreeSet::new(),
            working: set(&[(0, 100), (150, 600)]),
            busy: set(&[(0, 150), (200, 300)]),
        };
        let causes = Causes {
            horizon: Horizon::new(Minute::new(0), Minute::new(600), Minutes::new(10)).unwrap(),
            bays: &bays,
            technicians: &[person],
            car: &set(&[(0, 400)]),
            unclosed: &unclosed,
            moving: Moving::OFF,
            moves: Moving::USUAL,
        };
        let found = |causes: Causes<'_>| -> Vec<(Relief, Option<i64>)> {
            let first = |visits: &Visits<'_>| visits.earliest(Minute::new(0)).map(|visit| visit.finish);
            let figures = causes.figures(&orders, first).unwrap();
            figures.iter().map(|one| (one.relief, one.finish.map(Minute::get))).collect()
        };
        // The car itself is elsewhere until 400, and no other cause matters before that.
        let all = found(causes);
        assert_eq!(all.iter().find(|(relief, _)| *relief == Relief::CarFree), Some(&(Relief::CarFree, Some(360))));
        assert!(all.iter().all(|(relief, finish)| *relief == Relief::CarFree || *finish == Some(460)), "{all:?}");
        assert!(all.iter().any(|(relief, _)| *relief == Relief::WithMoves));
        // Bay and person hide each other: only without both is it done within the first hour.
        let without_car = Causes { car: &IntervalSet::EMPTY, moves: Moving::OFF, ..causes };
        let expected = [
            (Relief::AsIs, Some(360)),
            (Relief::BaysEmpty, Some(360)),
            (Relief::EveryoneFree, Some(260)),
            (Relief::NothingBooked, Some(60)),
            (Relief::EveryoneIn, Some(360)),
        ];
        assert_eq!(found(without_car), expected);
    }
}
