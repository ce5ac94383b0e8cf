//! One test for each ruling on stays that the published edges don't cover.

use alloc::collections::BTreeSet;
use alloc::string::{String, ToString};
use alloc::vec;
use core::num::NonZeroU32;

use super::*;
use crate::schedule::{Bay, Holds, Horizon, Obstacle, Step, Technician, Unplannable, Wait, WaitWhen, Work};
use crate::time::{Interval, IntervalSet};

type Pairs<'a> = &'a [(i64, i64)];

fn set(pairs: Pairs<'_>) -> IntervalSet {
    pairs.iter().filter_map(|&(from, to)| Interval::new(Minute::new(from), Minute::new(to))).collect()
}

fn words(list: &[&str]) -> BTreeSet<String> {
    list.iter().map(ToString::to_string).collect()
}

fn bay(code: &str, features: &[&str], open: Pairs<'_>, held: Pairs<'_>) -> Bay {
    Bay { code: code.into(), features: words(features), open: set(open), held: set(held) }
}

fn technician(code: &str, working: Pairs<'_>) -> Technician {
    Technician { code: code.into(), skills: words(&[]), working: set(working), busy: IntervalSet::EMPTY }
}

fn step(minutes: u32, features: &[&str]) -> StayStep {
    let (code, minutes, skills) = ("S".into(), Minutes::new(minutes), words(&[]));
    let step = Step { code, minutes, skills, work: Work::Whole, wait: Wait::NONE };
    StayStep { step, features: words(features), holds: Holds::Car }
}

fn waiting(minutes: u32, features: &[&str], wait: u32, when: WaitWhen, holds: Holds) -> StayStep {
    let mut made = step(minutes, features);
    made.step.wait = Wait { minutes: Minutes::new(wait), when };
    StayStep { holds, ..made }
}

fn after(places: &[usize]) -> Holds {
    Holds::After(places.iter().copied().collect())
}

fn order(steps: Vec<StayStep>, changeover: u32) -> StepOrder {
    StepOrder::new(&words(&[]), steps, Minutes::new(changeover)).unwrap()
}

/// At most three stays, and ten minutes for a move.
fn moving() -> Moving {
    Moving { max_stays: NonZeroU32::new(3).unwrap(), minutes: Minutes::new(10) }
}

/// Two days from midnight on, quarter-hour slots.
fn diary(bays: &[Bay], technicians: &[Technician]) -> Diary {
    let horizon = Horizon::new(Minute::new(0), Minute::new(2880), Minutes::new(15)).unwrap();
    Diary::new(horizon, bays, technicians).unwrap()
}

const DAY: Pairs<'static> = &[(480, 1080)];

/// A wash bay and a dust-free room, and one technician for both.
fn usual() -> Diary {
    diary(&[bay("B1", &["drain"], DAY, &[]), bay("B2", &["clean"], DAY, &[])], &[technician("T1", DAY)])
}

/// The earliest visit from the beginning, checked.
fn first(diary: &Diary, orders: &[StepOrder], moving: Moving) -> Option<Visit> {
    let visit = diary.visits(orders, moving).earliest(Minute::new(0))?;
    assert_eq!(diary.check_visit(&orders[visit.order], moving, &visit), Ok(()));
    Some(visit)
}

fn times(visit: &Visit) -> (i64, i64) {
    (visit.finish.get(), visit.start.get())
}

fn stays(visit: &Visit) -> Vec<(&str, i64, i64)> {
    visit.stays.iter().map(|stay| (stay.bay.as_str(), stay.from.get(), stay.to.get())).collect()
}

#[test]
fn a_car_is_moved_where_no_bay_has_all_features() {
    let wash_and_coat = [order(vec![step(60, &["drain"]), step(30, &["clean"])], 0)];
    let found = first(&usual(), &wash_and_coat, moving()).unwrap();
    assert_eq!((times(&found), stays(&found)), ((580, 480), vec![("B1", 480, 540), ("B2", 540, 580)]));
    assert_eq!(found.steps[1].pieces, [Interval::new(Minute::new(540), Minute::new(580)).unwrap()]);
    assert_eq!(first(&usual(), &wash_and_coat, Moving::OFF), None);
}

