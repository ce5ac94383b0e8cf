//! The order of steps against the published optima of sequential ordering problems.
//!
//! Source: `data/sequencing/SOURCE.md`.

use baywright_domain::menu::Code;
use baywright_domain::plan::{Order, Problem, order};
use baywright_domain::precedence::Precedence;

/// Instance, its text, and its published optimum.
const INSTANCES: [(&str, &str, u32); 8] = [
    ("ESC07", include_str!("../data/sequencing/ESC07.sop"), 2125),
    ("ESC11", include_str!("../data/sequencing/ESC11.sop"), 2075),
    ("ESC12", include_str!("../data/sequencing/ESC12.sop"), 1675),
    ("br17.10", include_str!("../data/sequencing/br17.10.sop"), 55),
    ("br17.12", include_str!("../data/sequencing/br17.12.sop"), 55),
    ("p43.4", include_str!("../data/sequencing/p43.4.sop"), 83_005),
    ("rbg109a", include_str!("../data/sequencing/rbg109a.sop"), 1038),
    ("ry48p.4", include_str!("../data/sequencing/ry48p.4.sop"), 31_446),
];

/// Cost of ways that no order may take.
const NO_WAY: u32 = 10_000_000;

fn read(text: &str) -> Problem {
    let numbers = text.split("EDGE_WEIGHT_SECTION").nth(1).unwrap().split_whitespace();
    let numbers: Vec<i64> = numbers.take_while(|word| *word != "EOF").map(|word| word.parse().unwrap()).collect();
    let size = usize::try_from(numbers[0]).unwrap();
    let matrix: Vec<&[i64]> = numbers[1..].chunks(size).collect();
    let mut before = Precedence::new(size - 2);
    let mut cost = vec![vec![NO_WAY; size]; size];
    for (from, row) in matrix.iter().enumerate() {
        for (to, value) in row.iter().enumerate() {
            if let Ok(value) = u32::try_from(*value) {
                cost[from][to] = value.min(NO_WAY);
            } else if (1..size - 1).contains(&from) && (1..size - 1).contains(&to) {
                before.add(to - 1, from - 1);
            }
        }
    }
    let keys = (0..size - 2).map(|at| (0, Code::parse(&format!("n-{at:03}")).unwrap())).collect();
    Problem { keys, before, cost }
}

fn solve(text: &str) -> (Problem, Order) {
    let problem = read(text);
    let found = order(&problem, 4_000_000).unwrap();
    (problem, found)
}

#[test]
fn every_published_instance_comes_to_its_optimum_and_is_proven() {
    for (name, text, optimum) in INSTANCES {
        let (problem, found) = solve(text);
        assert_eq!(found.changeover.get(), optimum, "{name}");
        assert!(found.proven, "{name}: bound {}", found.bound);
        assert_eq!(problem.cost_of(&found.order), found.changeover, "{name}");
        let place = |step: usize| found.order.iter().position(|at| *at == step).unwrap();
        for (first, then) in problem.before.pairs() {
            assert!(place(first) < place(then), "{name}: {first} before {then}");
        }
    }
}
