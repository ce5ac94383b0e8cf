//! Promises that a supposition moves.

use alloc::collections::BTreeMap;
use alloc::string::String;
use alloc::vec::Vec;
use core::num::NonZeroU32;

use super::place::{next_place, with_visits};
use super::{BookedCar, ShopTime, told};
use crate::schedule::stays::Visit;
use crate::schedule::week::{Answer, Budget, Cause, Job, Problem, Week, week};
use crate::schedule::{Diary, Holder, Obstacle, Unplannable, obstacles};
use crate::time::{Interval, Minute};

/// A promise that moves: the car would have to come at another time, or be finished later.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MovedPromise {
    /// Code of the booking.
    pub code: String,
    /// Its new place; `None` if none was found in the period that is known.
    pub after: Option<Visit>,
    /// Reason why it can't keep its place; `None` if it could, but others come out better without it there.
    pub cause: Option<Cause>,
}

/// Promises that a supposition moves.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Promises {
    /// The promises that move, by their booked starts.
    pub moved: Vec<MovedPromise>,
    /// Codes of the bookings that can't keep their places whatever is supposed. They are left where they are.
    pub broken_already: Vec<String>,
    /// Whether no other schedule moves fewer promises and is less late.
    pub proven: bool,
}

/// A search for new places.
struct NewPlaces<'a> {
    supposed: &'a ShopTime,
    cars: &'a [BookedCar],
    /// For each car the first obstacle to its place that the supposition brings.
    broken: Vec<Option<Obstacle>>,
    /// For each car whether its place is broken already.
    already: Vec<bool>,
}

/// The promises that move if the shop's time changes from `now` to `supposed`; `from` is the current time. Nothing is
/// searched if every booking can keep its place.
///
/// # Errors
/// If bays or people share a code.
pub fn promises(
    now: &ShopTime,
    supposed: &ShopTime,
    cars: &[BookedCar],
    from: Minute,
    budget: &Budget<'_>,
) -> Result<Promises, Unplannable> {
    let before: Vec<Vec<Obstacle>> = cars.iter().map(|car| in_the_way(now, car, from)).collect();
    let after = cars.iter().map(|car| in_the_way(supposed, car, from));
    let brought = after.zip(&before).map(|(after, before)| after.into_iter().find(|one| !before.contains(one)));
    let broken: Vec<Option<Obstacle>> = brought.collect();
    let already: Vec<bool> = before.iter().map(|before| !before.is_empty()).collect();
    let names = cars.iter().zip(&already).filter(|(_, already)| **already).map(|(car, _)| car.code.clone());
    let broken_already = names.collect();
    let new = NewPlaces { supposed, cars, broken, already };
    if (0..cars.len()).all(|at| !new.must_move(at)) {
        return Ok(Promises { moved: Vec::new(), broken_already, proven: true });
    }
    let (moved, proven) = new.search(budget)?;
    Ok(Promises { moved, broken_already, proven })
}

/// What is in the way of a car's place: rules that it breaks, and time that others take of its bays and people.
fn in_the_way(time: &ShopTime, car: &BookedCar, from: Minute) -> Vec<Obstacle> {
    let mut found = obstacles(&time.bays, &time.people, &car.made_for, &car.visit, from);
    for stay in &car.visit.stays {
        let Some(when) = Interval::new(stay.from, stay.to) else { continue };
        let bay = time.bays.iter().find(|bay| bay.code == stay.bay);
        let taken = bay.and_then(|bay| bay.held.iter().find(|held| held.overlaps(when)));
        found.extend(taken.map(|held| Obstacle::BayTaken(Holder::Car(*held))));
    }
    for step in &car.visit.steps {
        let mut who = [step.leads(), step.helps()].into_iter().flatten();
        let busy = who.find(|who| {
            let person = time.people.iter().find(|person| person.code == **who);
            let meets = |piece: &Interval| person.is_some_and(|person| person.busy.iter().any(|b| b.overlaps(*piece)));
            step.pieces.iter().any(meets)
        });
        found.extend(busy.map(|who| Obstacle::Busy { person: who.into(), step: step.code.clone() }));
    }
    found
}

