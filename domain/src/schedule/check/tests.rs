//! One placement that keeps every rule, and one change for each rule to break.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec;

use super::*;
use crate::schedule::{Bay, Horizon, Technician, Wait, WaitWhen, Work};
use crate::time::IntervalSet;

fn interval(from: i64, to: i64) -> Interval {
    Interval::new(Minute::new(from), Minute::new(to)).unwrap()
}

fn set(pairs: &[(i64, i64)]) -> IntervalSet {
    pairs.iter().map(|(from, to)| interval(*from, *to)).collect()
}

fn words(list: &[&str]) -> BTreeSet<String> {
    list.iter().map(|word| (*word).into()).collect()
}

/// Two days, bay open 08:00 to 18:00 on both.
fn diary() -> Diary {
    let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap();
    let open = set(&[(480, 1080), (1920, 2520)]);
    let bay = |code: &str, features: &[&str], held: &[(i64, i64)]| Bay {
        code: code.into(),
        features: words(features),
        open: open.clone(),
        held: set(held),
    };
    let technician = |code: &str, skills: &[&str], working: &[(i64, i64)]| Technician {
        code: code.into(),
        skills: words(skills),
        working: set(working),
        busy: set(&[(600, 615)]),
    };
    let bays = [bay("B1", &["cover"], &[(0, 480), (2000, 2880)]), bay("B2", &[], &[])];
    let people = [technician("T1", &["polish"], &[(470, 1090), (1900, 2520)]), technician("T2", &[], &[(480, 1080)])];
    Diary::new(horizon, &bays, &people).unwrap()
}

/// Polishing for an hour and a half in pieces of half an hour or more, then curing through the night.
fn plan() -> Plan {
    let polish = Step {
        code: "polish".into(),
        minutes: Minutes::new(90),
        skills: words(&["polish"]),
        work: Work::Pieces { smallest: Minutes::new(30) },
        wait: Wait { minutes: Minutes::new(10), when: WaitWhen::Open },
    };
    let coat = Step {
        code: "coat".into(),
        minutes: Minutes::new(30),
        skills: words(&[]),
        work: Work::Whole,
        wait: Wait { minutes: Minutes::new(720), when: WaitWhen::Any },
    };
    let cured = Step { code: "cured".into(), minutes: Minutes::ZERO, wait: Wait::NONE, ..polish.clone() };
    Plan::new(words(&["cover"]), vec![polish, coat, cured]).unwrap()
}

fn placement() -> Placement {
    let step = |code: &str, technician: Option<&str>, pieces: &[(i64, i64)]| PlacedStep {
        code: code.into(),
        technician: technician.map(Into::into),
        pieces: pieces.iter().map(|(from, to)| interval(*from, *to)).collect(),
    };
    Placement {
        bay: "B1".into(),
        start: Minute::new(480),
        finish: Minute::new(1450),
        steps: vec![
            step("polish", Some("T1"), &[(560, 600), (615, 665)]),
            step("coat", Some("T2"), &[(700, 730)]),
            step("cured", None, &[]),
        ],
    }
}

const OFF_SLOT: Obstacle = Obstacle::OffSlot { slot: Minutes::new(15) };

/// Obstacle that a step differs from the plan's.
fn other(step: &str) -> Obstacle {
    Obstacle::OtherWork { step: Some(step.into()) }
}

fn check(change: impl Fn(&mut Placement)) -> Result<(), Obstacle> {
    let mut changed = placement();
    change(&mut changed);
    diary().check(&plan(), &changed)
}

fn cut(placement: &mut Placement, pieces: &[(i64, i64)]) {
    placement.steps[0].pieces = pieces.iter().map(|(from, to)| interval(*from, *to)).collect();
}

#[test]
fn a_placement_need_not_be_the_best_to_keep_the_rules() {
    assert_eq!(check(|p| p.finish = Minute::new(1450)), Ok(()));
    assert_eq!(check(|p| p.start = Minute::new(495)), Ok(()));
}

