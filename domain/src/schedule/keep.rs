//! Finds obstacles to booked places after the shop's hours, closures, absences, features or skills changed.
//!
//! Only the future counts, and each piece of work is checked by itself. A place may have been changed by hand since it
//! was planned, for example because a car stays longer; that alone is no obstacle.

use alloc::vec::Vec;

use super::pair::is_persons;
use super::stays::{Moving, StepOrder, Visit};
use super::{Bay, Diary, Horizon, Obstacle, Technician, Unplannable, with_pairs};
use crate::time::{Interval, Minute, Minutes};

/// The obstacles to a visit by this order from `now` on, each once. Other bookings don't count as obstacles, nor does a
/// bay that the car has left.
pub fn obstacles(bays: &[Bay], people: &[Technician], order: &StepOrder, visit: &Visit, now: Minute) -> Vec<Obstacle> {
    let mut found = Vec::new();
    let mut work: Vec<Vec<Interval>> = visit.stays.iter().map(|_| Vec::new()).collect();
    for (place, step) in visit.steps.iter().enumerate() {
        let ahead = |piece: &Interval| Interval::new(piece.from().max(now), piece.to());
        let pieces: Vec<Interval> = step.pieces.iter().filter_map(ahead).collect();
        let needs = order.plan().steps().iter().find(|planned| planned.code == step.code);
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
        if let Some(there) = work.get_mut(visit.stay_of(place)) {
            there.extend(pieces);
        }
    }
    for (at, (stay, work)) in visit.stays.iter().zip(&work).enumerate() {
        let was_left = stay.to <= now && at + 1 < visit.stays.len();
        if was_left {
            continue;
        }
        let Some(bay) = bays.iter().find(|bay| bay.code == stay.bay) else {
            found.push(Obstacle::NoBay);
            continue;
        };
        let here = order.needs().iter().enumerate().filter(|(place, _)| visit.stay_of(*place) == at);
        let lacking = here.flat_map(|(_, needs)| needs.difference(&bay.features)).cloned();
        found.extend(lacking.map(|feature| Obstacle::Feature { feature }));
        let comes = at == 0 && visit.start >= now;
        if comes && !bay.open.contains(visit.start) || !work.iter().all(|piece| bay.open.covers(*piece)) {
            found.push(Obstacle::Closed);
        }
    }
    found.sort();
    found.dedup();
    found
}

/// Whether each of these booked places still keeps every rule of the diary, with nothing else booked: it may be for two
/// people, its car may change bays, and it need not start on a slot, since slots may have been different when it was
/// booked.
///
/// # Errors
/// [`Unplannable`] if bays or people share a code.
pub fn still_good<'p>(
    span: Interval,
    bays: &[Bay],
    people: &[Technician],
    places: impl IntoIterator<Item = (&'p StepOrder, Moving, &'p Visit)>,
) -> Result<Vec<bool>, Unplannable> {
    let horizon = Horizon::new(span.from(), span.to(), Minutes::new(1))?;
    let empty = Diary::new(horizon, bays, &with_pairs(people))?;
    let good = |(order, moving, visit): (&StepOrder, Moving, &Visit)| empty.check_visit(order, moving, visit).is_ok();
    Ok(places.into_iter().map(good).collect())
}

#[cfg(test)]
mod tests {
    use alloc::collections::BTreeSet;
    use alloc::string::{String, ToString};
    use alloc::vec;

    use super::*;
    use crate::schedule::stays::{Stay, StayStep};
    use crate::schedule::{Holds, PlacedStep, Placement, Step, Wait, Work};
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
        let step = StayStep { step, features: words(&["cover"]), holds: Holds::Car };
        let order = StepOrder::new(&words(&[]), vec![step], Minutes::ZERO).unwrap();
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
        obstacles(bays, people, &order, &Visit::from(placement), Minute::new(now))
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

    #[test]
    fn each_bay_of_a_car_that_changes_bays_is_checked_for_its_own_steps_until_the_car_leaves_it() {
        let step = |code: &str, feature: &str| StayStep {
            step: Step {
                code: code.into(),
                minutes: Minutes::new(60),
                skills: words(&[]),
                work: Work::Whole,
                wait: Wait::NONE,
            },
            features: words(&[feature]),
            holds: Holds::Car,
        };
        let steps = vec![step("wash", "drain"), step("coat", "cover")];
        let order = StepOrder::new(&words(&[]), steps, Minutes::ZERO).unwrap();
        let placed = |code: &str, from, to| PlacedStep {
            code: code.into(),
            technician: Some("T1".into()),
            pieces: Interval::new(Minute::new(from), Minute::new(to)).into_iter().collect(),
        };
        let stay = |bay: &str, from, to| Stay { bay: bay.into(), from: Minute::new(from), to: Minute::new(to) };
        let visit = Visit {
            order: 0,
            start: Minute::new(480),
            finish: Minute::new(600),
            stays: vec![stay("W", 480, 540), stay("B1", 540, 600)],
            steps: vec![placed("wash", 480, 540), placed("coat", 540, 600)],
        };
        let wash_bay = Bay { code: "W".into(), features: words(&["drain"]), ..bay() };
        let found = |bays: &[Bay], now| obstacles(bays, &[person()], &order, &visit, Minute::new(now));
        assert_eq!(found(&[wash_bay.clone(), bay()], 0), []);
        let shut = Bay { open: set(&[(540, 1080)]), ..wash_bay.clone() };
        assert_eq!(found(&[shut.clone(), bay()], 0), [Obstacle::Closed]);
        assert_eq!(found(&[shut, bay()], 540), [], "the car has left the wash bay");
        let bare = Bay { features: words(&["drain"]), ..bay() };
        assert_eq!(found(&[wash_bay.clone(), bare], 0), [Obstacle::Feature { feature: "cover".into() }]);
        assert_eq!(found(&[wash_bay], 0), [Obstacle::NoBay]);
        let good = |minutes| {
            let moving = Moving { max_stays: Moving::USUAL.max_stays, minutes: Minutes::new(minutes) };
            let bays = [Bay { code: "W".into(), features: words(&["drain"]), ..bay() }, bay()];
            let span = Interval::new(Minute::new(0), Minute::new(1440)).unwrap();
            still_good(span, &bays, &[person()], [(&order, moving, &visit)]).unwrap()
        };
        // Booked while moves took no time.
        assert_eq!((good(0), good(10)), (vec![true], vec![false]));
    }
}
