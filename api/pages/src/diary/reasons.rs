//! Why a wished day does not work, and what would help, in sentences.

use baywright_core::booking::usecase::{Promised, Suggestion};
use baywright_core::diary::usecase::Offered;
use baywright_domain::schedule::Placement;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::time::Interval;

use super::clock::Clock;
use super::shown;
use crate::platform::plainly;

/// Why no time is done by the day that was wished; empty if one is.
pub(super) fn reasons(offered: &Offered) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for text in offered.offer.reasons.iter().map(|reason| plainly(&reason.text)) {
        if !all.contains(&text) {
            all.push(text);
        }
    }
    all
}

/// What would help, smallest change first. The first time after the wished day is among the times already.
pub(super) fn suggestions(offered: &Offered, clock: &Clock) -> Vec<String> {
    let visit = |visit: &Visit| {
        let stays = visit.stays.iter().filter_map(|stay| Some((stay.bay.as_str(), Interval::new(stay.from, stay.to)?)));
        let bays = shown::bays(clock, &offered.names, stays);
        format!("{} to {} in {bays}", clock.in_full(visit.start), clock.in_full(visit.finish))
    };
    let placement = |placement: &Placement| visit(&Visit::from(placement.clone()));
    let told = |suggestion: &Suggestion| match suggestion {
        Suggestion::Later(Promised { visit: one, .. }) => format!("The first time after that: {}.", visit(one)),
        Suggestion::WithMoves(Promised { visit: one, .. }) => format!(
            "With the car moved to another bay in between: {}. Tick “The car may change bays” to book it. The studio's \
             terms must allow more than one bay for a car.",
            visit(one)
        ),
        Suggestion::TwoVisits(second, [first, then]) => format!(
            "In two visits: {}, then {}, which begins with {}. The car may need another wash then.",
            placement(first),
            placement(then),
            offered.names.step(second.as_str())
        ),
        Suggestion::Without(service, one) => {
            let name = offered.services.get(service.as_str()).map_or(service.as_str(), String::as_str);
            format!("Without {name}: {}. That needs a new quote.", visit(one))
        }
    };
    offered.offer.suggestions.iter().map(told).collect()
}