#[test]
fn the_bay_exists_has_the_features_and_is_free() {
    assert_eq!(check(|p| p.bay = "B3".into()), Err(Obstacle::NoBay));
    let lacking = Obstacle::Feature { feature: "cover".into() };
    assert_eq!(check(|p| p.bay = "B2".into()), Err(lacking));
    assert_eq!(check(|p| p.finish = Minute::new(2001)), Err(Obstacle::BayTaken(Holder::Faster)));
    assert_eq!(check(|p| p.finish = Minute::new(2881)), Err(Obstacle::BayTaken(Holder::Faster)));
}

#[test]
fn the_start_is_a_slot_in_open_time() {
    assert_eq!(check(|p| p.start = Minute::new(481)), Err(OFF_SLOT));
    assert_eq!(check(|p| p.start = Minute::new(-15)), Err(OFF_SLOT));
    assert_eq!(check(|p| p.start = Minute::new(465)), Err(Obstacle::Closed));
}

#[test]
fn the_steps_are_the_plans() {
    assert_eq!(check(|p| p.steps.truncate(2)), Err(OTHER_WORK));
    assert_eq!(check(|p| p.steps.swap(0, 1)), Err(OTHER_WORK));
}

#[test]
fn a_step_has_a_technician_exactly_if_it_has_minutes() {
    assert_eq!(check(|p| p.steps[2].technician = Some("T1".into())), Err(other("cured")));
    assert_eq!(check(|p| p.steps[0].technician = None), Err(other("polish")));
    assert_eq!(check(|p| p.steps[1].pieces.clear()), Err(other("coat")));
    let unknown = Obstacle::NobodyThere { person: "T9".into() };
    assert_eq!(check(|p| p.steps[0].technician = Some("T9".into())), Err(unknown));
    let lacking = Obstacle::Skill { person: "T2".into(), step: "polish".into(), skill: "polish".into() };
    assert_eq!(check(|p| p.steps[0].technician = Some("T2".into())), Err(lacking));
}

#[test]
fn no_step_begins_before_the_one_before_and_its_wait_have_ended() {
    assert_eq!(check(|p| p.start = Minute::new(570)), Err(other("polish")));
    assert_eq!(check(|p| p.steps[1].pieces = vec![interval(674, 704)]), Err(other("coat")));
    assert_eq!(check(|p| p.steps[1].pieces = vec![interval(675, 705)]), Err(OTHER_WORK));
}

#[test]
fn pieces_are_as_the_step_allows() {
    let broken = Err(other("polish"));
    for pieces in [
        &[(560, 600), (615, 664)][..],
        &[(571, 600), (615, 676)],
        &[(615, 650), (560, 615)],
        &[(500, 545), (545, 590)],
        &[(615, 660), (640, 685)],
    ] {
        assert_eq!(check(|p| cut(p, pieces)), broken, "{pieces:?}");
    }
    // The last one may be short.
    assert_eq!(check(|p| cut(p, &[(520, 600), (615, 625)])), Ok(()));
    assert_eq!(check(|p| p.steps[1].pieces = vec![interval(700, 715), interval(716, 731)]), Err(other("coat")));
}

#[test]
fn attended_minutes_lie_in_free_working_time_and_open_time() {
    let busy = Obstacle::Busy { person: "T1".into(), step: "polish".into() };
    assert_eq!(check(|p| cut(p, &[(560, 601), (615, 664)])), Err(busy));
    let away = Obstacle::Away { person: "T1".into() };
    assert_eq!(check(|p| cut(p, &[(1040, 1130)])), Err(away));
    assert_eq!(check(|p| cut(p, &[(1000, 1090)])), Err(Obstacle::Closed));
}

#[test]
fn the_finish_is_the_end_of_the_last_wait_at_its_minimum() {
    for finish in [1449, 1451] {
        assert_eq!(check(|p| p.finish = Minute::new(finish)), Err(OTHER_WORK));
    }
    assert_eq!(check(|p| p.finish = p.start), Err(OTHER_WORK));
}