impl NewPlaces<'_> {
    fn must_move(&self, at: usize) -> bool {
        self.broken.get(at).is_some_and(Option::is_some) && !self.is_broken_already(at)
    }

    fn is_broken_already(&self, at: usize) -> bool {
        self.already.get(at).copied().unwrap_or(false)
    }

    /// Whether the search of a week places the car anew.
    fn is_job(&self, at: usize) -> bool {
        self.cars.get(at).is_some_and(|car| car.in_week) && !self.is_broken_already(at)
    }

    fn search(&self, budget: &Budget<'_>) -> Result<(Vec<MovedPromise>, bool), Unplannable> {
        // Cars that the search can't move keep their places, unless they have to leave them.
        let fixed = self.cars.iter().enumerate().filter(|(at, _)| !self.is_job(*at) && !self.must_move(*at));
        let booked = with_visits(self.supposed, fixed.map(|(_, car)| &car.visit));
        let jobs = self.cars.iter().enumerate().filter(|(at, _)| self.is_job(*at));
        let jobs: Vec<Job> = jobs.map(|(_, car)| job(car, self.supposed)).collect();
        let problem = Problem::new(Diary::new(booked.horizon, &booked.bays, &booked.people)?, jobs)?;
        let mut places: Vec<Option<Visit>> = self.cars.iter().map(|car| Some(car.visit.clone())).collect();
        let mut causes: BTreeMap<usize, Cause> = BTreeMap::new();
        let mut proven = false;
        let mut open: Vec<usize> = (0..self.cars.len()).filter(|at| self.must_move(*at)).collect();
        if let Answer::Placed(found) = week(&problem, budget) {
            proven = found.proven;
            open.retain(|at| !self.is_job(*at));
            self.note(&problem, &found, &mut places, &mut causes);
        }
        // The others one by one: for two people, with moves from bay to bay, or because not all fit at once.
        open.sort_by_key(|at| self.cars.get(*at).map(|car| (car.visit.start, &car.code)));
        for at in &open {
            if let Some(place) = places.get_mut(*at) {
                *place = None;
            }
        }
        proven &= open.is_empty();
        for at in open {
            let (rest, index) = self.without_open(&places, at);
            let (cars, visits): (Vec<BookedCar>, Vec<Visit>) = rest.into_iter().unzip();
            let found = next_place(self.supposed, &cars, &visits, index)?;
            if let Some(place) = places.get_mut(at) {
                *place = found;
            }
        }
        Ok((self.moved(places, &causes), proven))
    }

    /// The cars that have a place, and the one at this index with its old one; and its index among them.
    fn without_open(&self, places: &[Option<Visit>], at: usize) -> (Vec<(BookedCar, Visit)>, usize) {
        let mut rest = Vec::with_capacity(self.cars.len());
        let mut index = 0;
        for (place, (car, visit)) in self.cars.iter().zip(places).enumerate() {
            if place == at {
                index = rest.len();
                rest.push((car.clone(), car.visit.clone()));
            } else if let Some(visit) = visit {
                rest.push((car.clone(), visit.clone()));
            }
        }
        (rest, index)
    }

    /// Takes over the places that the search of a week found.
    fn note(&self, problem: &Problem, found: &Week, places: &mut [Option<Visit>], causes: &mut BTreeMap<usize, Cause>) {
        let cars = (0..self.cars.len()).filter(|at| self.is_job(*at));
        for ((at, job), (_, placement)) in cars.zip(problem.jobs()).zip(&found.placements) {
            if let Some(cause) = found.cause(problem, job) {
                causes.insert(at, cause);
            }
            if let Some(place) = places.get_mut(at) {
                *place = Some(Visit::from(placement.clone()));
            }
        }
    }

    fn moved(&self, places: Vec<Option<Visit>>, causes: &BTreeMap<usize, Cause>) -> Vec<MovedPromise> {
        let mut moved: Vec<(Minute, MovedPromise)> = Vec::new();
        for (at, (car, after)) in self.cars.iter().zip(places).enumerate() {
            let (start, finish) = told(&car.visit);
            let is_kept = |after: &Visit| after.start == start && after.finish <= finish;
            if after.as_ref().is_some_and(is_kept) {
                continue;
            }
            let own = self.broken.get(at).cloned().flatten().map(Cause::Obstacle);
            let cause = own.or_else(|| causes.get(&at).cloned());
            moved.push((start, MovedPromise { code: car.code.clone(), after, cause }));
        }
        moved.sort_by(|(a, one), (b, other)| (a, &one.code).cmp(&(b, &other.code)));
        moved.into_iter().map(|(_, one)| one).collect()
    }
}

/// A car as the search of a week places it: its customer brings it when they were told to, and not before.
fn job(car: &BookedCar, time: &ShopTime) -> Job {
    let promised = car.visit.placement();
    Job {
        code: car.code.clone(),
        plan: car.plan.clone(),
        arrives: promised.start.max(time.horizon.span().from()),
        due: promised.finish,
        weight: NonZeroU32::MIN,
        latest: None,
        promised: Some(promised),
    }
}
