//! Measures how long scheduling a week takes, and how it grows: `cargo bench -p baywright-domain --bench week`.
//!
//! Three bays, five technicians, six days; jobs from a wash to a coating that cures overnight, due soon. All is
//! invented, and the same at each run. It first prints the result for each node budget.

#![allow(clippy::panic, reason = "a measurement that can't go on may stop")]

use std::collections::BTreeSet;
use std::num::NonZeroU32;

use baywright_domain::schedule::stays::Moving;
use baywright_domain::schedule::week::{Answer, Budget, Job, Problem, week};
use baywright_domain::schedule::{Bay, Diary, Horizon, Plan, Step, Technician, Wait, WaitWhen, Work};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};

const DAYS: i64 = 6;
const DAY: i64 = 24 * 60;

fn main() {
    for jobs in [4, 8, 16, 24] {
        for nodes in [100_000, 1_000_000, 10_000_000] {
            match week(&problem(jobs), &Budget::of_nodes(nodes)) {
                Answer::Placed(found) => println!(
                    "{jobs} jobs, {nodes} nodes: lateness {}, standing {}, bound {:?}, proven {}",
                    found.lateness, found.standing, found.bound, found.proven
                ),
                Answer::Unplaced { jobs: left, .. } => {
                    println!("{jobs} jobs, {nodes} nodes: {} don't fit", left.len());
                }
            }
        }
    }
    divan::main();
}

fn each_day(from: i64, to: i64) -> IntervalSet {
    let day = |day| Interval::new(Minute::new(day * DAY + from), Minute::new(day * DAY + to));
    (0..DAYS).filter_map(day).collect()
}

fn words(all: &[&str]) -> BTreeSet<String> {
    all.iter().map(|word| (*word).to_owned()).collect()
}

fn step(minutes: u32, skill: &str, work: Work, wait: u32) -> Step {
    let wait = Wait { minutes: Minutes::new(wait), when: WaitWhen::Any };
    Step { code: skill.into(), minutes: Minutes::new(minutes), skills: words(&[skill]), work, wait }
}

fn job(place: usize) -> Job {
    let pieces = Work::Pieces { smallest: Minutes::new(60) };
    let wash = step(60, "wash", Work::Whole, 15);
    let (features, steps, days) = match place % 3 {
        0 => (words(&[]), vec![wash, step(45, "wash", Work::Whole, 0)], 1),
        1 => (words(&[]), vec![wash, step(180, "polish", pieces, 0), step(30, "wash", Work::Whole, 0)], 2),
        _ => (words(&["cover"]), vec![wash, step(120, "polish", pieces, 0), step(90, "coat", Work::Whole, 720)], 3),
    };
    let number = i64::try_from(place).unwrap_or(0);
    let arrives = 480 + DAY * (number % 4);
    Job {
        code: format!("J{place:02}"),
        order: Plan::new(features, steps).unwrap_or_else(|refusal| panic!("{refusal}")).into(),
        moving: Moving::OFF,
        arrives: Minute::new(arrives),
        due: Minute::new(arrives + DAY * (days - 1) + 540),
        weight: NonZeroU32::MIN,
        latest: None,
        promised: None,
    }
}

fn problem(jobs: usize) -> Problem {
    let horizon = Horizon::new(Minute::new(0), Minute::new(DAYS * DAY), Minutes::new(15));
    let bay = |(code, features): (&str, &[&str])| Bay {
        code: code.into(),
        features: words(features),
        open: each_day(480, 1080),
        held: IntervalSet::EMPTY,
    };
    let person = |(code, skills): (&str, &[&str])| Technician {
        code: code.into(),
        skills: words(skills),
        working: each_day(480, 720).union(&each_day(765, 1080)),
        busy: IntervalSet::EMPTY,
    };
    let bays: [(&str, &[&str]); 3] = [("B1", &["cover"]), ("B2", &["cover"]), ("B3", &[])];
    let people: [(&str, &[&str]); 5] = [
        ("T1", &["wash"]),
        ("T2", &["wash"]),
        ("T3", &["wash", "polish"]),
        ("T4", &["polish"]),
        ("T5", &["polish", "coat"]),
    ];
    let diary = horizon.and_then(|horizon| Diary::new(horizon, &bays.map(bay), &people.map(person)));
    let problem = diary.and_then(|diary| Problem::new(diary, (0..jobs).map(job).collect()));
    problem.unwrap_or_else(|refusal| panic!("{refusal}"))
}

/// A hundred thousand nodes: what a screen waits for.
#[divan::bench(args = [4, 8, 16, 24], sample_count = 10)]
fn first_answer(bencher: divan::Bencher<'_, '_>, jobs: usize) {
    bencher.with_inputs(|| problem(jobs)).bench_refs(|problem| week(problem, &Budget::of_nodes(100_000)));
}

/// The usual budget.
#[divan::bench(args = [4, 8, 16, 24], sample_count = 3)]
fn usual(bencher: divan::Bencher<'_, '_>, jobs: usize) {
    bencher.with_inputs(|| problem(jobs)).bench_refs(|problem| week(problem, &Budget::USUAL));
}
