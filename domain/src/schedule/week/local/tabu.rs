//! Tabu search over the chain of steps that decides the last finish.
//!
//! In a job shop only moves at the ends of a block, steps that follow one another on one machine of the critical path,
//! can shorten the schedule at once (Grabowski 1986 for the block property; Nowicki and Smutnicki 1996, who swap the
//! first two and the last two of a block; Balas and Vazacopoulos 1998, who move any step of a block before its first or
//! after its last). Here a block is a row of steps of one technician, and all of the latter moves are tried. The best one
//! is made, also if it is worse, unless it undoes an order that was made a few turns before (Glover 1989). Each round
//! after the first begins with some random moves away from the best schedule.
//!
//! **What differs from shops of machines.** Each move is evaluated by placing the whole list, which is slower than the
//! usual estimates, but exact with calendars, bays, pieces and waits. Once a list is certain to be no better than the
//! best move of the turn, the rest of it is not placed.
//!
//! **What was not built.** Shifting bottleneck procedures (Adams, Balas and Zawack 1988) solve one machine at a time,
//! given the others; with several technicians for a step and with calendars the problem of one machine has no such
//! simple form. Path relinking between good schedules (Nowicki and Smutnicki 2005) pays only for searches that are much
//! longer than a person waits.

use alloc::vec::Vec;

use super::{Line, Search};
use crate::schedule::week::change::{reorder, stretch};
use crate::schedule::week::critical::{self, Part};
use crate::schedule::week::decode::Cap;
use crate::schedule::week::draft::{Draft, Lead, Schedule, Score, score};
use crate::schedule::week::node_budget::NodeBudget;

/// Maximum number of steps of a week: the memory of orders is as large as their square.
const MOST_STEPS: usize = 300;
/// Turns without an improvement after which a round ends.
const MOST_IDLE: u32 = 1_000;
/// An order that was undone is forbidden for that many turns, and a random number below the second one more.
const TENURE: (u32, usize) = (8, 7);
/// Random moves with which a round begins: at least, and a random number below the second one more.
const SHAKES: (usize, usize) = (3, 12);

/// A step that moves before or after all others of a part of a row.
struct Move {
    step: usize,
    /// The others, in their order.
    past: Vec<usize>,
    /// Whether it moves before them, else after them.
    forward: bool,
}

/// Orders of two steps that may not be made for some turns.
struct Forbidden {
    until: Vec<u32>,
    steps: usize,
    turn: u32,
}

impl Move {
    /// First and last step of the stretch of the list that changes.
    fn ends(&self) -> Option<(usize, usize)> {
        if self.forward { Some((*self.past.first()?, self.step)) } else { Some((self.step, *self.past.last()?)) }
    }

    /// The orders that it makes: the first one of each comes before the second one then.
    fn orders(&self) -> impl Iterator<Item = (usize, usize)> {
        self.past.iter().map(|other| if self.forward { (self.step, *other) } else { (*other, self.step) })
    }
}

impl Forbidden {
    fn new(steps: usize) -> Self {
        Self { until: alloc::vec![0; steps * steps], steps, turn: 0 }
    }

    fn forbids(&self, made: &Move) -> bool {
        made.orders().any(|(first, second)| self.until[first * self.steps + second] > self.turn)
    }

    /// Forbids to undo a move.
    fn note(&mut self, made: &Move, turns: u32) {
        for (first, second) in made.orders() {
            self.until[second * self.steps + first] = self.turn + turns;
        }
    }
}

/// A move that was tried.
struct Tried {
    which: usize,
    score: Score,
}

impl Search<'_, '_> {
    /// A round that improves the last finish of a week in which nothing is late and no promise moves.
    pub(super) fn tabu_round(&mut self, length: u64, bound: Lead, node_budget: &mut NodeBudget<'_>) {
        let (steps, Lead { unplaced, moved, lateness, .. }) = (self.model.steps.len(), self.best.score.lead);
        if (unplaced, moved, lateness) != (0, 0, 0) || steps > MOST_STEPS {
            return;
        }
        let draft = self.best.draft.clone();
        let mut line = Line { draft, schedule: Schedule::default(), score: self.best.score, pairs: Vec::new() };
        node_budget.spend(self.decoder.decode(self.model, &line.draft, Cap::NONE, &mut line.schedule));
        line.score = Score { standing: 0, ..score(self.model, &line.schedule) };
        self.look(&mut line);
        if self.tabu_rounds > 0 {
            for _ in 0..SHAKES.0 + self.dice.below(SHAKES.1) {
                let moves = self.moves(&line);
                let which = self.dice.below(moves.len());
                self.make(&mut line, moves.get(which), node_budget);
            }
        }
        self.tabu_rounds += 1;
        let (mut forbidden, begun) = (Forbidden::new(steps), node_budget.left());
        let (mut idle, mut best) = (0, line.score.lead);
        while !node_budget.is_empty() && idle < MOST_IDLE && begun - node_budget.left() < length {
            if self.best.score.lead <= bound {
                return;
            }
            forbidden.turn += 1;
            idle += 1;
            let moves = self.moves(&line);
            if moves.is_empty() {
                return;
            }
            let chosen = self.best_move(&line, &moves, &forbidden, best, node_budget);
            let which = chosen.unwrap_or_else(|| self.dice.below(moves.len()));
            let Some(chosen) = moves.get(which) else { return };
            self.make(&mut line, Some(chosen), node_budget);
            let more = u32::try_from(self.dice.below(TENURE.1)).unwrap_or(0);
            forbidden.note(chosen, TENURE.0 + more);
            if line.score.lead < best {
                (best, idle) = (line.score.lead, 0);
            }
        }
    }

