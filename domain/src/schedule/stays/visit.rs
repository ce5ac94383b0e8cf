//! A plan placed in the diary, in one bay after another.

use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;

use crate::schedule::{Diary, PlacedStep, Placement};
use crate::time::Minute;

/// A car in one bay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    /// The bay's code.
    pub bay: String,
    /// Time when the car takes the bay: at the start for the first stay, and when the first step in the bay begins for
    /// later ones.
    pub from: Minute,
    /// Time when it leaves it; the bay is free from this minute on.
    pub to: Minute,
}

/// A car in the shop from start to finish: its stays, and who does which step when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    /// Index of the order that it follows, among those that were given.
    pub order: usize,
    /// Time when the car takes its first bay; always a slot.
    pub start: Minute,
    /// Time when all steps and waits have ended.
    pub finish: Minute,
    /// One bay after another, without a minute between them.
    pub stays: Vec<Stay>,
    /// The steps in their order. The minutes of the first step of each later stay include those of the move.
    pub steps: Vec<PlacedStep>,
}

impl Visit {
    /// A placement of one order as a visit of one stay.
    pub(super) fn in_one_bay(order: usize, placement: Placement) -> Self {
        let Placement { bay, start, finish, steps } = placement;
        Self { order, start, finish, stays: vec![Stay { bay, from: start, to: finish }], steps }
    }

    /// Whether the car keeps its bay and its steps are done in the first of the given orders, so that a
    /// [placement](Self::placement) says everything.
    pub fn is_plain(&self) -> bool {
        self.order == 0 && self.stays.len() == 1
    }

    /// The visit as if the car were in its first bay from start to finish.
    pub fn placement(&self) -> Placement {
        let bay = self.stays.first().map_or_else(String::new, |stay| stay.bay.clone());
        Placement { bay, start: self.start, finish: self.finish, steps: self.steps.clone() }
    }

    /// Code of the bay that the car leaves at the finish.
    pub fn last_bay(&self) -> &str {
        self.stays.last().map_or("", |stay| stay.bay.as_str())
    }

    /// Index of the stay in which the step at this index is done. A step without minutes is in the bay of the step
    /// before it.
    pub fn stay_of(&self, step: usize) -> usize {
        let steps = self.steps.get(..=step).unwrap_or(&self.steps);
        let begun = steps.iter().rev().find_map(|step| step.pieces.first()).map_or(self.start, |piece| piece.from());
        self.stays.iter().skip(1).filter(|stay| stay.from <= begun).count()
    }

    /// The step whose start moves the car into the stay at this index; `None` for the first stay.
    pub fn begins_with(&self, stay: usize) -> Option<&PlacedStep> {
        let from = self.stays.get(stay).filter(|_| stay > 0)?.from;
        self.steps.iter().find(|step| step.pieces.first().is_some_and(|piece| piece.from() == from))
    }
}

impl Diary {
    /// Books a visit: each of its bays is taken for the car's stay there, and its technicians as for a
    /// [placement](Self::book).
    pub fn book_visit(&mut self, visit: &Visit) {
        for stay in &visit.stays {
            self.book_bay(&stay.bay, stay.from, stay.to);
        }
        self.book_people(&visit.steps);
    }
}

impl From<Placement> for Visit {
    fn from(placement: Placement) -> Self {
        Self::in_one_bay(0, placement)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Interval;

    #[test]
    fn each_step_is_in_the_bay_to_which_the_last_begun_one_moved_the_car() {
        let step = |code: &str, piece: Option<(i64, i64)>| PlacedStep {
            code: code.into(),
            technician: piece.map(|_| "T".into()),
            pieces: piece
                .and_then(|(from, to)| Interval::new(Minute::new(from), Minute::new(to)))
                .into_iter()
                .collect(),
        };
        let stay = |bay: &str, from, to| Stay { bay: bay.into(), from: Minute::new(from), to: Minute::new(to) };
        let visit = Visit {
            order: 0,
            start: Minute::new(0),
            finish: Minute::new(100),
            stays: vec![stay("A", 0, 50), stay("B", 50, 100)],
            steps: vec![
                step("look", None),
                step("wash", Some((10, 40))),
                step("seen", None),
                step("coat", Some((50, 90))),
                step("cured", None),
            ],
        };
        assert_eq!((0..5).map(|step| visit.stay_of(step)).collect::<Vec<_>>(), [0, 0, 0, 1, 1]);
        assert_eq!((visit.begins_with(0), visit.begins_with(1).map(|step| step.code.as_str())), (None, Some("coat")));
        assert_eq!((visit.last_bay(), visit.placement().bay.as_str(), visit.is_plain()), ("B", "A", false));
        assert!(Visit::from(visit.placement()).is_plain());
    }
}