#[test]
fn a_visit_of_more_stays_than_allowed_is_not_found() {
    let there_and_back = [order(vec![step(60, &["drain"]), step(30, &["clean"]), step(20, &["drain"])], 0)];
    let most = |max_stays| Moving { max_stays: NonZeroU32::new(max_stays).unwrap(), ..moving() };
    assert_eq!(first(&usual(), &there_and_back, most(2)), None);
    let found = first(&usual(), &there_and_back, most(3)).unwrap();
    assert_eq!(stays(&found), [("B1", 480, 540), ("B2", 540, 580), ("B1", 580, 610)]);
}

#[test]
fn no_car_is_moved_while_a_wait_holds_it() {
    let steps = |holds| vec![waiting(60, &["drain"], 45, WaitWhen::Any, holds), step(30, &["clean"])];
    let cured = first(&usual(), &[order(steps(Holds::Car), 0)], moving()).unwrap();
    assert_eq!((times(&cured), stays(&cured)), ((625, 480), vec![("B1", 480, 585), ("B2", 585, 625)]));
    let dried = first(&usual(), &[order(steps(after(&[])), 0)], moving()).unwrap();
    assert_eq!((times(&dried), stays(&dried)), ((585, 480), vec![("B1", 480, 540), ("B2", 540, 585)]));
}

#[test]
fn an_open_wait_counts_the_minutes_of_the_bay_of_its_step() {
    let bays = [bay("B1", &["drain"], &[(480, 600), (1080, 1200)], &[]), bay("B2", &["clean"], DAY, &[])];
    let shop = diary(&bays, &[technician("T1", DAY)]);
    let steps = vec![waiting(60, &["drain"], 90, WaitWhen::Open, after(&[])), step(30, &["clean"])];
    // From 540 on B1 is open for 60 minutes, and for the other 30 from 1080 on, wherever the car is.
    let found = first(&shop, &[order(steps, 0)], moving()).unwrap();
    assert_eq!((found.finish.get(), found.stays.len()), (1110, 2));
}

#[test]
fn of_orders_the_soonest_wins_then_the_one_with_fewest_changeovers() {
    let slow = order(vec![step(60, &["drain"]), step(90, &["clean"])], 0);
    let cheap = order(vec![step(60, &["drain"]), step(40, &["clean"])], 5);
    let dear = order(vec![step(40, &["clean"]), step(60, &["drain"])], 20);
    let orders = [dear, slow, cheap];
    // The expensive order may end as soon, from the other bay.
    let found = first(&usual(), &orders, moving()).unwrap();
    assert_eq!((found.order, times(&found)), (2, (590, 480)));
    let found = first(&usual(), &orders[..2], moving()).unwrap();
    assert_eq!((found.order, times(&found)), (0, (590, 480)));
}

#[test]
fn with_equal_bays_the_move_comes_at_the_later_step() {
    let bays = [bay("B1", &["drain", "x"], DAY, &[(560, 900)]), bay("B2", &["clean", "x"], DAY, &[])];
    let shop = diary(&bays, &[technician("T1", DAY)]);
    let steps = vec![step(30, &["drain"]), step(20, &["x"]), step(30, &["clean"])];
    let found = first(&shop, &[order(steps, 0)], moving()).unwrap();
    assert_eq!(stays(&found), [("B1", 480, 530), ("B2", 530, 570)]);
}

#[test]
fn a_step_of_no_minutes_stays_where_the_step_before_it_was() {
    let steps = vec![step(30, &["drain"]), step(0, &["clean"]), step(30, &["clean"])];
    assert_eq!(first(&usual(), &[order(steps, 0)], moving()), None);
    let steps = vec![step(30, &["drain"]), step(0, &["drain"]), step(30, &["clean"])];
    assert_eq!(first(&usual(), &[order(steps, 0)], moving()).as_ref().map(times), Some((550, 480)));
}

#[test]
fn what_the_plan_as_a_whole_needs_every_bay_has() {
    let everywhere = words(&["lift"]);
    let steps = || vec![step(30, &["drain"]), step(30, &["clean"])];
    let orders = [StepOrder::new(&everywhere, steps(), Minutes::ZERO).unwrap()];
    assert_eq!(first(&usual(), &orders, moving()), None);
    let bays = [bay("B1", &["drain", "lift"], DAY, &[]), bay("B2", &["clean", "lift"], DAY, &[])];
    assert!(first(&diary(&bays, &[technician("T1", DAY)]), &orders, moving()).is_some());
    assert_eq!(StepOrder::new(&everywhere, vec![step(0, &[])], Minutes::ZERO), Err(Unplannable::NoWork));
}

