//! Finds obstacles to booked places after the shop's hours, closures, absences, features or skills changed.
//!
//! Only the future counts, and each piece of work is checked by itself. A place may have been changed by hand since it
//! was planned, for example because a car stays longer; that alone is no obstacle.

use alloc::vec::Vec;

use super::pair::is_persons;
use super::{Bay, Diary, Horizon, Obstacle, Placement, Plan, Technician, Unplannable, with_pairs};
use crate::time::{Interval, Minute, Minutes};

/// The obstacles to a placement of `plan` from `now` on, each once. Other bookings don't count as obstacles.
pub fn obstacles(
    bays: &[Bay],
    people: &[Technician],
    plan: &Plan,
    placement: &Placement,
    now: Minute,
) -> Vec<Obstacle> {
    let mut found = Vec::new();
    let mut work: Vec<Interval> = Vec::new();
    for step in &placement.steps {
        let ahead = |piece: &Interval| Interval::new(piece.from().max(now), piece.to());
        let pieces: Vec<Interval> = step.pieces.iter().filter_map(ahead).collect();
        let needs = plan.steps().iter().find(|planned| planned.code == step.code);
        for (code, leads) in [(step.leads(), true), (step.helps(), false)] {
            let Some(code) = code.filter(|_| !pieces.is_empty()) else { continue };
            let Some(person) = people.iter().find(|person| person.code == code) else {
                found.push(Obstacle::NobodyThere { person: code.into() });
                continue;
            };
            if !pieces.iter().all(|piece| person.working.covers(*piece)) {
                found.push(Obstacle::Away { person: code.into() });
            }
            let lacking = needs.filter(|_| leads).and_then(|needs| {
                needs.skills.iter().find(|skill| is_persons(skill) && !person.skills.contains(*skill))
            });
            found.extend(lacking.map(|skill| Obstacle::Skill {
                person: code.into(),
                step: step.code.clone(),
                skill: skill.clone(),
            }));
        }
        work.extend(pieces);
    }
    match bays.iter().find(|bay| bay.code == placement.bay) {
        None => found.push(Obstacle::NoBay),
        Some(bay) => {
            let lacking = plan.features().difference(&bay.features).cloned();
            found.extend(lacking.map(|feature| Obstacle::Feature { feature }));
            let comes = placement.start >= now;
            if comes && !bay.open.contains(placement.start) || !work.iter().all(|piece| bay.open.covers(*piece)) {
                found.push(Obstacle::Closed);
            }
        }
    }
    found.sort();
    found.dedup();
    found
}

/// Whether each of these booked places still keeps every rule of the diary, with nothing else booked: it may be for two
/// people, and it need not start on a slot, since slots may have been different when it was booked.
///
/// # Errors
/// [`Unplannable`] if bays or people share a code.
pub fn still_good<'p>(
    span: Interval,
    bays: &[Bay],
    people: &[Technician],
    places: impl IntoIterator<Item = (&'p Plan, &'p Placement)>,
) -> Result<Vec<bool>, Unplannable> {
    let horizon = Horizon::new(span.from(), span.to(), Minutes::new(1))?;
    let empty = Diary::new(horizon, bays, &with_pairs(people))?;
    Ok(places.into_iter().map(|(plan, placement)| empty.check(plan, placement).is_ok()).collect())
}

#[cfg(test)]
mod tests {
    use alloc::collections::BTreeSet;
    use alloc::string::{String, ToString};
    use alloc::vec;

    use super::*;
    use crate::schedule::{PlacedStep, Step, Wait, Work};
    use crate::time::IntervalSet;

    fn set(pairs: &[(i64, i64)]) -> IntervalSet {
        pairs.iter().filter_map(|&(from, to)| Interval::new(Minute::new(from), Minute::new(to))).collect()
    }

    fn words(list: &[&str]) -> BTreeSet<String> {
        list.iter().map(ToString::to_string).collect()
    }

    fn bay() -> Bay {
        Bay { code: "B1".into(), features: words(&["cover"]), open: set(&[(480, 1080)]), held: IntervalSet::EMPTY }
    }

    fn person() -> Technician {
        Technician {
            code: "T1".into(),
            skills: words(&["polish"]),
            working: set(&[(480, 1080)]),
            busy: IntervalSet::EMPTY,
        }
    }

    /// A polish under cover from 600 to 720, checked at `now`.
    fn asked(bays: &[Bay], people: &[Technician], now: i64) -> Vec<Obstacle> {
        let step = Step {
            code: "polish".into(),
            minutes: Minutes::new(120),
            skills: words(&["polish"]),
            work: Work::Whole,
            wait: Wait::NONE,
        };
        let plan = Plan::new(words(&["cover"]), vec![step]).unwrap();
        let placement = Placement {
            bay: "B1".into(),
            start: Minute::new(600),
            finish: Minute::new(720),
            steps: vec![PlacedStep {
                code: "polish".into(),
                technician: Some("T1".into()),
                pieces: vec![Interval::new(Minute::new(600), Minute::new(720)).unwrap()],
            }],
        };
        obstacles(bays, people, &plan, &placement, Minute::new(now))
    }

    #[test]
    fn a_place_in_an_unchanged_shop_can_be_kept() {
        assert_eq!(asked(&[bay()], &[person()], 0), []);
    }

    #[test]
    fn each_change_that_breaks_a_place_is_named() {
        let someone = || "T1".to_string();
        assert_eq!(asked(&[], &[person()], 0), [Obstacle::NoBay]);
        let bare = Bay { features: words(&[]), ..bay() };
        assert_eq!(asked(&[bare], &[person()], 0), [Obstacle::Feature { feature: "cover".into() }]);
        let late = Bay { open: set(&[(660, 1080)]), ..bay() };
        assert_eq!(asked(&[late], &[person()], 0), [Obstacle::Closed]);
        assert_eq!(asked(&[bay()], &[], 0), [Obstacle::NobodyThere { person: someone() }]);
        let away = Technician { working: set(&[(480, 700)]), ..person() };
        assert_eq!(asked(&[bay()], &[away], 0), [Obstacle::Away { person: someone() }]);
        let unskilled = Technician { skills: words(&[]), ..person() };
        let skill = Obstacle::Skill { person: someone(), step: "polish".into(), skill: "polish".into() };
        assert_eq!(asked(&[bay()], &[unskilled], 0), [skill]);
    }

    #[test]
    fn what_is_past_breaks_nothing() {
        let away = Technician { working: set(&[(480, 650)]), ..person() };
        let closed = Bay { open: set(&[(480, 600)]), ..bay() };
        assert_eq!(asked(&[bay()], core::slice::from_ref(&away), 649), [Obstacle::Away { person: "T1".into() }]);
        assert_eq!(asked(&[closed], &[away], 720), []);
    }
}
