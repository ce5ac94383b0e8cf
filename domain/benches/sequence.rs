//! Measures how long ordering a plan's steps takes, and how it grows: `cargo bench -p baywright-domain --bench
//! sequence`.
//!
//! The plans are like a studio's: stages of five steps each, every stage after the one before, some steps within a stage
//! after others, and changeovers from area, side and tool. `loose` has no order between stages at all, which no menu of a
//! studio has; it shows what the budget of states bounds.

#![allow(clippy::panic, reason = "a measurement that can't go on may stop")]

use baywright_domain::menu::Code;
use baywright_domain::plan::{Order, Problem, USUAL_BUDGET, order};
use baywright_domain::precedence::Precedence;

fn main() {
    for steps in [10, 20, 30, 40] {
        for (name, problem) in [("stages", staged(steps)), ("loose", loose(steps))] {
            let found = solve(&problem);
            println!(
                "{name} {steps}: {}, bound {}, proven {}, stage order {}",
                found.changeover, found.bound, found.proven, found.stage_order
            );
        }
    }
    divan::main();
}

fn solve(problem: &Problem) -> Order {
    order(problem, USUAL_BUDGET).unwrap_or_else(|cycle| panic!("a cycle: {cycle:?}"))
}

/// A number that looks random and is the same each time (the finaliser of SplitMix64).
fn mixed(seed: usize) -> u64 {
    let mut bits = u64::try_from(seed).unwrap_or(0).wrapping_add(0x9e37_79b9_7f4a_7c15);
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^ (bits >> 31)
}

fn changeovers(steps: usize) -> Vec<Vec<u32>> {
    let setup = |node: usize| (mixed(node) % 2, mixed(node + 7) % 2, mixed(node + 13) % 4);
    let between = |from: usize, to: usize| {
        let (one, two) = (setup(from), setup(to));
        u32::from(one.0 != two.0) * 8 + u32::from(one.1 != two.1) * 3 + u32::from(one.2 != two.2) * 5
    };
    (0..steps + 2).map(|from| (0..steps + 2).map(|to| between(from, to)).collect()).collect()
}

fn keys(steps: usize) -> Vec<(u16, Code)> {
    let stage = |at: usize| u16::try_from(at / 5).unwrap_or(u16::MAX);
    let code = |at: usize| Code::parse(&format!("step-{at:02}")).unwrap_or_else(|error| panic!("{error}"));
    (0..steps).map(|at| (stage(at), code(at))).collect()
}

fn staged(steps: usize) -> Problem {
    let mut before = Precedence::new(steps);
    for then in 0..steps {
        for first in 0..then {
            if first / 5 + 1 == then / 5 || (first / 5 == then / 5 && mixed(first * 64 + then).is_multiple_of(4)) {
                before.add(first, then);
            }
        }
    }
    Problem { keys: keys(steps), before, cost: changeovers(steps) }
}

fn loose(steps: usize) -> Problem {
    let mut before = Precedence::new(steps);
    for then in 0..steps {
        for first in 0..then {
            if mixed(first * 64 + then).is_multiple_of(12) {
                before.add(first, then);
            }
        }
    }
    Problem { keys: keys(steps), before, cost: changeovers(steps) }
}

#[divan::bench(args = [10, 20, 30, 40])]
fn stages(bencher: divan::Bencher<'_, '_>, steps: usize) {
    bencher.with_inputs(|| staged(steps)).bench_refs(|problem| solve(problem));
}

#[divan::bench(args = [10, 20, 30, 40], sample_count = 10)]
fn loosely(bencher: divan::Bencher<'_, '_>, steps: usize) {
    bencher.with_inputs(|| loose(steps)).bench_refs(|problem| solve(problem));
}
