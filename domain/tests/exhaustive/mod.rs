//! Availability by trying everything: for tiny shops of a few minutes, with minutes as bits and no greedy step at
//! all, so that it shares no idea with what it checks.

use std::collections::BTreeSet;

use baywright_domain::schedule::{Bay, Holds, PlacedStep, Plan, Step, Technician, WaitWhen, Work};
use baywright_domain::time::{Interval, IntervalSet, Minute};

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
    /// What is asked for, each step for one.
    pub plan: Plan,
    /// Which of its steps are for two.
    pub two: Vec<bool>,
}

/// (finish, start, bay, for each step the technician and the minutes worked as bits).
pub type Answer = (u32, u32, String, Vec<(Option<String>, u32)>);

/// The minutes of a set as bits.
pub fn bits(set: &IntervalSet, length: u32) -> u32 {
    (0..length).filter(|m| set.contains(Minute::new(i64::from(*m)))).map(|m| 1 << m).sum()
}

/// The bits of `[from, to)`.
pub fn range(from: u32, to: u32) -> u32 {
    (from..to).map(|m| 1 << m).sum()
}

/// The bits that pieces of a placement stand for.
pub fn pieces_bits(pieces: &[Interval]) -> u32 {
    pieces.iter().map(|p| range(u32::try_from(p.from().get()).unwrap(), u32::try_from(p.to().get()).unwrap())).sum()
}

/// Whether the minutes `worked`, as maximal pieces, may make up a step of `minutes`.
pub fn allowed(work: Work, minutes: u32, worked: u32) -> bool {
    if worked.count_ones() != minutes {
        return false;
    }
    let mut lengths = Vec::new();
    let mut rest = worked;
    while rest != 0 {
        rest >>= rest.trailing_zeros();
        lengths.push(rest.trailing_ones());
        rest >>= rest.trailing_ones();
    }
    let last = lengths.pop();
    match work {
        Work::Whole => lengths.is_empty() && last.is_some(),
        Work::Pieces { smallest } => lengths.iter().all(|length| *length >= smallest.get().max(1)),
    }
}

/// Somebody with the skills, and who helps them.
type Who<'a> = (&'a str, Option<&'a str>);

/// Progress of a plan: the end of its last step, and for each finished step the time when its wait has passed.
#[derive(Clone)]
struct Done {
    end: u32,
    passed: Vec<u32>,
}

impl Done {
    fn nothing(start: u32) -> Self {
        Self { end: start, passed: Vec::new() }
    }

    fn and(&self, end: u32, passed: u32) -> Self {
        let mut more = self.clone();
        more.end = end;
        more.passed.push(passed);
        more
    }

    /// Time when the next step may begin.
    fn ready(&self, plan: &Plan) -> u32 {
        let next = self.passed.len();
        let held = |first: usize| match plan.holds(first) {
            Holds::Car => true,
            Holds::After(steps) => steps.contains(&next),
        };
        let holding = self.passed.iter().enumerate().filter(|(first, _)| held(*first));
        holding.map(|(_, passed)| *passed).fold(self.end, u32::max)
    }

    /// The end of the latest step or wait.
    fn finish(&self) -> u32 {
        self.passed.iter().copied().fold(self.end, u32::max)
    }
}

struct BayQuestion<'a> {
    shop: &'a Shop,
    open: u32,
    /// For each step, each able technician by code, or pair by its two codes: every set of minutes that may make up the
    /// step.
    ways: Vec<Vec<(Who<'a>, Vec<u32>)>>,
}

