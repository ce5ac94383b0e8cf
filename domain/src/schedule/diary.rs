//! The shop's bays and technicians with their free time over a horizon.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use super::pair::share_a_person;
use super::{Horizon, PlacedStep, Placement, Unplannable, window};
use crate::time::{Interval, IntervalSet, Minute, Minutes};

/// A place where a car stands while it is worked on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bay {
    /// Its code; of equally good answers, the one with the smaller code (by bytes) comes first.
    pub code: String,
    /// Its features: cover, dust-free, drain, lift, power.
    pub features: BTreeSet<String>,
    /// Time when it is open.
    pub open: IntervalSet,
    /// Time that is taken: bookings and current holds.
    pub held: IntervalSet,
}

/// Someone who does steps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Technician {
    /// Their code; of equally good answers, the one with the smaller code (by bytes) comes first.
    pub code: String,
    /// Their skills.
    pub skills: BTreeSet<String>,
    /// Time when they work: shift less absence.
    pub working: IntervalSet,
    /// Time when they have other work.
    pub busy: IntervalSet,
}

/// The bays and technicians of a shop with their time over a horizon, prepared for searches.
///
/// Only time that overlaps the horizon has to be passed; the rest is cut off.
#[derive(Debug, Clone)]
pub struct Diary {
    pub(super) horizon: Horizon,
    pub(super) bays: Vec<BayTime>,
    pub(super) people: Vec<PersonTime>,
    /// The open times of the bays, each once: most shops open all their bays at the same times.
    pub(super) hours: Vec<IntervalSet>,
}

/// A bay's time within the horizon.
#[derive(Debug, Clone)]
pub(super) struct BayTime {
    pub(super) code: String,
    pub(super) features: BTreeSet<String>,
    /// Index of its open time in [`Diary::hours`].
    pub(super) hours: usize,
    /// Time in which no car has it, whether it is open or not.
    pub(super) gaps: IntervalSet,
}

/// A technician's time within the horizon.
#[derive(Debug, Clone)]
pub(super) struct PersonTime {
    pub(super) code: String,
    pub(super) skills: BTreeSet<String>,
    /// Working time, with other work or without.
    pub(super) working: IntervalSet,
    /// Working time less other work.
    pub(super) free: IntervalSet,
}

impl Diary {
    /// Makes a diary of the shop's bays and technicians, in any order.
    ///
    /// # Errors
    /// [`Unplannable::SameCode`] if two bays or two technicians share a code.
    pub fn new(horizon: Horizon, bays: &[Bay], technicians: &[Technician]) -> Result<Self, Unplannable> {
        let span = horizon.span();
        let mut hours = Vec::new();
        let mut bay_times: Vec<BayTime> = bays
            .iter()
            .map(|bay| BayTime {
                code: bay.code.clone(),
                features: bay.features.clone(),
                hours: place_of(&mut hours, bay.open.clip(span)),
                gaps: IntervalSet::from(span).difference(&bay.held),
            })
            .collect();
        let mut people: Vec<PersonTime> = technicians
            .iter()
            .map(|technician| {
                let working = technician.working.clip(span);
                PersonTime {
                    code: technician.code.clone(),
                    skills: technician.skills.clone(),
                    free: working.difference(&technician.busy),
                    working,
                }
            })
            .collect();
        bay_times.sort_by(|a, b| a.code.cmp(&b.code));
        people.sort_by(|a, b| a.code.cmp(&b.code));
        let twice = |what, code: &String| Unplannable::SameCode { what, code: code.clone() };
        if let Some([bay, _]) = bay_times.array_windows().find(|[a, b]| a.code == b.code) {
            return Err(twice("bays", &bay.code));
        }
        if let Some([person, _]) = people.array_windows().find(|[a, b]| a.code == b.code) {
            return Err(twice("technicians", &person.code));
        }
        Ok(Self { horizon, bays: bay_times, people, hours })
    }

    /// The horizon that it covers.
    pub const fn horizon(&self) -> Horizon {
        self.horizon
    }

    /// Books a placement: its bay is taken for the whole stay, its technicians for the minutes they work; with a pair
    /// both people are, alone and in all other pairs. A bay or a technician that is not in the diary is skipped.
    pub fn book(&mut self, placement: &Placement) {
        self.book_bay(&placement.bay, placement.start, placement.finish);
        self.book_people(&placement.steps);
    }

    pub(super) fn book_bay(&mut self, code: &str, from: Minute, to: Minute) {
        if let Some(bay) = self.bays.iter_mut().find(|bay| bay.code == code) {
            let stay: IntervalSet = Interval::new(from, to).into_iter().collect();
            bay.gaps = bay.gaps.difference(&stay);
        }
    }

    pub(super) fn book_people(&mut self, steps: &[PlacedStep]) {
        for step in steps {
            let Some(technician) = &step.technician else { continue };
            let worked: IntervalSet = step.pieces.iter().copied().collect();
            for person in self.people.iter_mut().filter(|person| share_a_person(&person.code, technician)) {
                person.free = person.free.difference(&worked);
            }
        }
    }

    pub(super) fn open(&self, bay: &BayTime) -> &[Interval] {
        self.open_hours(bay.hours)
    }

    /// The open time at this index of [`Diary::hours`].
    pub(super) fn open_hours(&self, hours: usize) -> &[Interval] {
        self.hours.get(hours).map_or(&[], IntervalSet::as_slice)
    }

    /// The first slot within `rest` at which bays with these hours are open.
    pub(super) fn first_slot(&self, hours: usize, rest: Interval) -> Option<Minute> {
        let open = window::rest(self.open_hours(hours), rest.from());
        open.iter().map_while(|hours| hours.intersection(rest)).find_map(|hours| {
            let slot = self.horizon.slot_from(hours.from());
            (slot < hours.to()).then_some(slot)
        })
    }

    /// The last slot up to `latest` at which bays with these hours are open.
    pub(super) fn open_slot_until(&self, hours: usize, latest: Minute) -> Option<Minute> {
        let open = self.open_hours(hours);
        let begun = open.partition_point(|hours| hours.from() <= latest);
        open.get(..begun)?.iter().rev().find_map(|hours| {
            let slot = self.horizon.slot_before(hours.to().min(latest + Minutes::new(1)))?;
            (slot >= hours.from()).then_some(slot)
        })
    }
}

/// The index of `set` in `sets`, added if it is new.
fn place_of(sets: &mut Vec<IntervalSet>, set: IntervalSet) -> usize {
    sets.iter().position(|known| *known == set).unwrap_or_else(|| {
        sets.push(set);
        sets.len() - 1
    })
}
