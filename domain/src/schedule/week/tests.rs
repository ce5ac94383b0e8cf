//! Weeks worked out by hand.

use alloc::collections::BTreeSet;
use alloc::string::ToString;
use alloc::vec;

use super::*;
use crate::schedule::{Bay, Horizon, Placement, Plan, Step, Technician, Wait, WaitWhen, Work};
use crate::time::{Interval, IntervalSet, Minutes};

mod late;
mod moving;

const DAY: i64 = 1440;

fn set(pairs: &[(i64, i64)]) -> IntervalSet {
    pairs.iter().filter_map(|&(from, to)| Interval::new(Minute::new(from), Minute::new(to))).collect()
}

fn words(list: &[&str]) -> BTreeSet<String> {
    list.iter().map(ToString::to_string).collect()
}

fn step(code: &str, minutes: u32, skill: &str) -> Step {
    let skills = if skill.is_empty() { words(&[]) } else { words(&[skill]) };
    Step { code: code.into(), minutes: Minutes::new(minutes), skills, work: Work::Whole, wait: Wait::NONE }
}

fn curing(minutes: u32, skill: &str, wait: u32) -> Step {
    Step { wait: Wait { minutes: Minutes::new(wait), when: WaitWhen::Any }, ..step("cure", minutes, skill) }
}

fn job(code: &str, due: i64, steps: Vec<Step>) -> Job {
    Job {
        code: code.into(),
        order: Plan::new(words(&[]), steps).unwrap().into(),
        moving: Moving::OFF,
        arrives: Minute::new(0),
        due: Minute::new(due),
        weight: NonZeroU32::MIN,
        latest: None,
        promised: None,
    }
}

/// Three days, 08:00 to 18:00, with that number of bays; people by their skills.
fn diary(bays: usize, people: &[&[&str]]) -> Diary {
    let horizon = Horizon::new(Minute::new(0), Minute::new(3 * DAY), Minutes::new(15)).unwrap();
    let open = set(&[(480, 1080), (DAY + 480, DAY + 1080), (2 * DAY + 480, 2 * DAY + 1080)]);
    let bay =
        |n| Bay { code: alloc::format!("B{n}"), features: words(&[]), open: open.clone(), held: IntervalSet::EMPTY };
    let bays: Vec<Bay> = (0..bays).map(bay).collect();
    let person = |(n, skills): (usize, &&[&str])| Technician {
        code: alloc::format!("T{n}"),
        skills: words(skills),
        working: open.clone(),
        busy: IntervalSet::EMPTY,
    };
    let people: Vec<Technician> = people.iter().enumerate().map(person).collect();
    Diary::new(horizon, &bays, &people).unwrap()
}

fn solve(diary: &Diary, jobs: Vec<Job>) -> Answer {
    week(&Problem::new(diary.clone(), jobs).unwrap(), &Budget::of_nodes(100_000))
}

/// The week, with every visit checked against a diary in which the others are booked.
fn placed(diary: &Diary, jobs: Vec<Job>) -> Week {
    let Answer::Placed(week) = solve(diary, jobs.clone()) else { panic!("not all fit") };
    for (job, (code, visit)) in jobs.iter().zip(&week.visits) {
        assert_eq!(job.code, *code);
        let mut rest = diary.clone();
        week.visits.iter().filter(|(other, _)| other != code).for_each(|(_, other)| rest.book_visit(other));
        assert_eq!(rest.check_visit(&job.order, job.moving, visit), Ok(()), "{code}");
    }
    week
}

fn finishes(week: &Week) -> Vec<i64> {
    week.visits.iter().map(|(_, visit)| visit.finish.get()).collect()
}

fn told(bay: &str, start: i64, finish: i64) -> Placement {
    Placement { bay: bay.into(), start: Minute::new(start), finish: Minute::new(finish), steps: Vec::new() }
}

#[test]
fn no_jobs_are_placed_at_once() {
    let week = placed(&diary(1, &[&[]]), vec![]);
    assert_eq!((week.visits.len(), week.finish, week.bound, week.proven), (0, None, Bound::Finish(None), true));
}

