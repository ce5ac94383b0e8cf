//! Weeks in which lateness can't be avoided.

use alloc::vec::Vec;

use super::*;
use crate::dice::Dice;
use crate::schedule::week::change::{Seen, change};
use crate::schedule::week::decode::{Cap, Decoder};
use crate::schedule::week::draft::score;

/// Six jobs of one step each for one person in one bay, more than can be in time.
fn six(dice: &mut Dice) -> Vec<Job> {
    let number = |below: usize, dice: &mut Dice| u32::try_from(dice.below(below)).unwrap();
    (0..6)
        .map(|n| {
            let minutes = 60 + 15 * number(13, dice);
            let due = i64::from(480 + 60 * number(40, dice));
            let weight = NonZeroU32::new(1 + number(3, dice)).unwrap();
            Job { weight, ..job(&alloc::format!("J{n}"), due, vec![step("wash", minutes, "")]) }
        })
        .collect()
}

/// The weighted lateness of jobs done in this order, each in one go within a day from 08:00 to 18:00.
fn in_order(jobs: &[Job], order: &[usize]) -> u64 {
    let (mut at, mut late) = (480, 0);
    for job in order.iter().map(|place| &jobs[*place]) {
        let minutes = i64::from(job.order.plan().shortest().get());
        if at % DAY + minutes > 1080 {
            at = (at / DAY + 1) * DAY + 480;
        }
        at += minutes;
        late += u64::from(job.weight.get()) * u64::try_from(at - job.due.get()).unwrap_or(0);
    }
    late
}

/// The least of all orders that begin like this one.
fn least(jobs: &[Job], order: &mut Vec<usize>) -> u64 {
    if order.len() == jobs.len() {
        return in_order(jobs, order);
    }
    let mut best = u64::MAX;
    for next in 0..jobs.len() {
        if !order.contains(&next) {
            order.push(next);
            best = best.min(least(jobs, order));
            order.pop();
        }
    }
    best
}

#[test]
fn no_order_of_jobs_is_less_late() {
    let mut dice = Dice::new(1);
    for _ in 0..20 {
        let jobs = six(&mut dice);
        let week = placed(&diary(1, &[&[]]), jobs.clone());
        assert_eq!(week.lateness, least(&jobs, &mut Vec::new()), "{jobs:?}");
    }
}

/// Five jobs of one to three steps with waits, one of which may be in pieces; all are late.
fn five() -> Vec<Job> {
    let of = |n: u32| match n % 3 {
        0 => vec![curing(90, "", 45), step("buff", 30, "")],
        1 => vec![step("wash", 60, "")],
        _ => vec![curing(30, "", 600), step("polish", 120, ""), curing(45, "", 15)],
    };
    (0..5).map(|n| job(&alloc::format!("J{n}"), 500, of(n))).collect()
}

#[test]
fn a_change_names_each_job_once_for_each_of_its_steps() {
    let (shop, jobs) = (diary(2, &[&[], &[]]), five());
    let model = Model::new(&shop, &jobs, false);
    let (mut dice, mut draft, mut schedule) = (Dice::new(1), Draft::of_jobs(&model, 0..5), Schedule::default());
    Decoder::new().decode(&model, &draft, Cap::NONE, &mut schedule);
    let before = draft.list.clone();
    for turn in 0..2000 {
        let seen = Seen { schedule: &schedule, pairs: &[(0, 2), (2, 3)], late: turn % 2 == 0 };
        change(&model, &mut dice, &mut draft, &seen, turn % 3 == 0);
        let mut sorted = draft.list.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, before);
    }
    assert_ne!(draft.list, before);
}

#[test]
fn what_is_left_out_would_have_been_worse() {
    let (shop, jobs) = (diary(2, &[&[], &[]]), five());
    let model = Model::new(&shop, &jobs, false);
    let (mut dice, mut draft, mut decoder) = (Dice::new(1), Draft::of_jobs(&model, 0..5), Decoder::new());
    let (mut whole, mut capped) = (Schedule::default(), Schedule::default());
    decoder.decode(&model, &draft, Cap::NONE, &mut whole);
    let first = score(&model, &whole).lead;
    let mut left_out = 0;
    for _ in 0..500 {
        change(&model, &mut dice, &mut draft, &Seen { schedule: &whole, pairs: &[], late: true }, false);
        decoder.decode(&model, &draft, Cap::NONE, &mut whole);
        decoder.decode(&model, &draft, Cap::about(first, 60), &mut capped);
        let lead = score(&model, &whole).lead;
        assert_eq!(capped.beyond, lead.lateness > first.lateness + 60, "{lead:?}");
        left_out += usize::from(capped.beyond);
    }
    assert!((50..450).contains(&left_out), "{left_out}");
}
