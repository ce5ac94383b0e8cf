//! Large-neighbourhood search over drafts.
//!
//! A change is kept if the schedule gets no worse, and with falling probability if it does (simulated annealing:
//! Kirkpatrick, Gelatt and Vecchi 1983; for job shops van Laarhoven, Aarts and Lenstra 1992). Two kinds of rounds
//! alternate: one improves the main objectives (jobs placed, promises, lateness, last finish), the other also the time
//! in bays. Each round that ends without an improvement is followed by a longer one, and after the first few by tabu
//! search over the chain that decides the last finish (`tabu`).

mod tabu;

use alloc::vec::Vec;
use core::array::IntoIter;
use core::iter::Cycle;

use super::change::{Seen, change};
use super::critical;
use super::decode::{Cap, Decoder};
use super::draft::{Draft, Lead, NEVER_BEFORE, Schedule, Score, score};
use super::later::Mover;
use super::model::Model;
use super::node_budget::NodeBudget;
use crate::dice::Dice;

/// State of the search: the best schedule and its working memory.
pub(super) struct Search<'m, 'a> {
    model: &'m Model<'a>,
    decoder: Decoder,
    mover: Mover,
    dice: Dice,
    /// Start temperature of the coolest round: how much worse a change may be on average, in 1/256 minutes.
    heat: u64,
    /// Factors of the start temperature, used in turn: a local optimum that holds at one temperature may be left at another.
    heats: Cycle<IntoIter<u64, 3>>,
    /// Factor by which the next rounds are longer than the first: for the main objectives, and for the time in bays.
    longer: u64,
    times_longer: u64,
    /// Number of rounds of tabu search so far.
    tabu_rounds: u64,
    /// Memory for the schedule of a try.
    tried: Schedule,
    pub(super) best: Best,
}

/// The best schedule so far.
#[derive(Clone)]
pub(super) struct Best {
    pub(super) score: Score,
    pub(super) draft: Draft,
    /// The best schedule, with everything as late as possible.
    pub(super) schedule: Schedule,
}

/// One line of the search: a draft, its schedule, and the steps that delay the schedule.
struct Line {
    draft: Draft,
    schedule: Schedule,
    score: Score,
    pairs: Vec<(usize, usize)>,
}

/// Nodes of a first round for each step of the week, and the largest multiple of them that a later round may have.
const ROUND: (u64, u64) = (10_000, 64);
/// Share of the main objectives: as long as they may improve, their rounds have this many times the nodes of the rounds
/// that reduce the time in bays.
const LEAD_SHARE: u64 = 20;
/// Rounds that are this many times as long as the first, and find nothing better, are followed by tabu search.
const TABU_FROM: u64 = 4;
/// Start temperature of the main objective: at least lateness / 20, because moving one job can cost a whole night,
/// times its weight.
const LATENESS_HEAT: u64 = 20;
/// Number of coolings in a round, each by a sixteenth.
const COOLINGS: u64 = 48;

impl<'m, 'a> Search<'m, 'a> {
    /// Starts with a draft.
    pub(super) fn new(model: &'m Model<'a>, draft: Draft, node_budget: &mut NodeBudget<'_>) -> Self {
        let worst = Score { lead: Lead::WORST, standing: u64::MAX };
        let mut search = Self {
            model,
            decoder: Decoder::new(),
            mover: Mover::default(),
            dice: Dice::new(6),
            heat: heat(model),
            heats: [2, 1, 3].into_iter().cycle(),
            longer: 1,
            times_longer: 1,
            tabu_rounds: 0,
            tried: Schedule::default(),
            best: Best { score: worst, draft: draft.clone(), schedule: Schedule::default() },
        };
        search.offer(&draft, node_budget);
        search
    }

    pub(super) fn model(&self) -> &'m Model<'a> {
        self.model
    }

