//! Puts jobs back into the bays that they were booked in, at the times that the search found.
//!
//! No objective depends on which bay a car has, so of equally good weeks the search may return one in which cars change
//! bays for nothing. Each such change is work for the studio, and its reason can't be explained.

use alloc::string::String;
use alloc::vec::Vec;

use super::Problem;
use crate::schedule::stays::{Stay, Visit};

/// Changes the bays of `visits`, which are in the order of the problem's jobs, back to the promised ones where all rules
/// still hold. Times and people stay as they are, so no objective changes.
pub(super) fn keep(problem: &Problem, visits: &mut [(String, Visit)]) {
    let mut back: Vec<(usize, Visit)> = Vec::new();
    for (place, (job, (_, now))) in problem.jobs().iter().zip(visits.iter()).enumerate() {
        let Some(home) = job.promised.as_ref().and_then(|told| at_home(told, now)) else { continue };
        if problem.diary().check_visit(&job.order, job.moving, &home).is_ok() {
            back.push((place, home));
        }
    }
    // All go back together, so that two cars can swap their bays again; one that meets another car stays away, and
    // then its present bay is taken for the others.
    while let Some(meets) = meeting(&back, visits) {
        back.remove(meets);
    }
    for (place, home) in back {
        if let Some((_, visit)) = visits.get_mut(place) {
            *visit = home;
        }
    }
}

/// The visit in the promised bays; `None` if it has them, or if it has another number of stays.
fn at_home(told: &Visit, now: &Visit) -> Option<Visit> {
    let same = |(one, other): (&Stay, &Stay)| one.bay == other.bay;
    if told.stays.len() != now.stays.len() || told.stays.iter().zip(&now.stays).all(same) {
        return None;
    }
    let mut home = now.clone();
    for (stay, told) in home.stays.iter_mut().zip(&told.stays) {
        stay.bay.clone_from(&told.bay);
    }
    Some(home)
}

/// The first of the visits in `back` that would meet another car in its bay.
fn meeting(back: &[(usize, Visit)], visits: &[(String, Visit)]) -> Option<usize> {
    back.iter().position(|(place, home)| {
        visits.iter().enumerate().filter(|(other, _)| other != place).any(|(other, (_, now))| {
            let then = back.iter().find(|(one, _)| *one == other).map_or(now, |(_, home)| home);
            share_bay_and_time(home, then)
        })
    })
}

fn share_bay_and_time(one: &Visit, other: &Visit) -> bool {
    let meets = |stay: &Stay, other: &Stay| stay.bay == other.bay && stay.from < other.to && other.from < stay.to;
    one.stays.iter().any(|stay| other.stays.iter().any(|other| meets(stay, other)))
}
