//! Measures the question "when can this job be done?" on the diary of a busy shop.
//!
//! Half a year, three bays, five technicians, about 2,500 intervals of bookings and absences; three plans from a wash
//! to a correction of several days. All is invented, and the same at each run.

use std::collections::BTreeSet;
use std::num::NonZeroU32;

use baywright_domain::schedule::stays::{Moving, StayStep, StepOrder};
use baywright_domain::schedule::{
    Bay, Diary, Holds, Horizon, Plan, Step, Technician, Wait, WaitWhen, Work, with_pairs,
};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use divan::{Bencher, black_box};

const DAYS: i64 = 180;
/// Days that are full before the longest plan finds a place.
const FULL: i64 = 120;
/// A quarter of a year.
const QUARTER: i64 = 91;
const DAY: i64 = 24 * 60;

fn main() {
    divan::main();
}

/// The same numbers at each run (the generator of Numerical Recipes, "ranqd1").
struct Numbers(u32);

impl Numbers {
    fn below(&mut self, end: u32) -> i64 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        i64::from((self.0 >> 8) % end)
    }
}

fn interval(from: i64, to: i64) -> Option<Interval> {
    Interval::new(Minute::new(from), Minute::new(to))
}

fn each_day(from: i64, to: i64) -> IntervalSet {
    (0..DAYS).filter(|day| day % 7 < 5).filter_map(|day| interval(day * DAY + from, day * DAY + to)).collect()
}

/// Intervals scattered over the first days, so full that most gaps are too short.
fn strewn(numbers: &mut Numbers, per_day: i64, days: i64) -> IntervalSet {
    let one = |day: i64, numbers: &mut Numbers| {
        let from = day * DAY + 480 + numbers.below(540);
        interval(from, from + 30 + numbers.below(90))
    };
    (0..days * per_day).filter_map(|n| one(n / per_day, numbers)).collect()
}

fn words(all: &[&str]) -> BTreeSet<String> {
    all.iter().map(|word| (*word).to_owned()).collect()
}

/// The shop's rows as a request reads them.
fn rows(full_days: i64) -> (Vec<Bay>, Vec<Technician>) {
    let mut numbers = Numbers(1);
    let bays = ["B1", "B2", "B3"].map(|code| Bay {
        code: code.into(),
        features: words(&["cover", "drain"]),
        open: each_day(480, 1080),
        held: strewn(&mut numbers, 3, full_days),
    });
    let technicians = ["T1", "T2", "T3", "T4", "T5"].map(|code| Technician {
        code: code.into(),
        skills: words(&["wash", "polish"]),
        working: each_day(480, 1020),
        busy: strewn(&mut numbers, 2, full_days),
    });
    (bays.into(), technicians.into())
}

fn diary((bays, technicians): &(Vec<Bay>, Vec<Technician>)) -> Option<Diary> {
    let horizon = Horizon::new(Minute::new(0), Minute::new(DAYS * DAY), Minutes::new(15)).ok()?;
    Diary::new(horizon, bays, technicians).ok()
}

fn step(minutes: u32, skill: &str, work: Work, wait: u32) -> Step {
    let wait = Wait { minutes: Minutes::new(wait), when: WaitWhen::Any };
    Step { code: skill.into(), minutes: Minutes::new(minutes), skills: words(&[skill]), work, wait }
}

fn plan(name: &str) -> Option<Plan> {
    let pieces = Work::Pieces { smallest: Minutes::new(60) };
    let wash = || step(90, "wash", Work::Whole, 0);
    let steps = match name {
        "wash" => vec![wash()],
        "coating" => vec![wash(), step(240, "polish", pieces, 0), step(120, "polish", Work::Whole, 720)],
        _ => (0..20)
            .map(|n| if n % 5 == 4 { step(120, "polish", pieces, 60) } else { step(45, "wash", Work::Whole, 5) })
            .collect(),
    };
    Plan::new(words(&["cover"]), steps).ok()
}

const PLANS: [&str; 3] = ["wash", "coating", "twenty steps"];

/// Everything that a request does once its rows are read: the diary, the search, a list of five.
#[divan::bench(args = PLANS)]
fn rows_to_list_of_five(bencher: Bencher<'_, '_>, name: &str) {
    let (rows, plan) = (rows(FULL), plan(name));
    bencher.bench(|| {
        let diary = diary(black_box(&rows))?;
        let list = diary.search(plan.as_ref()?).list(Minute::new(0), 5);
        Some(list.len())
    });
}