#[test]
fn without_a_need_to_move_the_answer_is_that_of_one_bay() {
    let shop = usual();
    let orders = [order(vec![step(60, &["drain"]), step(30, &[])], 0)];
    let found = first(&shop, &orders, moving()).unwrap();
    let placement = shop.search(orders[0].plan()).earliest(Minute::new(0)).unwrap();
    assert_eq!(found, Visit::in_one_bay(0, placement));
}

#[test]
fn a_list_rises_slot_by_slot() {
    let shop =
        diary(&[bay("B1", &["drain"], DAY, &[]), bay("B2", &["clean"], DAY, &[])], &[technician("T1", &[(480, 610)])]);
    let orders = [order(vec![step(60, &["drain"]), step(30, &["clean"])], 0)];
    let list = shop.visits(&orders, moving()).list(Minute::new(0), 9);
    assert_eq!(list.iter().map(times).collect::<Vec<_>>(), [(580, 480), (595, 495), (610, 510)]);
}

#[test]
fn each_rule_that_a_visit_breaks_is_named() {
    let shop = usual();
    let wash_and_coat = order(vec![step(60, &["drain"]), step(30, &["clean"])], 0);
    let good = first(&shop, core::slice::from_ref(&wash_and_coat), moving()).unwrap();
    let check = |moving: Moving, change: &dyn Fn(&mut Visit)| {
        let mut other = good.clone();
        change(&mut other);
        shop.check_visit(&wash_and_coat, moving, &other)
    };
    let broken = |change: &dyn Fn(&mut Visit)| check(moving(), change);
    assert_eq!(check(Moving::OFF, &|_| ()), Err(BrokenVisit::Stays { stays: 2, most: 1 }));
    assert_eq!(broken(&|v| v.stays.clear()), Err(BrokenVisit::Stays { stays: 0, most: 3 }));
    assert_eq!(broken(&|v| v.stays[0].to = Minute::new(530)), Err(BrokenVisit::Apart));
    assert_eq!(broken(&|v| v.stays[1].bay = "B1".into()), Err(BrokenVisit::SameBay("B1".into())));
    assert_eq!(broken(&|v| v.stays[0].bay = "B9".into()), Err(BrokenVisit::Placement(Obstacle::NoBay)));
    // A step without pieces counts as done in the bay before.
    let lacking = BrokenVisit::Placement(Obstacle::Feature { feature: "clean".into() });
    assert_eq!(broken(&|v| v.steps[1].pieces.clear()), Err(lacking));
    assert_eq!(broken(&|v| v.stays[1].from = Minute::new(545)), Err(BrokenVisit::Apart));
    let other = BrokenVisit::Placement(Obstacle::OtherWork { step: Some("S".into()) });
    assert_eq!(check(Moving { minutes: Minutes::ZERO, ..moving() }, &|_| ()), Err(other));
}

#[test]
fn a_car_changes_bays_only_with_a_step() {
    let anywhere = order(vec![step(60, &[]), step(30, &[])], 0);
    let mut visit = first(&usual(), core::slice::from_ref(&anywhere), moving()).unwrap();
    assert_eq!(stays(&visit), [("B1", 480, 570)]);
    visit.stays[0].to = Minute::new(500);
    visit.stays.push(Stay { bay: "B2".into(), from: Minute::new(500), to: Minute::new(570) });
    let refused = usual().check_visit(&anywhere, moving(), &visit);
    assert_eq!(refused, Err(BrokenVisit::MoveWithoutStep("B2".into())));
}

#[test]
fn a_visit_is_found_from_a_given_bay_and_start() {
    let (shop, wash_and_coat) = (usual(), [order(vec![step(60, &["drain"]), step(30, &["clean"])], 0)]);
    let visits = shop.visits(&wash_and_coat, moving());
    let at = |bay: &str, start| visits.at(bay, Minute::new(start)).map(|visit| times(&visit));
    assert_eq!((at("B1", 480), at("B1", 900)), (Some((580, 480)), Some((1000, 900))));
    // The first step can't be done there, the start is no slot, the bay is closed, and there is no such bay.
    assert_eq!([at("B2", 480), at("B1", 481), at("B1", 465), at("B9", 480)], [None; 4]);
    assert!(visits.have_bays() && !shop.visits(&wash_and_coat, Moving::OFF).have_bays());
    let anywhere = [order(vec![step(60, &["drain"]), step(30, &[])], 0)];
    assert!(shop.visits(&anywhere, Moving::OFF).have_bays());
}