    /// The moves at the ends of the rows of a chain that decides the last finish.
    fn moves(&mut self, line: &Line) -> Vec<Move> {
        let (model, schedule) = (self.model, &line.schedule);
        let last = |task: &usize| schedule.stays[*task].is_some_and(|stay| stay.finish == line.score.lead.finish);
        let ends: Vec<usize> = (0..model.tasks.len()).filter(last).collect();
        let Some(task) = self.dice.one(&ends) else { return Vec::new() };
        let mut moves: Vec<Move> = Vec::new();
        critical::walk(model, schedule, task, |part| {
            match part {
                Part::Bay(first, second) => moves.push(Move { step: second, past: alloc::vec![first], forward: true }),
                Part::Row(row) => {
                    let row: Vec<usize> = row.iter().rev().copied().collect();
                    for place in 1..row.len() {
                        moves.push(Move { step: row[place], past: row[..place].to_vec(), forward: true });
                    }
                    // In a row of two, the other move is the same.
                    for place in (0..row.len().saturating_sub(1)).filter(|_| row.len() > 2) {
                        moves.push(Move { step: row[place], past: row[place + 1..].to_vec(), forward: false });
                    }
                }
            }
            moves.len() <= 4 * model.steps.len()
        });
        moves
    }

    /// The move with the best result of those that are not forbidden; a forbidden one if its result is better than the
    /// best of the round. `None` if no move can be made.
    fn best_move(
        &mut self,
        line: &Line,
        moves: &[Move],
        forbidden: &Forbidden,
        best: Lead,
        node_budget: &mut NodeBudget<'_>,
    ) -> Option<usize> {
        let mut found: Option<Tried> = None;
        let mut draft = line.draft.clone();
        let mut schedule = core::mem::take(&mut self.tried);
        for (which, tried) in moves.iter().enumerate() {
            let is_forbidden = forbidden.forbids(tried);
            let cap = match &found {
                _ if is_forbidden => Cap::about(best, 0),
                Some(found) => Cap::about(found.score.lead, 0),
                None => Cap::NONE,
            };
            draft.copy(&line.draft);
            if !self.apply(tried, &mut draft) {
                continue;
            }
            node_budget.spend(self.decoder.decode(self.model, &draft, cap, &mut schedule));
            if schedule.beyond {
                continue;
            }
            let score = Score { standing: 0, ..score(self.model, &schedule) };
            let is_better = found.as_ref().is_none_or(|found| score < found.score);
            if is_better && (!is_forbidden || score.lead < best) {
                found = Some(Tried { which, score });
            }
        }
        self.tried = schedule;
        found.map(|found| found.which)
    }

    /// Makes a move, and keeps the schedule if it is the best one so far.
    fn make(&mut self, line: &mut Line, made: Option<&Move>, node_budget: &mut NodeBudget<'_>) {
        let Some(made) = made else { return };
        if !self.apply(made, &mut line.draft) {
            return;
        }
        node_budget.spend(self.decoder.decode(self.model, &line.draft, Cap::NONE, &mut line.schedule));
        line.score = Score { standing: 0, ..score(self.model, &line.schedule) };
        self.look(line);
        if line.score.lead < self.best.score.lead {
            let schedule = line.schedule.clone();
            self.keep(&line.draft, schedule, node_budget);
        }
    }

    /// Makes a move in a list; false if it is not possible there. Of the two ways to make it, the one that moves fewer
    /// other steps of the same job is taken.
    fn apply(&self, made: &Move, draft: &mut Draft) -> bool {
        let Some((first, second)) = made.ends() else { return false };
        let Some((from, to)) = stretch(self.model, &draft.list, first, second) else { return false };
        let changed = &mut draft.list[from..=to];
        let (one, other) = (self.model.steps[first].task, self.model.steps[second].task);
        let named = |task: usize, list: &[usize]| list.iter().filter(|named| **named == task).count();
        let forward = if made.past.len() > 1 { made.forward } else { named(other, changed) <= named(one, changed) };
        reorder(changed, if forward { other } else { one }, forward);
        true
    }
}