/// The same if two people work together, in a shop with that number of people.
#[divan::bench(args = [2, 5, 10, 20])]
fn rows_to_list_of_five_in_pairs(bencher: Bencher<'_, '_>, people: usize) {
    let (bays, five) = rows(FULL);
    let staff = five.iter().cycle().take(people).enumerate();
    let staff: Vec<Technician> =
        staff.map(|(place, one)| Technician { code: format!("T{place:02}"), ..one.clone() }).collect();
    let Some(plan) = plan("coating") else { return };
    let steps = plan.steps().iter().cloned();
    let steps = steps.map(|step| if step.skills.contains("polish") { step.for_two() } else { step }).collect();
    let plan = Plan::new(plan.features().clone(), steps).ok();
    bencher.bench(|| {
        let diary = diary(black_box(&(bays.clone(), with_pairs(&staff))))?;
        let list = diary.search(plan.as_ref()?).list(Minute::new(0), 5);
        Some(list.len())
    });
}

/// The list of five alone.
#[divan::bench(args = PLANS)]
fn list_of_five(bencher: Bencher<'_, '_>, name: &str) {
    let (diary, plan) = (diary(&rows(FULL)), plan(name));
    let (Some(diary), Some(plan)) = (diary, plan) else { return };
    let search = diary.search(&plan);
    bencher.bench(|| search.list(black_box(Minute::new(0)), 5));
}

/// One question about a diary that is full for a quarter of a year: the first free place is after it.
#[divan::bench(args = PLANS)]
fn a_quarter_ahead(bencher: Bencher<'_, '_>, name: &str) {
    let (diary, plan) = (diary(&rows(QUARTER)), plan(name));
    let (Some(diary), Some(plan)) = (diary, plan) else { return };
    let search = diary.search(&plan);
    bencher.bench(|| search.earliest(black_box(Minute::new(0))));
}

/// Features of the bays of a studio that washes, coats and polishes in different rooms.
const ROOMS: [&[&str]; 3] = [&["drain"], &["dust-free"], &["cover", "drain"]];

/// Washing, coating and finishing, each in a bay of its own, or all three in any bay with a cover.
fn order(rooms: [&str; 3]) -> Option<StepOrder> {
    let drying = Wait { minutes: Minutes::new(60), when: WaitWhen::Any };
    let pieces = Work::Pieces { smallest: Minutes::new(60) };
    let steps = [
        Step { wait: drying, ..step(45, "wash", Work::Whole, 0) },
        step(120, "polish", pieces, 240),
        step(30, "wash", Work::Whole, 0),
    ];
    let holds = [Holds::After(BTreeSet::from([2])), Holds::Car, Holds::Car];
    let steps = steps.into_iter().zip(rooms).zip(holds);
    let steps = steps.map(|((step, room), holds)| StayStep { step, features: words(&[room]), holds });
    StepOrder::new(&BTreeSet::new(), steps.collect(), Minutes::ZERO).ok()
}

/// The same question for a car that may change bays, at most three stays and ten minutes a move.
#[divan::bench(args = ["one room", "three rooms"])]
fn a_quarter_ahead_with_moves(bencher: Bencher<'_, '_>, name: &str) {
    let (mut bays, technicians) = rows(QUARTER);
    for (bay, features) in bays.iter_mut().zip(ROOMS) {
        bay.features = words(features);
    }
    let rooms = if name == "one room" { ["cover"; 3] } else { ["drain", "dust-free", "cover"] };
    let (Some(diary), Some(order)) = (diary(&(bays, technicians)), order(rooms)) else { return };
    let Some(max_stays) = NonZeroU32::new(3) else { return };
    let orders = [order];
    let visits = diary.visits(&orders, Moving { max_stays, minutes: Minutes::new(10) });
    bencher.bench(|| visits.earliest(black_box(Minute::new(0))));
}

/// One answer after an increasing number of full days.
#[divan::bench(args = [0, 20, 80, 160])]
fn first_after_full_days(bencher: Bencher<'_, '_>, full_days: i64) {
    let (diary, plan) = (diary(&rows(full_days)), plan("twenty steps"));
    let (Some(diary), Some(plan)) = (diary, plan) else { return };
    let search = diary.search(&plan);
    bencher.bench(|| search.earliest(black_box(Minute::new(0))));
}
