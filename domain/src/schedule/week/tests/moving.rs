//! Weeks of cars that change bays, and of people who work in pairs.

use super::*;
use crate::schedule::stays::StayStep;
use crate::schedule::{Holds, with_pairs};

/// At most three stays, and ten minutes for a move.
fn moving() -> Moving {
    Moving { max_stays: NonZeroU32::new(3).unwrap(), minutes: Minutes::new(10) }
}

/// A job of steps that each need one feature of their bay.
fn through(code: &str, due: i64, steps: &[(u32, &str, u32)]) -> Job {
    let made = |(minutes, feature, wait): &(u32, &str, u32)| StayStep {
        step: Step { code: (*feature).into(), ..curing(*minutes, "", *wait) },
        features: words(&[feature]),
        holds: Holds::Car,
    };
    let order = StepOrder::new(&words(&[]), steps.iter().map(made).collect(), Minutes::ZERO).unwrap();
    Job { order, moving: moving(), ..job(code, due, vec![step("wash", 1, "")]) }
}

/// A wash bay and a dust-free room, and that number of people.
fn studio(people: usize) -> Diary {
    let horizon = Horizon::new(Minute::new(0), Minute::new(3 * DAY), Minutes::new(15)).unwrap();
    let open = set(&[(480, 1080), (DAY + 480, DAY + 1080), (2 * DAY + 480, 2 * DAY + 1080)]);
    let bay = |code: &str, feature: &str| Bay {
        code: code.into(),
        features: words(&[feature]),
        open: open.clone(),
        held: IntervalSet::EMPTY,
    };
    let person = |n: usize| Technician {
        code: alloc::format!("T{n}"),
        skills: words(&[]),
        working: open.clone(),
        busy: IntervalSet::EMPTY,
    };
    let people: Vec<Technician> = (0..people).map(person).collect();
    Diary::new(horizon, &[bay("R", "clean"), bay("W", "drain")], &people).unwrap()
}

fn bays(visit: &Visit) -> Vec<&str> {
    visit.stays.iter().map(|stay| stay.bay.as_str()).collect()
}

#[test]
fn one_car_is_washed_while_the_other_is_coated() {
    let coating = |code| through(code, 2 * DAY, &[(60, "drain", 0), (110, "clean", 0)]);
    let week = placed(&studio(2), vec![coating("A"), coating("B")]);
    // Each takes 180 minutes with its move; the second one can be in the room when the first one has left it.
    assert_eq!((week.finish, week.lateness), (Some(Minute::new(480 + 60 + 120 + 120)), 0));
    assert!(week.visits.iter().all(|(_, visit)| bays(visit) == ["W", "R"]), "{week:?}");
}

#[test]
fn cars_that_wait_for_each_others_bays_are_done_one_after_another() {
    // Both go back to the wash bay: if both were inside, neither could leave.
    let there_and_back = |code| through(code, 2 * DAY, &[(60, "drain", 0), (50, "clean", 0), (50, "drain", 0)]);
    let week = placed(&studio(1), vec![there_and_back("A"), there_and_back("B")]);
    assert!(week.visits.iter().all(|(_, visit)| bays(visit) == ["W", "R", "W"]), "{week:?}");
    assert_eq!(week.finish, Some(Minute::new(480 + 2 * 180)));
}

#[test]
fn a_car_with_more_moves_than_its_shop_allows_does_not_fit() {
    let there_and_back = through("A", DAY, &[(60, "drain", 0), (50, "clean", 0), (50, "drain", 0)]);
    let most_two = Moving { max_stays: NonZeroU32::new(2).unwrap(), ..moving() };
    let answer = solve(&studio(1), vec![Job { moving: most_two, ..there_and_back }]);
    assert_eq!(answer, Answer::Unplaced { jobs: vec!["A".into()], proven: true });
}

#[test]
fn no_car_leaves_its_bay_while_a_wait_holds_it() {
    let cured = through("A", 2 * DAY, &[(60, "drain", 0), (50, "clean", 600), (50, "drain", 0)]);
    let week = placed(&studio(1), vec![cured]);
    let (_, visit) = &week.visits[0];
    assert!(visit.stays[1].to >= visit.steps[1].pieces[0].to() + Minutes::new(600), "{visit:?}");
    assert_eq!((visit.stays[1].to, bays(visit)), (visit.steps[2].pieces[0].from(), vec!["W", "R", "W"]));
}

#[test]
fn a_told_visit_is_kept_and_its_end_is_the_reason_for_another_ones_move() {
    let coating = |code: &str, due| through(code, due, &[(60, "drain", 0), (50, "clean", 0)]);
    let told = placed(&studio(1), vec![coating("A", DAY)]).visits[0].1.clone();
    let promised = Job { promised: Some(told.clone()), arrives: told.start, ..coating("A", told.finish.get()) };
    let hurried = Job { latest: Some(told.finish), ..coating("B", told.finish.get()) };
    let (shop, jobs) = (studio(1), vec![promised, hurried.clone()]);
    let week = placed(&shop, jobs.clone());
    let problem = Problem::new(shop, jobs.clone()).unwrap();
    assert_eq!(week.moved.len(), 1);
    assert_eq!(week.cause(&problem, &jobs[0]), Some(Cause::Bay { bay: "W".into(), job: "B".into() }));
}

#[test]
fn two_people_at_one_car_do_nothing_else_meanwhile() {
    let shop = diary(2, &[&["a"], &["b"]]);
    let horizon = shop.horizon();
    let open = set(&[(480, 1080)]);
    let person = |code: &str, skill: &str| Technician {
        code: code.into(),
        skills: words(&[skill]),
        working: open.clone(),
        busy: IntervalSet::EMPTY,
    };
    let bay =
        |code: &str| Bay { code: code.into(), features: words(&[]), open: open.clone(), held: IntervalSet::EMPTY };
    let people = with_pairs(&[person("T0", "a"), person("T1", "b")]);
    let shop = Diary::new(horizon, &[bay("B0"), bay("B1")], &people).unwrap();
    let together = job("A", DAY, vec![step("polish", 100, "a").for_two()]);
    let alone = job("B", DAY, vec![step("wash", 60, "b")]);
    let week = placed(&shop, vec![together, alone]);
    // Whoever washes is one of the two, so one of the cars waits.
    assert_eq!((week.finish, week.proven), (Some(Minute::new(480 + 160)), true));
    let pair = &week.visits[0].1.steps[0];
    assert_eq!((pair.leads(), pair.helps()), (Some("T0"), Some("T1")));
}
