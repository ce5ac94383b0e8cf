//! Cars that stay in their bay longer than planned.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use super::BookingState;
use crate::refusal::{Fault, Kind, Refusal};
use crate::schedule::stays::Visit;
use crate::schedule::{Bay, Technician};
use crate::time::{Interval, IntervalSet, Minute};

/// A car that stays in its bay longer than booked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LongerStay {
    /// From the booked finish to the new one.
    rest: Interval,
    now: Minute,
}

/// The bay is not free for the rest of an overrunning car's stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BayHeld;

/// The obstacle to the longer stay of an overrunning car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum InTheWay {
    /// Another car that overruns too.
    Overrun,
    /// The booking of a car that has come already.
    Here {
        /// Name of the car, such as make and model.
        car: String,
    },
    /// The booking of a car that is still to come.
    ToCome {
        /// Name of the car, such as make and model.
        car: String,
    },
}

/// Reason why an overrun can't be noted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum OverrunRefusal {
    /// The car is not in its bay.
    #[error("Only a car that is in its bay can overrun. Move this booking instead.")]
    NotInBay,
    /// The finish is not later than the booked one and now, or beyond the searched days.
    #[error("Give a finish that is later than the agreed one and within the days of the rescheduling.")]
    NotLater,
    /// Others have the bay then.
    #[error("{}", in_the_way(.0))]
    BayTaken(InTheWay),
}

fn in_the_way(other: &InTheWay) -> String {
    match other {
        InTheWay::Overrun => {
            "Another car that overruns has the bay then. Give one of them an earlier finish.".to_string()
        }
        InTheWay::Here { car } => format!(
            "The bay is also booked for {car}, which is already here. Hand that car over first, or give an earlier finish."
        ),
        InTheWay::ToCome { car } => format!(
            "Move or cancel the booking of {car} first: it has the bay then, and a rescheduling can't move it. Its \
             time is only held, or has begun, its car has another booking in these days, or it ends after the days of \
             the rescheduling."
        ),
    }
}

impl Refusal for OverrunRefusal {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "invalid-value"
    }

    fn faults(&self) -> Vec<Fault> {
        let word = match self {
            Self::NotInBay => "not_in_bay",
            Self::NotLater => "not_later",
            Self::BayTaken(_) => "bay_taken",
        };
        alloc::vec![Fault { pointer: "/finish".to_string(), code: word, detail: self.to_string() }]
    }
}

impl LongerStay {
    /// Longer stay of a booking in state `state`. It is booked until `booked`, and its work will be done at `finish`.
    /// The shop's hours are known until `known`.
    ///
    /// # Errors
    /// [`OverrunRefusal`] if the car is not in its bay, or the finish is in the past, not later than booked or too far
    /// ahead.
    pub fn new(
        state: BookingState,
        booked: Minute,
        finish: Minute,
        now: Minute,
        known: Minute,
    ) -> Result<Self, OverrunRefusal> {
        if state != BookingState::InBay {
            return Err(OverrunRefusal::NotInBay);
        }
        if finish <= now || finish > known {
            return Err(OverrunRefusal::NotLater);
        }
        let rest = Interval::new(booked, finish).ok_or(OverrunRefusal::NotLater)?;
        Ok(Self { rest, now })
    }

    /// The rest of the stay: from the booked finish to the new one.
    pub const fn rest(self) -> Interval {
        self.rest
    }

