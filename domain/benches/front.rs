//! Time to find the front of a plan's orders, and how it grows: `cargo bench -p baywright-domain --bench front`.
//!
//! The plans are like a studio's: stages of five steps each, some steps within a stage after others, changeovers from
//! area, side and tool, and up to six waits that hold back only the steps after them. In `stages` each stage comes
//! strictly after the one before; in `mixed` a step waits for three in ten of the steps of earlier stages, which leaves
//! many more orders than a menu with checkpoints does.

#![allow(clippy::panic, reason = "a measurement that can't go on may stop")]

use baywright_domain::menu::{Code, Holds};
use baywright_domain::plan::{Front, Problem, Timing, USUAL_FRONT_BUDGET, front};
use baywright_domain::precedence::Precedence;
use baywright_domain::time::Minutes;

/// Number of steps and waits of the plans.
const SIZES: [(usize, usize); 9] = [(20, 0), (20, 3), (20, 6), (30, 0), (30, 3), (30, 6), (40, 0), (40, 3), (40, 6)];

fn main() {
    for (steps, waits) in SIZES {
        for (name, strict) in [("stages", true), ("mixed", false)] {
            let found = solve(&plan(steps, waits, strict));
            println!("{name} {steps} with {waits} waits: {} orders, proven {}", found.orders.len(), found.proven);
        }
    }
    divan::main();
}

type Plan = (Problem, Vec<Timing>);

fn solve((problem, timings): &Plan) -> Front {
    front(problem, timings, USUAL_FRONT_BUDGET).unwrap_or_else(|cycle| panic!("a cycle: {cycle:?}"))
}

/// A number that looks random and is the same each time (the finaliser of SplitMix64).
fn mixed(seed: usize) -> u64 {
    let mut bits = u64::try_from(seed).unwrap_or(0).wrapping_add(0x9e37_79b9_7f4a_7c15);
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^ (bits >> 31)
}

/// One of these minute counts, chosen by a seed.
fn one_of(choices: &[u32], seed: usize) -> Minutes {
    let at = usize::try_from(mixed(seed)).unwrap_or(0) % choices.len();
    Minutes::new(choices[at])
}

fn plan(steps: usize, waits: usize, strict: bool) -> Plan {
    let stage = |at: usize| at / 5;
    let mut before = Precedence::new(steps);
    for then in 0..steps {
        for first in 0..then {
            let dice = mixed(first * 64 + then);
            let comes_before = if stage(first) == stage(then) {
                dice.is_multiple_of(4)
            } else {
                (strict && stage(first) + 1 == stage(then)) || (!strict && dice % 10 < 3)
            };
            if comes_before {
                before.add(first, then);
            }
        }
    }
    let setup = |node: usize| (mixed(node) % 2, mixed(node + 7) % 2, mixed(node + 13) % 4);
    let between = |from: usize, to: usize| {
        let (one, two) = (setup(from), setup(to));
        u32::from(one.0 != two.0) * 8 + u32::from(one.1 != two.1) * 3 + u32::from(one.2 != two.2) * 5
    };
    let key = |at: usize| {
        let code = Code::parse(&format!("step-{at:02}")).unwrap_or_else(|error| panic!("{error}"));
        (u16::try_from(stage(at)).unwrap_or(u16::MAX), code)
    };
    // The waits are distributed over the plan.
    let waits_after = |at: usize| (0..waits).any(|wait| (wait * steps) / waits + 2 == at);
    let timing = |at: usize| Timing {
        attended: one_of(&[10, 15, 30, 60, 90, 120], at + 1000),
        wait: if waits_after(at) { one_of(&[30, 60, 240, 720], at + 2000) } else { Minutes::ZERO },
        holds: Holds::After,
    };
    let problem = Problem {
        keys: (0..steps).map(key).collect(),
        before,
        cost: (0..steps + 2).map(|from| (0..steps + 2).map(|to| between(from, to)).collect()).collect(),
    };
    (problem, (0..steps).map(timing).collect())
}

#[divan::bench(args = SIZES)]
fn stages(bencher: divan::Bencher<'_, '_>, size: (usize, usize)) {
    bencher.with_inputs(|| plan(size.0, size.1, true)).bench_refs(|plan| solve(plan));
}

#[divan::bench(args = SIZES, sample_count = 10)]
fn mixed_stages(bencher: divan::Bencher<'_, '_>, size: (usize, usize)) {
    bencher.with_inputs(|| plan(size.0, size.1, false)).bench_refs(|plan| solve(plan));
}
