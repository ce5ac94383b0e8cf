//! Stays found by trying everything: for tiny shops of a few minutes, every bay for every step, every start and every
//! set of minutes that may make up a step. No greedy step and no notion of a gap that a car could move to.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use baywright_domain::schedule::stays::{Moving, StayStep};
use baywright_domain::schedule::{Bay, Holds, Step, Technician, WaitWhen};

use crate::exhaustive::{allowed, bits, range};

/// A whole question: minutes `0..length` as bits, a slot every `slot` minutes.
#[derive(Debug, Clone)]
pub struct Shop {
    /// Minutes of the horizon, which begins at 0.
    pub length: u32,
    /// Minutes from slot to slot.
    pub slot: u32,
    /// Bays in any order.
    pub bays: Vec<Bay>,
    /// Technicians in any order.
    pub technicians: Vec<Technician>,
    /// Features that every bay of the car must have.
    pub everywhere: BTreeSet<String>,
    /// The possible orders. Of two the second one has more changeover minutes.
    pub orders: Vec<Vec<StayStep>>,
    /// Settings for cars that change bays.
    pub moving: Moving,
}

/// The best visit: of each stay its bay, begin and end; of each step with minutes its technician, begin and end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// Index of the order that it follows.
    pub order: usize,
    /// Time when the car takes its first bay.
    pub start: u32,
    /// Time when all steps and waits have ended.
    pub finish: u32,
    /// One bay after another.
    pub stays: Vec<(String, u32, u32)>,
    /// Steps in their order; `None` for one without minutes.
    pub steps: Vec<Option<(String, u32, u32)>>,
}

/// A car with some steps done.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct State {
    /// Time when its stay began.
    from: u32,
    /// Time when nothing holds the whole car any more.
    ready: u32,
    /// The latest end of a step or wait.
    latest: u32,
    /// Ends of waits that hold back single steps: index of the step that each follows, and its end.
    waits: Vec<(usize, u32)>,
}

/// One option for a step: by whom, from when and until when.
#[derive(Debug, Clone, Copy)]
struct Done<'a> {
    who: Option<&'a str>,
    first: u32,
    end: u32,
}

/// A technician by code, with every first minute and end of sets of minutes that may make up a step.
type Times<'a> = (&'a str, BTreeSet<(u32, u32)>);

/// One order with a bay for each of its steps, by index; successive steps in one bay are one stay.
struct Division<'a> {
    shop: &'a Shop,
    steps: &'a [StayStep],
    bays: Vec<usize>,
    /// For each step the times of each technician.
    ways: Vec<Vec<Times<'a>>>,
}

impl State {
    fn arriving(start: u32) -> Self {
        Self { from: start, ready: start, latest: start, waits: Vec::new() }
    }
}

impl<'a> Division<'a> {
    /// The division into stays, if every bay has what its steps need and no step without minutes begins a later stay.
    fn new(shop: &'a Shop, steps: &'a [StayStep], bays: Vec<usize>) -> Option<Self> {
        for (place, step) in steps.iter().enumerate() {
            let mut needs = shop.everywhere.union(&step.features);
            let moves = place > 0 && bays[place] != bays[place - 1];
            if !needs.all(|feature| shop.bays[bays[place]].features.contains(feature))
                || moves && step.step.minutes.get() == 0
            {
                return None;
            }
        }
        let mut made = Self { shop, steps, bays, ways: Vec::new() };
        if made.moves().len() + 1 > usize::try_from(shop.moving.max_stays.get()).unwrap() {
            return None;
        }
        made.ways = steps.iter().enumerate().map(|(place, step)| made.ways(place, &step.step)).collect();
        Some(made)
    }

    /// The steps with which a later stay begins.
    fn moves(&self) -> Vec<usize> {
        (1..self.steps.len()).filter(|place| self.is_move(*place)).collect()
    }

    fn is_move(&self, place: usize) -> bool {
        place > 0 && self.bays[place] != self.bays[place - 1]
    }