#[test]
fn jobs_of_one_code_are_refused() {
    let jobs = vec![job("A", 600, vec![step("wash", 60, "")]), job("A", 600, vec![step("wash", 60, "")])];
    let refused = Problem::new(diary(1, &[&[]]), jobs).map(|_| ());
    assert_eq!(refused, Err(Unplannable::SameCode { what: "jobs", code: "A".into() }));
}

#[test]
fn the_heavier_job_is_late_for_less() {
    // One bay, one person, two jobs of two hours, both due after two and a half.
    let light = job("light", 630, vec![step("wash", 120, "")]);
    let heavy = Job { weight: NonZeroU32::new(3).unwrap(), ..job("heavy", 630, vec![step("wash", 120, "")]) };
    let week = placed(&diary(1, &[&[]]), vec![light, heavy]);
    assert_eq!((finishes(&week), week.lateness), (vec![720, 600], 90));
    assert_eq!((week.bound, week.proven), (Bound::Lateness(90), true));
}

#[test]
fn steps_of_two_cars_take_turns() {
    // While one car cures, the only technician works on the other: whole jobs one after another would take longer.
    let steps = || vec![curing(60, "", 60), step("buff", 60, "")];
    let week = placed(&diary(2, &[&[]]), vec![job("A", DAY, steps()), job("B", DAY, steps())]);
    assert_eq!((week.finish, week.lateness, week.standing), (Some(Minute::new(720)), 0, 2 * 180));
    assert_eq!((week.bound, week.proven), (Bound::Finish(Some(Minute::new(720))), true));
}

#[test]
fn a_car_comes_as_late_as_its_finish_allows() {
    // B's polisher is busy with A until 12:00; B need not be in its bay from 08:00 on.
    let a = job("A", 720, vec![step("polish", 240, "polish")]);
    let b = job("B", DAY, vec![step("wash", 60, "wash"), step("polish", 60, "polish")]);
    let week = placed(&diary(2, &[&["polish"], &["wash"]]), vec![a, b]);
    assert_eq!((finishes(&week), week.standing), (vec![720, 780], 240 + 120));
}

#[test]
fn a_told_start_stays_though_the_car_would_stand_for_less_from_a_later_one_on() {
    // As above, but B's customer was told to come at 08:00.
    let a = job("A", 720, vec![step("polish", 240, "polish")]);
    let b = Job {
        promised: Some(told("B1", 480, 780).into()),
        ..job("B", DAY, vec![step("wash", 60, "wash"), step("polish", 60, "polish")])
    };
    let week = placed(&diary(2, &[&["polish"], &["wash"]]), vec![a, b]);
    assert_eq!((finishes(&week), week.standing), (vec![720, 780], 240 + 300));
    assert_eq!((week.visits[1].1.start, week.moved.len(), week.proven), (Minute::new(480), 0, true));
}

#[test]
fn a_start_that_cannot_be_kept_is_a_promise_that_moves_though_the_car_is_ready_in_time() {
    let mut shop = diary(1, &[&[]]);
    shop.book(&told("B0", 480, 600));
    let promised = Job { promised: Some(told("B0", 480, 780).into()), ..job("A", 780, vec![step("wash", 60, "")]) };
    let week = placed(&shop, vec![promised]);
    let [Moved { before, after, .. }] = &week.moved[..] else { panic!("{week:?}") };
    assert_eq!(before.0, Minute::new(480));
    assert!(after.0 >= Minute::new(600) && after.1 <= before.1, "{week:?}");
    assert!(week.proven, "no week keeps that start: {week:?}");
}