impl<'a> BayQuestion<'a> {
    fn new(shop: &'a Shop, bay: &Bay) -> Self {
        let open = bits(&bay.open, shop.length);
        let mut people: Vec<&Technician> = shop.technicians.iter().collect();
        people.sort_by(|a, b| a.code.as_bytes().cmp(b.code.as_bytes()));
        let free = |p: &Technician| bits(&p.working, shop.length) & !bits(&p.busy, shop.length);
        let of_step = |(step, two): (&Step, &bool)| {
            let able = people.iter().filter(|p| step.skills.iter().all(|skill| p.skills.contains(skill)));
            let mut who: Vec<(Who<'a>, u32)> = Vec::new();
            for leads in able {
                if *two {
                    let others = people.iter().filter(|p| p.code != leads.code);
                    who.extend(others.map(|p| ((leads.code.as_str(), Some(p.code.as_str())), free(leads) & free(p))));
                } else {
                    who.push(((leads.code.as_str(), None), free(leads)));
                }
            }
            let (work, minutes) = (step.work, step.minutes.get());
            let sets = |free: u32| {
                (0..1u32 << shop.length).filter(move |m| m & !free == 0 && allowed(work, minutes, *m)).collect()
            };
            who.into_iter().map(|(who, free)| (who, sets(free & open))).collect()
        };
        Self { shop, open, ways: shop.plan.steps().iter().zip(&shop.two).map(of_step).collect() }
    }

    /// The first minute by which a step's wait has passed, counted minute by minute.
    fn waited(&self, step: &Step, end: u32) -> Option<u32> {
        (end..=self.shop.length).find(|at| {
            let passed = range(end, *at);
            let counted = if step.wait.when == WaitWhen::Any { passed } else { passed & self.open };
            counted.count_ones() >= step.wait.minutes.get()
        })
    }

    /// All minutes at which the plan may be finished after the progress `done`.
    fn finishes(&self, done: &Done) -> BTreeSet<u32> {
        let place = done.passed.len();
        let Some(step) = self.shop.plan.steps().get(place) else { return BTreeSet::from([done.finish()]) };
        let at = done.ready(&self.shop.plan);
        let ends: BTreeSet<u32> = if step.minutes.get() == 0 {
            BTreeSet::from([at])
        } else {
            let sets = self.ways[place].iter().flat_map(|(_, sets)| sets);
            sets.filter(|m| m.trailing_zeros() >= at).map(|m| 32 - m.leading_zeros()).collect()
        };
        let passed = ends.iter().filter_map(|end| Some(done.and(*end, self.waited(step, *end)?)));
        passed.flat_map(|more| self.finishes(&more)).collect()
    }

    /// Assignment of people to steps, by the rule of the smallest code, of two the leader's first, working as early as
    /// they can.
    fn choose(&self, start: u32, finish: u32) -> Vec<(Option<String>, u32)> {
        let mut done = Done::nothing(start);
        let mut chosen = Vec::new();
        for (place, step) in self.shop.plan.steps().iter().enumerate() {
            let at = done.ready(&self.shop.plan);
            if step.minutes.get() == 0 {
                done = done.and(at, self.waited(step, at).unwrap());
                chosen.push((None, 0));
                continue;
            }
            let allows = |m: u32| {
                let end = 32 - m.leading_zeros();
                let more = done.and(end, self.waited(step, end)?);
                self.finishes(&more).contains(&finish).then_some(more)
            };
            let (who, worked) = self.ways[place]
                .iter()
                .find_map(|(who, sets)| {
                    let serving = sets.iter().filter(|m| m.trailing_zeros() >= at && allows(**m).is_some());
                    // The soonest end; of those the earliest minutes.
                    serving
                        .min_by_key(|m| (m.leading_zeros().wrapping_neg(), m.reverse_bits().wrapping_neg()))
                        .map(|m| (*who, *m))
                })
                .unwrap();
            let more = allows(worked).unwrap();
            done = more;
            chosen.push((Some(PlacedStep::technician_of(who.0, who.1)), worked));
        }
        chosen
    }
}

/// The best answer from `not_before` on, out of all there are.
pub fn earliest(shop: &Shop, not_before: u32) -> Option<Answer> {
    let mut best: Option<(u32, u32, &Bay)> = None;
    for bay in &shop.bays {
        if !shop.plan.features().iter().all(|feature| bay.features.contains(feature)) {
            continue;
        }
        let question = BayQuestion::new(shop, bay);
        let held = bits(&bay.held, shop.length);
        for start in (0..shop.length).step_by(shop.slot as usize) {
            if start < not_before || question.open & (1 << start) == 0 {
                continue;
            }
            for finish in question.finishes(&Done::nothing(start)) {
                let free = range(start, finish) & held == 0;
                let better =
                    best.is_none_or(|(f, s, b)| (finish, s, bay.code.as_bytes()) < (f, start, b.code.as_bytes()));
                if free && better {
                    best = Some((finish, start, bay));
                }
            }
        }
    }
    let (finish, start, bay) = best?;
    let steps = BayQuestion::new(shop, bay).choose(start, finish);
    Some((finish, start, bay.code.clone(), steps))
}
