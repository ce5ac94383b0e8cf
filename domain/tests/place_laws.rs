//! Rules of a place that somebody asks for: why it can't be had, and what would be done in time instead.
use baywright_domain::plan::{Hands, PlaceWanted, ServiceUnits, WorkPlan, without_one, work_plan};
use baywright_domain::schedule::stays::{Moving, Visit};
use baywright_domain::schedule::{Bay, Diary, Holder, Horizon, Obstacle, Taken, Technician};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};

use crate::studio::{code, codes, medium, menu};

/// Eight to six on ten days.
fn days() -> IntervalSet {
    (0..10).map(|day| stretch(day * 1440 + 480, day * 1440 + 1080)).collect()
}

fn stretch(from: i64, to: i64) -> Interval {
    Interval::new(Minute::new(from), Minute::new(to)).unwrap()
}

fn horizon() -> Horizon {
    Horizon::new(Minute::new(0), Minute::new(14_400), Minutes::new(15)).unwrap()
}

fn bays() -> Vec<Bay> {
    let bay = |name: &str, features: &[&str]| Bay {
        code: name.to_owned(),
        features: features.iter().map(ToString::to_string).collect(),
        open: days(),
        held: IntervalSet::EMPTY,
    };
    vec![bay("hall", &["cover", "dust-free"]), bay("yard", &["cover"])]
}

fn people(skills: &[&str]) -> Vec<Technician> {
    let skills = skills.iter().map(ToString::to_string).collect();
    vec![Technician { code: "ada".to_owned(), skills, working: days(), busy: IntervalSet::EMPTY }]
}

fn work(services: &[&str]) -> WorkPlan {
    work_plan(&menu(), &codes(services), medium(), Hands::One).unwrap()
}

fn taken(owner: &str, from: i64, to: i64) -> Taken {
    Taken { owner: owner.to_owned(), booking: "other".to_owned(), when: stretch(from, to) }
}

/// Reason why that work doesn't fit into a bay at a start, with what others have of the bays and the car.
fn why(services: &[&str], skills: &[&str], (bay, start): (&str, i64), held: &[Taken], car: &[Taken]) -> Obstacle {
    let (work, bays, technicians) = (work(services), bays(), people(skills));
    let wanted = PlaceWanted {
        horizon: horizon(),
        bays: &bays,
        technicians: &technicians,
        held,
        car,
        work: &work,
        moving: Moving::OFF,
        bay,
        start: Minute::new(start),
    };
    wanted.why_not().unwrap()
}

#[test]
fn a_place_that_would_do_is_taken_by_the_car_itself_by_another_or_for_want_of_people() {
    let (held, car) = ([taken("hall", 500, 520), taken("yard", 480, 500)], [taken("hall", 490, 500)]);
    let asked = |held: &[Taken], car: &[Taken]| why(&["wash-only"], &[], ("yard", 480), held, car);
    assert_eq!(asked(&held, &car), Obstacle::CarElsewhere { booking: "other".into(), when: stretch(490, 500) });
    assert_eq!(asked(&held, &[]), Obstacle::BayTaken(Holder::Booking("other".into(), stretch(480, 500))));
    assert_eq!(asked(&held[..1], &[]), Obstacle::PeopleBusy, "only the other bay has a car");
    let touching = [taken("yard", 0, 480)];
    assert_eq!(asked(&touching, &[]), Obstacle::PeopleBusy, "a place that touches is no obstacle");
}

#[test]
fn a_place_that_never_does_says_what_is_missing_first() {
    let coating = |skills: &[&str], bay, start| why(&["coating"], skills, (bay, start), &[], &[]);
    assert_eq!(coating(&[], "attic", 480), Obstacle::NoBay);
    assert_eq!(coating(&[], "yard", 481), Obstacle::Feature { feature: "dust-free".into() });
    let unable = Obstacle::NobodyAble { step: "POLISH".into(), skills: vec!["correction".into()], two: false };
    assert_eq!(coating(&[], "hall", 481), unable);
    let skilled = &["correction"];
    assert_eq!(coating(skilled, "hall", 481), Obstacle::OffSlot { slot: Minutes::new(15) });
    assert_eq!(coating(skilled, "hall", 465), Obstacle::Closed);
    assert_eq!(coating(skilled, "hall", 9 * 1440 + 1065), Obstacle::NeverEnds { days: 10 });
}

#[test]
fn what_is_not_done_in_time_may_be_without_a_service() {
    let diary = Diary::new(horizon(), &bays(), &people(&[])).unwrap();
    let (from, by) = (Minute::new(480), Minute::new(1080));
    let alone = |service: &str| diary.search(&work(&[service]).to_schedule().unwrap()).earliest(from).unwrap();
    let services: Vec<ServiceUnits> = codes(&["interior", "wash-only"]).into_iter().map(Into::into).collect();
    let less = |by| without_one(&menu(), &services, (medium(), Hands::One), &diary, |_| Moving::OFF, (from, by));
    let washed = alone("wash-only");
    assert!(less(by).contains(&(code("interior"), Visit::from(washed.clone()))), "a wash is done within a day");
    assert_eq!(less(washed.finish - Minutes::new(1)), []);
}

#[test]
fn two_visits_follow_each_other_and_none_are_done_sooner() {
    let diary = Diary::new(horizon(), &bays(), &people(&[])).unwrap();
    let both = work(&["interior", "wash-only"]);
    let split = |by| both.soonest_in_two_visits(&diary, Minute::new(480), by);
    let (second, [one, two]) = split(Minute::new(14_400)).unwrap();
    assert!(both.steps.iter().skip(1).any(|step| step.code == *second));
    assert!(one.finish <= two.start);
    assert_eq!(split(two.finish - Minutes::new(1)), None);
}

#[test]
fn a_car_that_changes_bays_is_refused_for_its_first_bay_or_for_one_that_is_taken_later() {
    let (work, technicians) = (work(&["coating"]), people(&["correction"]));
    let bay = |name: &str, features: &[&str]| Bay {
        code: name.to_owned(),
        features: features.iter().map(ToString::to_string).collect(),
        open: days(),
        held: IntervalSet::EMPTY,
    };
    // The coating needs cover and a bay without dust; the car may be washed anywhere.
    let bays = [bay("wash", &["drain"]), bay("hall", &["cover", "dust-free"])];
    let why = |bay: &str, start, held: &[Taken]| {
        let wanted = PlaceWanted {
            horizon: horizon(),
            bays: &bays,
            technicians: &technicians,
            held,
            car: &[],
            work: &work,
            moving: Moving::USUAL,
            bay,
            start: Minute::new(start),
        };
        wanted.why_not().unwrap()
    };
    let held = [taken("wash", 0, 480), taken("hall", 480, 14_400)];
    assert_eq!(why("wash", 480, &held), Obstacle::BayTaken(Holder::Booking("other".into(), stretch(480, 14_400))));
    assert_eq!(why("wash", 481, &[]), Obstacle::OffSlot { slot: Minutes::new(15) });
    assert_eq!(why("attic", 480, &[]), Obstacle::NoBay);
}