/// The only polisher works on another car until the evening, in the other bay: so the obstacle is the person, not the
/// bay.
#[test]
fn a_car_in_another_bay_moves_because_of_the_person_that_it_needs() {
    let told = Placement {
        steps: vec![PlacedStep {
            code: "polish".into(),
            technician: Some("T0".into()),
            pieces: vec![Interval::new(Minute::new(480), Minute::new(600)).unwrap()],
        }],
        ..told("B1", 480, 600)
    };
    let job = Job { promised: Some(told.clone().into()), ..job("A", 600, vec![step("polish", 120, "polish")]) };
    let mut shop = diary(2, &[&["polish"]]);
    let free = Problem::new(shop.clone(), vec![job.clone()]).unwrap();
    assert_eq!(placed(&shop, vec![job.clone()]).cause(&free, &job), None);
    shop.book(&Placement { bay: "B0".into(), finish: Minute::new(1080), ..told.clone() });
    let problem = Problem::new(shop.clone(), vec![job.clone()]).unwrap();
    let cause = placed(&shop, vec![job.clone()]).cause(&problem, &job);
    assert_eq!(
        cause,
        Some(Cause::Obstacle(crate::schedule::Obstacle::Busy { person: "T0".into(), step: "polish".into() }))
    );
}

#[test]
fn a_car_that_makes_room_says_for_which() {
    let washed = PlacedStep {
        code: "wash".into(),
        technician: Some("T0".into()),
        pieces: vec![Interval::new(Minute::new(480), Minute::new(600)).unwrap()],
    };
    let moves = |bay| Job {
        promised: Some(Placement { steps: vec![washed.clone()], ..told(bay, 480, 600) }.into()),
        ..job("A", 600, vec![step("wash", 120, "")])
    };
    let hurried = Job { latest: Some(Minute::new(600)), ..job("B", 600, vec![step("wash", 120, "")]) };
    let cause = |bays, bay| {
        let (shop, jobs) = (diary(bays, &[&[]]), vec![moves(bay), hurried.clone()]);
        let (week, problem) = (placed(&shop, jobs.clone()), Problem::new(shop, jobs.clone()).unwrap());
        assert_eq!(week.cause(&problem, &hurried), None);
        week.cause(&problem, &jobs[0])
    };
    assert_eq!(cause(1, "B0"), Some(Cause::Bay { bay: "B0".into(), job: "B".into() }));
    assert_eq!(cause(2, "B1"), Some(Cause::Technician { technician: "T0".into(), job: "B".into() }));
}

#[test]
fn a_job_that_need_not_be_early_stands_for_less_elsewhere() {
    // A is the last to finish in any case. B could begin today and stand overnight, or be done in one day.
    let a = job("A", 3 * DAY, vec![curing(60, "a", 1440), curing(60, "a", 500)]);
    let b = job("B", 3 * DAY, vec![step("wash", 300, "b"), step("wax", 300, "b")]);
    let mut shop = diary(2, &[&["a"], &["b"]]);
    shop.book(&Placement {
        bay: "none".into(),
        start: Minute::new(480),
        finish: Minute::new(540),
        steps: vec![PlacedStep {
            code: "else".into(),
            technician: Some("T1".into()),
            pieces: vec![Interval::new(Minute::new(480), Minute::new(540)).unwrap()],
        }],
    });
    let week = placed(&shop, vec![a, b]);
    assert_eq!(week.visits[1].1.start, Minute::new(DAY + 480));
    assert_eq!(week.standing, 60 + 1440 + 60 + 500 + 600);
}

#[test]
fn what_does_not_fit_is_named() {
    let long = |code| job(code, DAY, vec![step("wash", 600, "")]);
    let answer = solve(&diary(1, &[&[]]), vec![long("A"), long("B"), long("C"), long("D")]);
    let Answer::Unplaced { jobs, .. } = answer else { panic!("{answer:?}") };
    assert_eq!(jobs.len(), 1);
    let nobody = job("X", DAY, vec![step("sand", 60, "sand")]);
    let answer = solve(&diary(1, &[&[]]), vec![nobody, long("A")]);
    assert_eq!(answer, Answer::Unplaced { jobs: vec!["X".into()], proven: true });
}