    /// Tries a draft without a change.
    pub(super) fn offer(&mut self, draft: &Draft, node_budget: &mut NodeBudget<'_>) -> Score {
        node_budget.spend(self.decoder.decode(self.model, draft, Cap::NONE, &mut self.tried));
        let score = score(self.model, &self.tried);
        if score.lead <= self.best.score.lead {
            let schedule = self.tried.clone();
            self.keep(draft, schedule, node_budget);
        }
        score
    }

    /// Takes a schedule that keeps all rules, which the draft need not give exactly.
    pub(super) fn take(&mut self, draft: &Draft, schedule: Schedule, node_budget: &mut NodeBudget<'_>) {
        if score(self.model, &schedule).lead <= self.best.score.lead {
            self.keep(draft, schedule, node_budget);
        }
    }

    /// Searches until nothing can be better, or the node budget has run out. No schedule is better than `bound`.
    pub(super) fn run(&mut self, bound: Lead, node_budget: &mut NodeBudget<'_>) {
        let first = ROUND.0 * self.model.steps.len() as u64;
        let mut least_standing = None;
        while !node_budget.is_empty() {
            if self.best.score.lead > bound {
                let before = self.best.score.lead;
                self.round(false, first * self.longer, bound, node_budget);
                if self.best.score.lead == before && self.longer >= TABU_FROM {
                    self.tabu_round(first * self.longer, bound, node_budget);
                }
                if self.best.score.lead == before {
                    self.longer = (self.longer * 2).min(ROUND.1);
                }
            }
            let Score { lead, standing } = self.best.score;
            if lead <= bound {
                let least = least_standing.get_or_insert_with(|| self.mover.least_standing(self.model, lead));
                if standing <= *least {
                    return;
                }
            }
            let length = first * self.times_longer;
            self.round(true, if lead > bound { length / LEAD_SHARE } else { length }, bound, node_budget);
            if self.best.score == (Score { lead, standing }) {
                self.times_longer = (self.times_longer * 2).min(ROUND.1);
            }
        }
    }

    fn round(&mut self, times: bool, length: u64, bound: Lead, node_budget: &mut NodeBudget<'_>) {
        let model = self.model;
        let mut line = Line {
            draft: self.best.draft.clone(),
            schedule: Schedule::default(),
            score: self.best.score,
            pairs: Vec::new(),
        };
        let mut draft = line.draft.clone();
        node_budget.spend(self.decoder.decode(model, &line.draft, Cap::NONE, &mut line.schedule));
        line.score = self.scored(times, &line.schedule, node_budget);
        self.look(&mut line);
        let heats = self.heats.next().unwrap_or(1);
        let lateness = if times { 0 } else { line.score.lead.lateness };
        let coolest = self.heat.max(lateness.saturating_mul(256) / LATENESS_HEAT);
        let (mut heat, begun, mut cooled) = (coolest.saturating_mul(heats), node_budget.left(), 0);
        while !node_budget.is_empty() && (times || self.best.score.lead > bound) {
            let spent = begun - node_budget.left();
            if spent >= length {
                return;
            }
            while cooled < spent * COOLINGS / length.max(1) {
                heat -= heat / 16;
                cooled += 1;
            }
            draft.copy(&line.draft);
            for _ in 0..=self.dice.below(10) / 9 {
                let late = line.score.lead.lateness > 0;
                let seen = Seen { schedule: &line.schedule, pairs: &line.pairs, late };
                change(model, &mut self.dice, &mut draft, &seen, times);
            }
            let mut tried = core::mem::take(&mut self.tried);
            let allowed = self.dice.waiting(heat);
            let cap = Cap::about(line.score.lead, allowed);
            node_budget.spend(self.decoder.decode(model, &draft, cap, &mut tried));
            let score = if tried.beyond { None } else { Some(self.scored(times, &tried, node_budget)) };
            if let Some(score) = score.filter(|score| worse(line.score, *score).is_some_and(|worse| worse <= allowed)) {
                line.draft.copy(&draft);
                core::mem::swap(&mut line.schedule, &mut tried);
                line.score = score;
                self.look(&mut line);
                let better = if times { score < self.best.score } else { score.lead < self.best.score.lead };
                if better {
                    let schedule = line.schedule.clone();
                    self.keep(&line.draft, schedule, node_budget);
                }
            }
            self.tried = tried;
        }
    }