    fn ways(&self, place: usize, step: &Step) -> Vec<Times<'a>> {
        let shop = self.shop;
        let open = bits(&shop.bays[self.bays[place]].open, shop.length);
        let minutes = step.minutes.get() + if self.is_move(place) { shop.moving.minutes.get() } else { 0 };
        let mut people: Vec<&Technician> =
            shop.technicians.iter().filter(|person| step.skills.is_subset(&person.skills)).collect();
        people.sort_by(|a, b| a.code.as_bytes().cmp(b.code.as_bytes()));
        let of = |person: &'a Technician| {
            let free = open & bits(&person.working, shop.length) & !bits(&person.busy, shop.length);
            let sets = (1..1u32 << shop.length).filter(|m| m & !free == 0 && allowed(step.work, minutes, *m));
            (person.code.as_str(), sets.map(|m| (m.trailing_zeros(), 32 - m.leading_zeros())).collect())
        };
        people.into_iter().map(of).collect()
    }

    fn is_free(&self, place: usize, from: u32, to: u32) -> bool {
        range(from, to) & bits(&self.shop.bays[self.bays[place]].held, self.shop.length) == 0
    }

    /// The first minute by which the wait after a step has passed, counted minute by minute in the bay of the step.
    fn waited(&self, place: usize, end: u32) -> Option<u32> {
        let wait = self.steps[place].step.wait;
        let open = bits(&self.shop.bays[self.bays[place]].open, self.shop.length);
        (end..=self.shop.length).find(|at| {
            let passed = range(end, *at);
            let counted = if wait.when == WaitWhen::Any { passed } else { passed & open };
            counted.count_ones() >= wait.minutes.get()
        })
    }

    /// The state after a step was done in this way; `None` if it breaks a rule.
    fn after(&self, state: &State, place: usize, done: Done<'a>) -> Option<State> {
        let holding = state.waits.iter().filter(|(first, _)| match &self.steps[*first].holds {
            Holds::Car => true,
            Holds::After(steps) => steps.contains(&place),
        });
        let begin = holding.fold(state.ready, |begin, (_, passed)| begin.max(*passed));
        if done.who.is_some() && done.first < begin {
            return None;
        }
        let mut next = state.clone();
        if self.is_move(place) {
            if done.first <= state.from || !self.is_free(place - 1, state.from, done.first) {
                return None;
            }
            next.from = done.first;
        }
        let end = if done.who.is_some() { done.end } else { begin };
        let passed = self.waited(place, end)?;
        next.latest = next.latest.max(passed);
        next.ready = if self.steps[place].holds == Holds::Car { passed } else { end };
        if self.steps[place].holds != Holds::Car {
            next.waits.push((place, passed));
        }
        // A bay that is taken before the next step may begin is taken too soon.
        self.is_free(place, next.from, end).then_some(next)
    }

    fn each(&self, place: usize) -> Vec<Done<'a>> {
        if self.steps[place].step.minutes.get() == 0 {
            return vec![Done { who: None, first: 0, end: 0 }];
        }
        let by = |who: &'a str, (first, end): (u32, u32)| Done { who: Some(who), first, end };
        let all = self.ways[place].iter().map(|(who, ends)| (*who, ends));
        all.flat_map(|(who, ends)| ends.iter().map(move |ends| by(who, *ends))).collect()
    }

    /// All minutes at which the visit may end, with the steps before `place` done.
    fn finishes(&self, place: usize, state: State) -> BTreeSet<u32> {
        let mut states = BTreeSet::from([state]);
        for place in place..self.steps.len() {
            let each = self.each(place);
            states = states
                .iter()
                .flat_map(|state| each.iter().filter_map(move |done| self.after(state, place, *done)))
                .collect();
        }
        let last = self.steps.len() - 1;
        let kept = states.iter().filter(|state| self.is_free(last, state.from, state.latest));
        kept.map(|state| state.latest).collect()
    }

    /// Begin of the period in which the bay of a step is free around this minute.
    fn gap(&self, place: usize, at: u32) -> u32 {
        (0..=at).find(|from| self.is_free(place, *from, at + 1)).unwrap_or(at)
    }

    /// Assignment of steps from `start` to `finish`: the smallest code, then the earliest gap, then the earliest end.
    fn choose(&self, order: usize, start: u32, finish: u32) -> Answer {
        let mut state = State::arriving(start);
        let (mut stays, mut steps) = (Vec::new(), Vec::new());
        let code = |place: usize| self.shop.bays[self.bays[place]].code.clone();
        for place in 0..self.steps.len() {
            let serving = self.each(place).into_iter().filter_map(|done| {
                let next = self.after(&state, place, done)?;
                let gap = if self.is_move(place) { self.gap(place, done.first) } else { 0 };
                let serves = self.finishes(place + 1, next.clone()).contains(&finish);
                serves.then_some(((done.who, gap, done.end, done.first), next))
            });
            let ((who, _, end, first), next) = serving.min_by(|(a, _), (b, _)| a.cmp(b)).unwrap();
            if self.is_move(place) {
                stays.push((code(place - 1), state.from, first));
            }
            steps.push(who.map(|who| (who.to_owned(), first, end)));
            state = next;
        }
        stays.push((code(self.steps.len() - 1), state.from, finish));
        Answer { order, start, finish, stays, steps }
    }
}

/// All ways to choose a bay for each step.
fn assignments(bays: usize, steps: usize) -> Vec<Vec<usize>> {
    (0..steps).fold(vec![Vec::new()], |all, _| {
        all.iter().flat_map(|one| (0..bays).map(move |bay| [one.as_slice(), &[bay]].concat())).collect()
    })
}

/// Criteria between visits: finish, start, moves, order, bay codes, steps with which the moves come.
type Key = (u32, Reverse<u32>, usize, usize, Vec<String>, Reverse<Vec<usize>>);

/// The best visit from `not_before` on, from all possible ones.
pub fn earliest(shop: &Shop, not_before: u32) -> Option<Answer> {
    let mut best: Option<(Key, Answer)> = None;
    for (order, steps) in shop.orders.iter().enumerate() {
        let divisions = assignments(shop.bays.len(), steps.len()).into_iter();
        for division in divisions.filter_map(|bays| Division::new(shop, steps, bays)) {
            let open = bits(&shop.bays[division.bays[0]].open, shop.length);
            let moves = division.moves();
            let firsts = std::iter::once(0).chain(moves.iter().copied());
            let codes: Vec<String> = firsts.map(|place| shop.bays[division.bays[place]].code.clone()).collect();
            for start in (0..shop.length).step_by(shop.slot as usize) {
                if start < not_before || open & (1 << start) == 0 {
                    continue;
                }
                let finishes = division.finishes(0, State::arriving(start));
                let Some(finish) = finishes.first().copied() else { continue };
                let key = (finish, Reverse(start), moves.len(), order, codes.clone(), Reverse(moves.clone()));
                if best.as_ref().is_none_or(|(better, _)| key < *better) {
                    best = Some((key, division.choose(order, start, finish)));
                }
            }
        }
    }
    best.map(|(_, answer)| answer)
}