#[test]
fn no_job_finishes_after_its_latest() {
    let first = job("A", 600, vec![step("wash", 120, "")]);
    let hard = Job { latest: Some(Minute::new(610)), ..job("B", 900, vec![step("wash", 120, "")]) };
    let week = placed(&diary(1, &[&[]]), vec![first.clone(), hard.clone()]);
    assert_eq!((finishes(&week), week.lateness), (vec![720, 600], 120));
    let harder = Job { latest: Some(Minute::new(599)), ..hard };
    let answer = solve(&diary(1, &[&[]]), vec![first, harder]);
    assert_eq!(answer, Answer::Unplaced { jobs: vec!["B".into()], proven: true });
}

#[test]
fn a_promise_is_kept_though_others_are_late_for_it() {
    let promised = Job { promised: Some(told("B0", 480, 600).into()), ..job("A", DAY, vec![step("wash", 120, "")]) };
    let hurried = Job { weight: NonZeroU32::new(9).unwrap(), ..job("B", 600, vec![step("wash", 120, "")]) };
    let week = placed(&diary(1, &[&[]]), vec![promised, hurried]);
    assert_eq!((finishes(&week), week.lateness, week.moved), (vec![600, 720], 9 * 120, vec![]));
}

#[test]
fn a_car_need_not_come_sooner_than_its_customer_was_told() {
    let promised = Job { promised: Some(told("B0", 900, 1020).into()), ..job("A", 1020, vec![step("wash", 60, "")]) };
    let week = placed(&diary(1, &[&[]]), vec![promised]);
    assert!(week.visits[0].1.start >= Minute::new(900), "{week:?}");
    assert_eq!(week.moved, []);
}

#[test]
fn as_few_promises_as_possible_move_and_each_is_listed() {
    // An overrun takes the bay until 10:00. Of three promises in a row one has to move; only the last one has room to.
    let mut shop = diary(1, &[&[]]);
    let overrun = Placement { bay: "B0".into(), start: Minute::new(480), finish: Minute::new(600), steps: Vec::new() };
    shop.book(&overrun);
    let job = |code, start: i64, finish: i64| Job {
        arrives: Minute::new(480),
        promised: Some(told("B0", start, finish).into()),
        ..job(code, finish, vec![step("wash", 120, "")])
    };
    let jobs = vec![job("A", 540, 660), job("B", 660, 780), job("C", 780, 960)];
    let week = placed(&shop, jobs);
    assert_eq!(week.moved.len(), 1, "{week:?}");
    let Moved { before, after, .. } = &week.moved[0];
    assert!(before != after);
}

#[test]
fn the_same_budget_gives_the_same_answer() {
    let jobs = || -> Vec<Job> {
        (0..7)
            .map(|n| {
                let steps = vec![curing(30 + 15 * n, "a", 45), step("wash", 60, ""), step("wax", 45, "b")];
                job(&alloc::format!("J{n}"), 700 + 60 * i64::from(n % 3), steps)
            })
            .collect()
    };
    let shop = diary(2, &[&["a"], &["b"], &["a", "b"]]);
    assert_eq!(placed(&shop, jobs()), placed(&shop, jobs()));
}

#[test]
fn a_caller_may_stop_the_search() {
    let asked = core::cell::Cell::new(0);
    let stop = || {
        asked.set(asked.get() + 1);
        true
    };
    let steps = || vec![curing(30, "a", 45), step("wash", 60, ""), step("wax", 45, "b")];
    let jobs = (0..8).map(|n| job(&alloc::format!("J{n}"), 600, steps())).collect();
    let problem = Problem::new(diary(2, &[&["a"], &["b"]]), jobs).unwrap();
    let answer = week(&problem, &Budget { nodes: u64::MAX, stop: Some(&stop) });
    assert!(matches!(answer, Answer::Placed(_)) && asked.get() > 0);
}

#[test]
fn one_more_job_that_fits_in_moves_nothing() {
    let shop = diary(1, &[&[]]);
    let there = Job { promised: Some(told("B0", 480, 600).into()), ..job("A", 600, vec![step("wash", 120, "")]) };
    let more = job("B", 900, vec![step("wash", 60, "")]);
    let answer = what_if(&shop, &[there], &more, &Budget::of_nodes(50_000)).unwrap();
    let WhatIf::FitsIn(visit) = answer else { panic!("{answer:?}") };
    assert_eq!((visit.start, visit.finish), (Minute::new(600), Minute::new(660)));
}