    /// The score of a schedule. The time in bays counts only with `times`, and only if the main objectives are no worse
    /// than those of the best schedule.
    fn scored(&mut self, times: bool, schedule: &Schedule, node_budget: &mut NodeBudget<'_>) -> Score {
        let mut found = score(self.model, schedule);
        if !times {
            found.standing = 0;
        } else if found.lead <= self.best.score.lead {
            let mut settled = schedule.clone();
            found = self.mover.settle(self.model, &mut settled);
            node_budget.spend(core::mem::take(&mut self.mover.spent));
        }
        found
    }

    /// Finds the steps that delay the line, and lists its steps by their ends.
    fn look(&mut self, line: &mut Line) {
        let Line { draft, schedule, pairs, score } = line;
        let model = self.model;
        schedule.sort(model);
        if schedule.order.len() == model.steps.len() {
            draft.list.clear();
            draft.list.extend(schedule.order.iter().map(|step| model.steps[*step].task));
        }
        // An earliest start that delays nothing now would only be a restriction later.
        for (after, worked) in draft.after.iter_mut().zip(&schedule.work) {
            if *after < worked.begin() {
                *after = NEVER_BEFORE;
            }
        }
        for ((from, stay), known) in draft.from.iter_mut().zip(&schedule.stays).zip(&model.tasks) {
            let told = known.promised.is_some_and(|(told, _)| *from == told);
            if !told && stay.is_some_and(|stay| *from + model.diary.horizon.slot() <= stay.start) {
                *from = known.arrives;
            }
        }
        let late = |task: &usize| {
            schedule.stays[*task].is_some_and(|stay| {
                let known = &model.tasks[*task];
                match (score.lead.moved, score.lead.lateness) {
                    (0, 0) => stay.finish == score.lead.finish,
                    (0, _) => stay.finish > known.due,
                    _ => known.moves(stay.start, stay.finish),
                }
            })
        };
        let candidates: Vec<usize> = (0..model.tasks.len()).filter(late).collect();
        match self.dice.one(&candidates) {
            Some(task) => critical::pairs(model, schedule, task, pairs),
            None => pairs.clear(),
        }
    }

    /// Keeps a schedule whose main objectives are no worse than those of the best one, with everything moved late.
    fn keep(&mut self, draft: &Draft, mut schedule: Schedule, node_budget: &mut NodeBudget<'_>) {
        let score = self.mover.shorten(self.model, &mut schedule);
        node_budget.spend(core::mem::take(&mut self.mover.spent));
        if score < self.best.score {
            self.best = Best { score, draft: draft.clone(), schedule };
        }
    }
}

/// A sixth of a step's usual length.
fn heat(model: &Model<'_>) -> u64 {
    let minutes: u64 = model.steps.iter().map(|step| u64::from(step.labour.minutes.get())).sum();
    (minutes * 256 / 6).checked_div(model.steps.len() as u64).unwrap_or(0)
}

/// Difference by which a score is worse than another one, in the first respect in which they differ; `None` if it
/// places fewer jobs or moves more promises.
fn worse(before: Score, after: Score) -> Option<u64> {
    let (old, new) = (before.lead, after.lead);
    if after <= before {
        return Some(0);
    }
    if (old.unplaced, old.moved) != (new.unplaced, new.moved) {
        return None;
    }
    if old.lateness != new.lateness {
        return Some(new.lateness - old.lateness);
    }
    if old.finish != new.finish {
        return Some(new.finish.get().abs_diff(old.finish.get()));
    }
    Some(after.standing - before.standing)
}
