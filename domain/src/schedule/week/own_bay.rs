//! Puts jobs back into the bays that they were booked in, at the times that the search found.
//!
//! No objective depends on which bay a car has, so of equally good weeks the search may return one in which cars change
//! bays for nothing. Each such change is work for the studio, and its reason can't be explained.

use alloc::string::String;
use alloc::vec::Vec;

use super::Problem;
use crate::schedule::Placement;

/// Changes the bays of `placements`, which are in the order of the problem's jobs, back to the promised ones where all
/// rules still hold. Times and people stay as they are, so no objective changes.
pub(super) fn keep(problem: &Problem, placements: &mut [(String, Placement)]) {
    let mut back: Vec<(usize, Placement)> = Vec::new();
    for (place, (job, (_, now))) in problem.jobs().iter().zip(placements.iter()).enumerate() {
        let Some(told) = job.promised.as_ref().filter(|told| told.bay != now.bay) else { continue };
        let home = Placement { bay: told.bay.clone(), ..now.clone() };
        if problem.diary().check(&job.plan, &home).is_ok() {
            back.push((place, home));
        }
    }
    // All go back together, so that two cars can swap their bays again; one that meets another car stays away, and
    // then its present bay is taken for the others.
    while let Some(meets) = meeting(&back, placements) {
        back.remove(meets);
    }
    for (place, home) in back {
        if let Some((_, placement)) = placements.get_mut(place) {
            *placement = home;
        }
    }
}

/// The first of the placements in `back` that would meet another car in its bay.
fn meeting(back: &[(usize, Placement)], placements: &[(String, Placement)]) -> Option<usize> {
    back.iter().position(|(place, home)| {
        placements.iter().enumerate().filter(|(other, _)| other != place).any(|(other, (_, now))| {
            let then = back.iter().find(|(one, _)| *one == other).map_or(now, |(_, home)| home);
            share_bay_and_time(home, then)
        })
    })
}

fn share_bay_and_time(one: &Placement, other: &Placement) -> bool {
    one.bay == other.bay && one.start < other.finish && other.start < one.finish
}
