//! People who work alone and in pairs.
//!
//! For the search a pair is one more technician ([`pair`](crate::schedule::pair)). Placing a step of a pair takes the
//! time of its two people, and placing a step of one person takes the time of every pair that this person is in. So the
//! free time of a pair is always the common free time of its people.

use alloc::vec::Vec;
use core::iter;

use super::board;
use super::model::Both;
use crate::schedule::diary::PersonTime;
use crate::schedule::pair::members;
use crate::time::Interval;

/// Technicians of whom some are pairs of others.
pub(super) struct Crew {
    /// For each technician the two people of a pair; `None` for a person.
    pairs: Vec<Option<[usize; 2]>>,
    /// For each technician the others who share a person with it.
    sharing: Vec<Vec<usize>>,
}

impl Crew {
    /// The crew of these technicians; `None` if no two of them share a person.
    pub(super) fn of(people: &[PersonTime]) -> Option<Self> {
        let place = |code: &str| people.iter().position(|person| person.code == code);
        let two = |person: &PersonTime| {
            let (leads, helps) = members(&person.code);
            Some([place(leads)?, place(helps?)?])
        };
        let pairs: Vec<Option<[usize; 2]>> = people.iter().map(two).collect();
        if pairs.iter().all(Option::is_none) {
            return None;
        }
        let who = |technician: usize| pairs[technician].unwrap_or([technician; 2]);
        let share = |one: usize, other: usize| who(one).iter().any(|person| who(other).contains(person));
        let others = |one: usize| (0..people.len()).filter(|other| *other != one && share(one, *other)).collect();
        let sharing = (0..people.len()).map(others).collect();
        Some(Self { pairs, sharing })
    }

    /// Whether a technician is a pair.
    pub(super) fn is_pair(&self, technician: usize) -> bool {
        self.pairs[technician].is_some()
    }

    /// Whether a person is busy when a technician works.
    pub(super) fn includes(&self, technician: usize, person: usize) -> bool {
        self.people(technician).contains(&person)
    }

    /// Whether two technicians can't work at the same time.
    pub(super) fn share(&self, one: usize, other: usize) -> bool {
        one == other || self.sharing[one].contains(&other)
    }

    /// Takes free minutes of a technician, and of everybody who shares a person with them.
    pub(super) fn take(&self, free: &mut [Vec<Interval>], technician: usize, taken: Interval) {
        for other in iter::once(&technician).chain(&self.sharing[technician]) {
            board::cut(&mut free[*other], taken);
        }
    }

    /// Gives back minutes that a technician took.
    pub(super) fn give(&self, free: &mut [Vec<Interval>], technician: usize, given: Interval) {
        let [one, other] = self.people(technician);
        board::give(&mut free[one], given);
        if other != one {
            board::give(&mut free[other], given);
        }
        for pair in iter::once(&technician).chain(&self.sharing[technician]) {
            if let Some([leads, helps]) = self.pairs[*pair] {
                let common = Both { one: &free[leads], other: &free[helps] }.collect();
                free[*pair] = common;
            }
        }
    }

    fn people(&self, technician: usize) -> [usize; 2] {
        self.pairs[technician].unwrap_or([technician; 2])
    }
}

#[cfg(test)]
mod tests {
    use alloc::collections::BTreeSet;
    use alloc::vec;

    use super::*;
    use crate::time::{IntervalSet, Minute};

    fn at(from: i64, to: i64) -> Interval {
        Interval::new(Minute::new(from), Minute::new(to)).unwrap()
    }

    #[test]
    fn a_pair_is_free_when_both_of_its_people_are() {
        let codes = ["A", "A\u{1f}B", "B", "C"];
        let person = |code: &str| PersonTime {
            code: code.into(),
            skills: BTreeSet::new(),
            working: IntervalSet::EMPTY,
            free: IntervalSet::EMPTY,
        };
        let people = codes.map(person);
        let crew = Crew::of(&people).unwrap();
        assert!(Crew::of(&people[2..]).is_none());
        assert_eq!(codes.len(), crew.sharing.len());
        assert!(crew.share(0, 1) && crew.share(1, 2) && !crew.share(0, 2) && !crew.share(3, 1));
        assert!(crew.includes(1, 2) && !crew.includes(1, 3) && crew.is_pair(1));
        let before = vec![vec![at(0, 50)], vec![at(10, 50)], vec![at(10, 60)], vec![at(0, 60)]];
        let mut free = before.clone();
        crew.take(&mut free, 1, at(20, 30));
        assert_eq!(free[0], [at(0, 20), at(30, 50)]);
        assert_eq!(free[2], [at(10, 20), at(30, 60)]);
        crew.take(&mut free, 0, at(0, 15));
        assert_eq!(free[1], [at(15, 20), at(30, 50)]);
        assert_eq!(free[3], before[3]);
        crew.give(&mut free, 1, at(20, 30));
        assert_eq!(free[1], [at(15, 50)]);
        crew.give(&mut free, 0, at(0, 15));
        assert_eq!(free, before);
    }
}