#[test]
fn one_more_job_says_which_promises_move_for_it() {
    let shop = diary(1, &[&[]]);
    let there = |code, start: i64| Job {
        promised: Some(told("B0", start, start + 300).into()),
        ..job(code, start + 300, vec![step("wash", 300, "")])
    };
    let jobs = [there("A", 480), there("B", 780)];
    let more = job("C", 1080, vec![step("wash", 60, "")]);
    let budget = Budget::of_nodes(50_000);
    let answer = what_if(&shop, &jobs, &more, &budget).unwrap();
    let WhatIf::GivesWay { visit, others, moved } = answer else { panic!("{answer:?}") };
    assert!(visit.finish <= more.due);
    assert_eq!((moved.len(), others.iter().any(|(code, _)| *code == moved[0].job)), (1, true), "{moved:?}");
    // Not before its work is done, whatever else moves.
    let never = Job { due: Minute::new(530), ..more };
    assert_eq!(what_if(&shop, &jobs, &never, &budget).unwrap(), WhatIf::No { proven: true });
}

#[test]
fn cars_go_back_to_their_own_bays_where_nothing_is_lost_by_it() {
    // The search has put each of two cars into the other one's bay, and a third one into a bay that it can't leave.
    let wash = |start: i64| {
        let pieces = vec![Interval::new(Minute::new(start), Minute::new(start + 60)).unwrap()];
        vec![PlacedStep { code: "wash".into(), technician: Some("T0".into()), pieces }]
    };
    let at = |bay: &str, start: i64| Placement { steps: wash(start), ..told(bay, start, start + 60) };
    let booked = |code: &str, bay: &str, start: i64| Job {
        promised: Some(at(bay, start).into()),
        ..job(code, start + 60, vec![step("wash", 60, "")])
    };
    let mut shop = diary(3, &[&[], &[]]);
    shop.book(&told("B2", 480, 600));
    let jobs = vec![booked("A", "B0", 480), booked("B", "B1", 510), booked("C", "B2", 540)];
    let problem = Problem::new(shop, jobs).unwrap();
    let other = |start: i64| {
        let mut steps = wash(start);
        steps[0].technician = Some("T1".into());
        steps
    };
    let mut visits = vec![
        ("A".to_string(), at("B1", 480).into()),
        ("B".to_string(), Placement { steps: other(510), ..told("B0", 510, 570) }.into()),
        ("C".to_string(), at("B1", 540).into()),
    ];
    own_bay::keep(&problem, &mut visits);
    let bays = |visits: &[(String, Visit)]| -> Vec<String> {
        visits.iter().map(|(_, visit)| visit.last_bay().into()).collect()
    };
    // C's own bay is taken by another car, and where it is, B has no room: so B stays, and A with it.
    assert_eq!(bays(&visits), ["B1", "B0", "B1"]);
    visits[2].1 = at("B1", 600).into();
    own_bay::keep(&problem, &mut visits);
    assert_eq!(bays(&visits), ["B0", "B1", "B2"]);
}

#[test]
fn what_customers_were_told_is_where_the_search_begins() {
    // Twelve jobs over three days, promised as they were placed; then there is no time to search.
    let steps = |n: u32| vec![curing(30 + 15 * (n % 4), "a", 45), step("wash", 60, ""), step("wax", 45, "b")];
    let shop = diary(3, &[&["a"], &["b"], &["a", "b"]]);
    let mut jobs: Vec<Job> = (0..12).map(|n| job(&alloc::format!("J{n}"), 3 * DAY, steps(n))).collect();
    let week_before = placed(&shop, jobs.clone());
    for (job, (_, visit)) in jobs.iter_mut().zip(&week_before.visits) {
        job.promised = Some(visit.clone());
    }
    let Answer::Placed(again) = week(&Problem::new(shop, jobs).unwrap(), &Budget::of_nodes(0)) else {
        panic!("not all fit")
    };
    assert_eq!(again.moved, []);
}
