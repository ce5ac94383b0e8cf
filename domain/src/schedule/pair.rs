//! Two people at one step.
//!
//! **The rule.** A step for two keeps two people busy for all of its minutes. Both are at work and free; the one who
//! leads has all skills of the step, the other one helps and needs none (common practice, no source). The same two work
//! on all of its pieces. A step for one is as it always was.
//!
//! **Why the engine need not know.** To it two people are one more technician, an ordered pair ([`with_pairs`]): at work
//! when both are, busy when either is, with the skills of the one who leads and a mark that a step for two asks for as
//! its skill. A plan's steps follow each other, so that no two technicians of one placement are ever at work at once, and
//! a pair's time is no more than its leader's and its helper's. So all that is said of E(t) holds as it stands. A pair
//! never does a step for one: its leader alone could, at all the same times, and their code is smaller.
//!
//! What has **many jobs at once** can't take pairs for technicians: one of them booked would leave the people it is made
//! of free. [`Diary::book`](super::Diary::book) takes it from all; the search of [weeks](super::week) does not know it.
//!
//! **Ties.** The code of a pair is the leader's, a mark smaller than whatever stands in a code, and the helper's. So the
//! leader's code decides, then the helper's, by bytes.
//!
//! **Limits and costs.** A brute force and CP-SAT, which both know steps for two but no pairs, find the same answers.
//! Pairs are made only if two people were asked for; n people make n(n − 1) of them, and in a studio of ten a list of
//! five times takes 1.4 ms with them. A placement goes into the diary as rows of both people, so that the constraints
//! for one person hold for two. A plan is kept for one pair of hands, with each step's share for two and what is
//! believed of it, so that the plan for two follows from what was signed. Prices know one pair of hands.

use alloc::string::String;
use alloc::vec::Vec;

use super::{PlacedStep, Plan, Step, Technician};

/// Stands between the two codes of a pair: the unit separator of ASCII, which no code and no id has.
const BESIDE: char = '\u{1f}';

/// What a step for two asks for beside its skills, and only pairs have. No skill of a shop is written so.
const IN_PAIRS: &str = "\u{1f}in pairs";

/// Whether a skill is one that a person has, and not the mark of a step for two.
pub(super) fn is_persons(skill: &str) -> bool {
    skill != IN_PAIRS
}

/// These people, and all pairs of two of them, each both ways round.
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

/// The people behind a technician's code: themselves, or of a pair the one who leads and the one who helps.
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
    /// Who leads; `None` for a step without minutes.
    pub fn leads(&self) -> Option<&str> {
        self.technician.as_deref().map(|code| members(code).0)
    }

    /// Who helps, at a step for two.
    pub fn helps(&self) -> Option<&str> {
        self.technician.as_deref().and_then(|code| members(code).1)
    }

    /// The technician's code of one person, or of two of whom the first one leads.
    pub fn technician_of(leads: &str, helps: Option<&str>) -> String {
        helps.map_or_else(|| leads.into(), |helps| alloc::format!("{leads}{BESIDE}{helps}"))
    }
}
