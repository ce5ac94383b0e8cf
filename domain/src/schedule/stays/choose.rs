//! Choice of bays, moves and technicians, once start and finish are known.
//!
//! They are chosen one after another: each time the best one with which the pass still reaches the finish.

use alloc::vec;
use alloc::vec::Vec;

use super::car::{Car, Spot, Terms};
use super::pass::{Pass, Stint};
use super::{Stay, Visit};
use crate::schedule::{PlacedStep, Step};
use crate::time::{Minute, Minutes};

impl Pass<'_> {
    /// The earliest finish of a car that comes into this bay at `start`; `None` if it is after `limit`.
    pub(super) fn soonest_from(&self, bay: usize, start: Minute, limit: Minute) -> Option<Minute> {
        let terms = Terms { bays: vec![bay], ..Terms::free(limit, self.stays) };
        self.run(0, self.standing(start, &terms), &terms).iter().map(|car| car.progress.finish()).min()
    }

    /// The minimum number of stays with which a car that comes at `start` is done by `finish`; it comes into the `first`
    /// bay, if that is given.
    pub(super) fn fewest_stays(&self, first: Option<usize>, start: Minute, finish: Minute) -> Option<usize> {
        let terms = Terms { bays: first.into_iter().collect(), ..Terms::free(finish, self.stays) };
        self.run(0, self.standing(start, &terms), &terms).iter().map(|car| car.stay + 1).min()
    }

    /// The visit from `start` to `finish` in `stays` stays, which must be the minimum, the first of them in the `first`
    /// bay, if that is given. The smallest bay codes win; among equal ones the later moves; then, step by step, the
    /// smallest technician code, the earliest gap and the earliest end.
    pub(super) fn visit(
        &self,
        which: usize,
        first: Option<usize>,
        (start, finish): (Minute, Minute),
        stays: usize,
    ) -> Option<Visit> {
        let mut terms = Terms { bays: first.into_iter().collect(), ..Terms::free(finish, stays) };
        for _ in terms.bays.len()..stays {
            self.settle(start, &mut terms, |terms| &mut terms.bays, 0..self.diary.bays.len())?;
        }
        for _ in 1..stays {
            let after = terms.moves.last().map_or(1, |step| step + 1);
            let steps = (after..self.order.plan().steps().len()).rev();
            self.settle(start, &mut terms, |terms| &mut terms.moves, steps)?;
        }
        let (stays, steps) = self.by_whom(start, &terms)?;
        Some(Visit { order: which, start, finish, stays, steps })
    }

    /// Adds to a list of choices the first of the given ones with which all is still done in time.
    fn settle(
        &self,
        start: Minute,
        terms: &mut Terms,
        list: fn(&mut Terms) -> &mut Vec<usize>,
        mut choices: impl Iterator<Item = usize>,
    ) -> Option<usize> {
        choices.find(|choice| {
            list(terms).push(*choice);
            let serves = !self.run(0, self.standing(start, terms), terms).is_empty();
            if !serves {
                list(terms).pop();
            }
            serves
        })
    }

    /// Cars that come at `start`, one for each bay that is open and free then.
    fn standing(&self, start: Minute, terms: &Terms) -> Vec<Car> {
        let bays = self.diary.bays.iter().enumerate();
        let bays = bays.filter(|(bay, _)| self.bounds.serves(*bay, 0) && terms.allows(0, *bay));
        let here = bays.filter_map(|(bay, time)| {
            let gap = time.gaps.first_ending_after(start);
            let is_free = time.gaps.as_slice().get(gap)?.contains(start);
            let is_open = self.diary.hours.get(time.hours)?.contains(start);
            (is_free && is_open).then(|| Car::arriving(start, Spot { bay, gap }))
        });
        here.collect()
    }

    /// The stays and steps, after bays and moves are chosen.
    fn by_whom(&self, start: Minute, terms: &Terms) -> Option<(Vec<Stay>, Vec<PlacedStep>)> {
        let mut car = self.standing(start, terms).pop()?;
        let mut from = start;
        let (mut stays, mut steps) = (Vec::with_capacity(terms.stays), Vec::with_capacity(self.able.len()));
        for (place, step) in self.order.plan().steps().iter().enumerate() {
            let (next, placed) = if step.minutes == Minutes::ZERO {
                let nobody = PlacedStep { code: step.code.clone(), technician: None, pieces: Vec::new() };
                (self.done(&car, place, car.at, car.begin, terms)?, nobody)
            } else {
                self.first_by_code(&car, place, step, terms)?
            };
            if next.at.bay != car.at.bay {
                let moved = placed.pieces.first()?.from();
                stays.push(self.stay(car.at, from, moved)?);
                from = moved;
            }
            steps.push(placed);
            car = next;
        }
        stays.push(self.stay(car.at, from, car.progress.finish())?);
        Some((stays, steps))
    }

    fn stay(&self, at: Spot, from: Minute, to: Minute) -> Option<Stay> {
        Some(Stay { bay: self.diary.bays.get(at.bay)?.code.clone(), from, to })
    }

    /// The step by the technician of the smallest code for whom the rest is still done in time, in the earliest gap.
    fn first_by_code(&self, car: &Car, place: usize, step: &Step, terms: &Terms) -> Option<(Car, PlacedStep)> {
        let here = self.here(car, place, terms).map(|stint| (car.at, stint));
        let stints: Vec<(Spot, Stint)> = here.into_iter().chain(self.entries(car, place, terms)).collect();
        let mut choices =
            self.able.get(place)?.iter().flat_map(|person| stints.iter().map(move |stint| (*person, *stint)));
        choices.find_map(|(person, (at, stint))| {
            let end = self.attend(stint, person, |_| ())?;
            let next = self.done(car, place, at, end, terms)?;
            if self.run(place + 1, vec![next.clone()], terms).is_empty() {
                return None;
            }
            let mut pieces = Vec::new();
            self.attend(stint, person, |piece| pieces.push(piece))?;
            let technician = self.diary.people.get(person).map(|person| person.code.clone());
            Some((next, PlacedStep { code: step.code.clone(), technician, pieces }))
        })
    }
}
