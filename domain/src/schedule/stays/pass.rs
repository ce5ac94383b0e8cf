//! Forward pass over states: which step comes next, in which gap of which bay, in which stay.
//!
//! Each state keeps all cars that no other car beats in everything that later steps wait for: the time when the next
//! step may begin, the time when each wait has passed that holds back a single later step, and the latest end of all
//! waits. A step is done by the technician who ends it first, among those who can begin it before the gap that the car
//! leaves ends; nothing later depends on who it was or when they began. So the pass finds the earliest finish.

use alloc::vec;
use alloc::vec::Vec;

use super::bounds::Bounds;
use super::car::{Car, Spot, Terms};
use super::{Moving, StepOrder};
use crate::schedule::window::{self, Labour};
use crate::schedule::{Diary, Holds, Step};
use crate::time::{Interval, IntervalSet, Minute, Minutes};

/// One order prepared for searches in one diary.
#[derive(Debug, Clone)]
pub(super) struct Pass<'a> {
    pub(super) diary: &'a Diary,
    pub(super) order: &'a StepOrder,
    pub(super) bounds: Bounds,
    /// Minimum time from start to finish without moves.
    pub(super) shortest: Minutes,
    /// Maximum number of stays.
    pub(super) stays: usize,
    /// For each step the indexes of the people who have its skills, smallest code first.
    pub(super) able: Vec<Vec<usize>>,
    /// For each open time of the diary and each technician, the time when both allow attended work.
    attended: Vec<IntervalSet>,
    /// Each step as work, without and with a move before it.
    labour: Vec<Labour>,
    moved: Vec<Labour>,
    /// Steps that are held back by a wait that does not hold the whole car.
    held: Vec<usize>,
}

/// A step in a gap: its conditions, whoever does it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stint {
    /// Index of the bay's open time in the diary.
    hours: usize,
    labour: Labour,
    /// Earliest start.
    begin: Minute,
    /// Latest start of its first piece.
    leave: Minute,
    /// Latest end.
    until: Minute,
}

impl<'a> Pass<'a> {
    /// Prepares searches; `None` if the shop allows fewer stays than the steps need.
    pub(super) fn new(diary: &'a Diary, order: &'a StepOrder, moving: Moving) -> Option<Self> {
        let bounds = Bounds::new(diary, order, moving);
        let stays = usize::try_from(moving.max_stays.get()).unwrap_or(usize::MAX);
        bounds.fewest_stays().filter(|fewest| *fewest <= stays)?;
        let steps = order.plan().steps();
        let able = diary.able(order.plan());
        let attended = diary.attended(|_, person| able.iter().any(|who| who.contains(&person)));
        let moved = |step: &Step| Labour::from(&Step { minutes: step.minutes + moving.minutes, ..step.clone() });
        let is_held = |place: &usize| {
            (0..*place).any(|first| {
                let holds = order.plan().holds(first);
                *holds != Holds::Car && holds.holds_back(first, *place)
            })
        };
        Some(Self {
            diary,
            order,
            bounds,
            shortest: order.plan().shortest(),
            stays,
            able,
            attended,
            labour: steps.iter().map(Labour::from).collect(),
            moved: steps.iter().map(moved).collect(),
            held: (0..steps.len()).filter(is_held).collect(),
        })
    }
}