    /// Books the rest of the stay in the last bay, and the time of the people who do the last step: all of their working
    /// time until it is done. If two people do that step, both are booked in the visit while both are at work and free;
    /// each is busy for as long as they are at work, since a person whose colleague is away or elsewhere continues alone.
    ///
    /// # Errors
    /// [`BayHeld`] if others have the bay for some of the rest; then nothing is booked.
    pub fn book(self, bays: &mut [Bay], people: &mut [Technician], visit: &mut Visit) -> Result<(), BayHeld> {
        let stay = IntervalSet::from(self.rest);
        let mut open = IntervalSet::EMPTY;
        if let Some(bay) = bays.iter_mut().find(|bay| bay.code == visit.last_bay()) {
            if !bay.held.intersection(&stay).is_empty() {
                return Err(BayHeld);
            }
            bay.held = bay.held.union(&stay);
            open = bay.open.clone();
        }
        visit.finish = self.rest.to();
        if let Some(stay) = visit.stays.last_mut() {
            stay.to = self.rest.to();
        }
        let Some(last) = visit.steps.iter_mut().rfind(|step| !step.pieces.is_empty()) else { return Ok(()) };
        let begun = last.pieces.last().map_or(self.now, |piece| piece.to().max(self.now));
        let rest: IntervalSet = Interval::new(begun, self.rest.to()).into_iter().collect();
        let at_work = rest.intersection(&open);
        let who = [last.leads().map(String::from), last.helps().map(String::from)];
        let is_at_it = |person: &Technician| who.iter().flatten().any(|code| *code == person.code);
        let mut free = at_work.clone();
        for person in people.iter_mut().filter(|person| is_at_it(person)) {
            free = free.intersection(&person.working).difference(&person.busy);
            person.busy = person.busy.union(&at_work.intersection(&person.working));
        }
        last.pieces.extend(free.iter().copied());
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use alloc::collections::BTreeSet;
    use alloc::vec;

    use super::*;
    use crate::schedule::{PlacedStep, Placement};

    fn set(pairs: &[(i64, i64)]) -> IntervalSet {
        pairs.iter().filter_map(|&(from, to)| Interval::new(Minute::new(from), Minute::new(to))).collect()
    }

    fn overrun(finish: i64, now: i64) -> Result<LongerStay, OverrunRefusal> {
        let at = Minute::new;
        LongerStay::new(BookingState::InBay, at(600), at(finish), at(now), at(1440))
    }

    fn bay(held: &[(i64, i64)]) -> Bay {
        Bay { code: "B".into(), features: BTreeSet::new(), open: set(&[(480, 1080)]), held: set(held) }
    }

    fn person(code: &str, busy: &[(i64, i64)]) -> Technician {
        Technician { code: code.into(), skills: BTreeSet::new(), working: set(&[(480, 1020)]), busy: set(busy) }
    }

    fn place(technician: &str) -> Visit {
        let step = |code: &str, technician: Option<&str>, pieces: &[(i64, i64)]| PlacedStep {
            code: code.into(),
            technician: technician.map(Into::into),
            pieces: set(pieces).iter().copied().collect(),
        };
        let placement = Placement {
            bay: "B".into(),
            start: Minute::new(480),
            finish: Minute::new(600),
            steps: vec![step("polish", Some(technician), &[(480, 600)]), step("cured", None, &[])],
        };
        Visit::from(placement)
    }

    #[test]
    fn only_a_car_in_its_bay_stays_longer_and_only_until_later() {
        let at = Minute::new;
        let booked = LongerStay::new(BookingState::Booked, at(600), at(700), at(500), at(1440));
        assert_eq!(booked, Err(OverrunRefusal::NotInBay));
        for (finish, now) in [(600, 500), (700, 700), (1441, 500)] {
            assert_eq!(overrun(finish, now), Err(OverrunRefusal::NotLater), "{finish}");
        }
        let longer = overrun(700, 610).unwrap();
        assert_eq!((longer.rest().from(), longer.rest().to()), (at(600), at(700)));
        let fault = &OverrunRefusal::NotLater.faults()[0];
        assert_eq!((fault.pointer.as_str(), fault.code), ("/finish", "not_later"));
    }

    #[test]
    fn the_bay_and_whoever_does_the_last_step_are_booked_until_the_new_finish() {
        let (mut bays, mut people, mut visit) = ([bay(&[])], [person("T1", &[]), person("T2", &[])], place("T1"));
        overrun(1100, 610).unwrap().book(&mut bays, &mut people, &mut visit).unwrap();
        assert_eq!(bays[0].held, set(&[(600, 1100)]));
        // From now on, while the person is at work and the bay is open.
        assert_eq!((&people[0].busy, &people[1].busy), (&set(&[(610, 1020)]), &IntervalSet::EMPTY));
        let pieces: IntervalSet = visit.steps[0].pieces.iter().copied().collect();
        assert_eq!((visit.finish, pieces), (Minute::new(1100), set(&[(480, 600), (610, 1020)])));
        assert_eq!(visit.stays[0].to, visit.finish);
    }

    #[test]
    fn of_two_each_is_busy_as_long_as_they_are_in_and_both_are_booked_while_both_are_free() {
        let two = PlacedStep::technician_of("T1", Some("T2"));
        let mut people = [person("T1", &[]), person("T2", &[(700, 800)])];
        let (mut bays, mut visit) = ([bay(&[])], place(&two));
        overrun(900, 600).unwrap().book(&mut bays, &mut people, &mut visit).unwrap();
        assert_eq!((&people[0].busy, &people[1].busy), (&set(&[(600, 900)]), &set(&[(600, 900)])));
        let pieces: IntervalSet = visit.steps[0].pieces.iter().copied().collect();
        assert_eq!(pieces, set(&[(480, 700), (800, 900)]));
    }

    #[test]
    fn a_bay_that_others_have_then_is_not_booked() {
        let (mut bays, mut people, mut visit) = ([bay(&[(650, 700)])], [person("T1", &[])], place("T1"));
        let refused = overrun(900, 600).unwrap().book(&mut bays, &mut people, &mut visit);
        assert_eq!((refused, visit), (Err(BayHeld), place("T1")));
        assert_eq!((&bays[0].held, &people[0].busy), (&set(&[(650, 700)]), &IntervalSet::EMPTY));
    }
}
