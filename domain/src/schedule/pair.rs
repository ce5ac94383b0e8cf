//! Two people who work on one step.
//!
//! **The rule.** A step for two keeps two people busy for all of its minutes. Both are at work and free; the leader has
//! all skills of the step, the helper needs none (common practice, no source). The same two work on all of its pieces.
//! A step for one is unaffected.
//!
//! **Why the search is unaffected.** For the search, two people are one more technician, an ordered pair
//! ([`with_pairs`]). The pair is at work when both are, and busy when either is. It has the skills of its leader, and a
//! mark that steps for two require like a skill. The steps of a plan follow each other, so no two technicians of one
//! placement ever work at the same time, and the pair's free time is the common free time of leader and helper. So the
//! search for the earliest finish, E(t), stays exact as it is. A pair never does a step for one: its leader alone could
//! do it at all the same times, and the leader's code is smaller.
//!
//! **Many jobs at once.** Booking a pair must not leave its two people free for other jobs, nor booking a person the
//! pairs that they are in. So [`Diary::book`](super::Diary::book) takes the time from both people and all their pairs,
//! and so does the search of [weeks](super::week).
//!
//! **Ties.** The code of a pair is the leader's, a mark smaller than whatever stands in a code, and the helper's. So the
//! leader's code decides, then the helper's, by bytes.
//!
//! **Limits and costs.** A brute force and CP-SAT, which both know steps for two but no pairs, find the same answers.
//! Pairs are made only if two people are requested; n people make n(n − 1) of them, and in a studio of ten a list of
//! five times takes 1.4 ms with them. A placement is stored in the diary as rows of both people, so that the
//! constraints for one person hold for two. A plan is stored for one person, with each step's share for two and its
//! estimate, so that the plan for two follows from what was signed. Prices are for one person.

use alloc::string::String;
use alloc::vec::Vec;

use super::{PlacedStep, Plan, Step, Technician};

/// Separator between the two codes of a pair: the unit separator of ASCII, which no code and no id contains.
const BESIDE: char = '\u{1f}';

/// Mark that a step for two requires besides its skills, and that only pairs have. No skill of a shop is spelt like it.
const IN_PAIRS: &str = "\u{1f}in pairs";

/// Whether a skill is one that a person has, and not the mark of a step for two.
pub(super) fn is_persons(skill: &str) -> bool {
    skill != IN_PAIRS
}

/// These people, and all ordered pairs of two of them.
pub fn with_pairs(people: &[Technician]) -> Vec<Technician> {
    let pairs = people.iter().flat_map(|leads| {
        let others = people.iter().filter(|helps| helps.code != leads.code);
        others.map(|helps| pair(leads, helps))
    });
    people.iter().cloned().chain(pairs).collect()
}

fn pair(leads: &Technician, helps: &Technician) -> Technician {
    let mut skills = leads.skills.clone();
    skills.insert(IN_PAIRS.into());
    Technician {
        code: alloc::format!("{}{BESIDE}{}", leads.code, helps.code),
        skills,
        working: leads.working.intersection(&helps.working),
        busy: leads.busy.union(&helps.busy),
    }
}

/// The people of a technician's code: one person, or the leader and the helper of a pair.
pub(super) fn members(code: &str) -> (&str, Option<&str>) {
    code.split_once(BESIDE).map_or((code, None), |(leads, helps)| (leads, Some(helps)))
}

/// Whether two technicians' codes have a person in common.
pub(super) fn share_a_person(one: &str, other: &str) -> bool {
    let (leads, helps) = members(other);
    let (first, second) = members(one);
    [Some(first), second].into_iter().flatten().any(|who| who == leads || Some(who) == helps)
}

impl Step {
    /// The same step for two people.
    #[must_use]
    pub fn for_two(mut self) -> Self {
        self.skills.insert(IN_PAIRS.into());
        self
    }

    /// Whether it takes two people.
    pub fn is_for_two(&self) -> bool {
        self.skills.contains(IN_PAIRS)
    }
}

impl Plan {
    /// Whether any step with minutes takes two people, so that the diary must know the [pairs](with_pairs).
    pub fn takes_two(&self) -> bool {
        self.steps().iter().any(|step| step.minutes.get() > 0 && step.is_for_two())
    }
}

impl PlacedStep {
    /// Code of the person who does the step or leads; `None` for a step without minutes.
    pub fn leads(&self) -> Option<&str> {
        self.technician.as_deref().map(|code| members(code).0)
    }

    /// Code of the person who helps with a step for two.
    pub fn helps(&self) -> Option<&str> {
        self.technician.as_deref().and_then(|code| members(code).1)
    }

    /// The technician's code of one person, or of two of whom the first one leads.
    pub fn technician_of(leads: &str, helps: Option<&str>) -> String {
        helps.map_or_else(|| leads.into(), |helps| alloc::format!("{leads}{BESIDE}{helps}"))
    }
}