impl Pass<'_> {
    /// Does all steps from the `first` one on with cars that have done those before it. Returns the cars that have done
    /// them all.
    pub(super) fn run(&self, first: usize, mut cars: Vec<Car>, terms: &Terms) -> Vec<Car> {
        for step in first..self.order.plan().steps().len() {
            let mut next = Vec::with_capacity(cars.len());
            for car in &cars {
                next.extend(self.remaining(car, step, terms));
                self.moving(car, step, terms, &mut next);
            }
            cars = self.unbeaten(next, step + 1, terms);
        }
        cars
    }

    /// The car after it has done the step without leaving its bay.
    fn remaining(&self, car: &Car, step: usize, terms: &Terms) -> Option<Car> {
        let stint = self.here(car, step, terms)?;
        let end = match stint.labour.minutes {
            Minutes::ZERO => stint.begin,
            _ => self.soonest_end(step, stint)?,
        };
        self.done(car, step, car.at, end, terms)
    }

    /// Adds the car after it has moved and done the step, for every gap that it can move to.
    fn moving(&self, car: &Car, step: usize, terms: &Terms, next: &mut Vec<Car>) {
        let moved = self.entries(car, step, terms).filter_map(|(at, stint)| {
            let end = self.soonest_end(step, stint)?;
            self.done(car, step, at, end, terms)
        });
        next.extend(moved);
    }

    /// The step in the gap where the car is.
    pub(super) fn here(&self, car: &Car, step: usize, terms: &Terms) -> Option<Stint> {
        let labour = *self.labour.get(step)?;
        let serves = self.bounds.serves(car.at.bay, step) && terms.may_remain(car.stay, step);
        let until = self.gap(car.at).filter(|_| serves)?.to().min(terms.limit);
        let hours = self.diary.bays.get(car.at.bay)?.hours;
        Some(Stint { hours, labour, begin: car.begin, leave: until, until })
    }

    /// The step in every gap that the car can move to when the step begins, by bay and time.
    pub(super) fn entries(&self, car: &Car, step: usize, terms: &Terms) -> impl Iterator<Item = (Spot, Stint)> {
        let here = car.at.bay;
        self.leaving(car, step, terms).into_iter().flat_map(move |leaving| {
            let bays = self.diary.bays.iter().enumerate().filter(move |(bay, _)| {
                *bay != here && self.bounds.serves(*bay, step) && terms.allows(car.stay + 1, *bay)
            });
            bays.flat_map(move |(bay, time)| {
                let Stint { labour, begin, leave, until, .. } = leaving;
                let first = time.gaps.first_ending_after(begin);
                let in_time = move |gap: &Interval| gap.from() <= leave && gap.from() + labour.minutes <= until;
                let gaps = time.gaps.iter().enumerate().skip(first).take_while(move |(_, gap)| in_time(gap));
                gaps.map(move |(gap, span)| {
                    let (begin, until) = (begin.max(span.from()), until.min(span.to()));
                    (Spot { bay, gap }, Stint { hours: time.hours, labour, begin, leave, until })
                })
            })
        })
    }

    /// The step as the first one of the next stay, in whatever bay; `None` if the car can't move then. Every stay lasts
    /// at least a minute, and the car may be in its bay up to the end of its gap.
    fn leaving(&self, car: &Car, step: usize, terms: &Terms) -> Option<Stint> {
        let attended = step > 0 && self.labour.get(step)?.minutes > Minutes::ZERO;
        let labour = *self.moved.get(step).filter(|_| attended && terms.may_move(car.stay, step))?;
        let begin = car.begin.max(car.start + Minutes::new(1));
        let leave = self.gap(car.at)?.to();
        let hours = self.diary.bays.get(car.at.bay)?.hours;
        (begin <= leave).then_some(Stint { hours, labour, begin, leave, until: terms.limit })
    }

    /// Time when a technician ends a step; `None` if they can't meet its conditions.
    pub(super) fn attend(&self, stint: Stint, person: usize, mut piece: impl FnMut(Interval)) -> Option<Minute> {
        let windows = self.attended.get(stint.hours * self.diary.people.len() + person)?;
        let windows = window::rest(windows.as_slice(), stint.begin).iter().copied();
        let mut begun = None;
        let end = window::work(windows, stint.labour, stint.begin, stint.until, |one| {
            begun = begun.or(Some(one.from()));
            piece(one);
        })?;
        (begun? <= stint.leave).then_some(end)
    }

    /// Time when the first of the able technicians ends a step. Nobody ends it earlier than without interruption from
    /// its start on, so the search stops at one who does.
    fn soonest_end(&self, step: usize, stint: Stint) -> Option<Minute> {
        if stint.begin + stint.labour.minutes > stint.until {
            return None;
        }
        let mut soonest = None;
        for person in self.able.get(step)? {
            let until = soonest.unwrap_or(stint.until);
            soonest = self.attend(Stint { until, ..stint }, *person, |_| ()).or(soonest);
            if soonest == Some(stint.begin + stint.labour.minutes) {
                break;
            }
        }
        soonest
    }

    /// The car after the step has ended in this gap; `None` if the gap or the limit does not suffice for the following
    /// steps.
    pub(super) fn done(&self, car: &Car, step: usize, at: Spot, end: Minute, terms: &Terms) -> Option<Car> {
        let (plan, next) = (self.order.plan(), step + 1);
        let open = self.diary.open(self.diary.bays.get(at.bay)?);
        let passed = window::wait(open, plan.steps().get(step)?.wait, end)?;
        let mut progress = car.progress.clone();
        progress.note(plan, step, end, passed);
        let begin = progress.begin(plan, next);
        let stay = car.stay + usize::from(at.bay != car.at.bay);
        let leaves = if next == plan.steps().len() { progress.finish() } else { begin };
        let in_gap = leaves <= self.gap(at)?.to();
        let in_time = progress.finish().max(begin + self.bounds.time(at.bay, next)?) <= terms.limit;
        let in_stays = stay + self.bounds.moves(at.bay, next)? < terms.stays;
        (in_gap && in_time && in_stays).then_some(Car { start: car.start, stay, at, progress, begin })
    }

    /// Removes every car that another one beats.
    fn unbeaten(&self, mut cars: Vec<Car>, next: usize, terms: &Terms) -> Vec<Car> {
        if cars.len() < 2 {
            return cars;
        }
        cars.sort_by_key(|car| (car.at, car.stay, car.begin, car.progress.finish()));
        let mut kept: Vec<Car> = Vec::with_capacity(cars.len());
        for car in cars {
            // If nothing is chosen, a car that has used fewer stays can do everything that one with more can.
            let mut rivals = kept
                .iter()
                .rev()
                .take_while(|rival| rival.at == car.at && (rival.stay == car.stay || !terms.settled()));
            if !rivals.any(|rival| rival.is_no_later(&car, self.order.plan(), next, &self.held)) {
                kept.push(car);
            }
        }
        kept
    }

    /// The gap of this spot.
    pub(super) fn gap(&self, at: Spot) -> Option<Interval> {
        self.diary.bays.get(at.bay)?.gaps.as_slice().get(at.gap).copied()
    }

    /// Whether a car that comes at `start` is done in time.
    pub(super) fn serves(&self, start: Minute, at: Spot, terms: &Terms) -> bool {
        !self.run(0, vec![Car::arriving(start, at)], terms).is_empty()
    }
}
