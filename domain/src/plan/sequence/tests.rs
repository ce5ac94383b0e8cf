//! The search against all orders of small plans.

use alloc::format;
use alloc::vec::Vec;

use proptest::prelude::*;

use super::*;

fn problem(size: usize, costs: &[u32], pairs: &[(usize, usize)]) -> Problem {
    let keys =
        (0..size).map(|at| (u16::try_from(at / 3).unwrap(), Code::parse(&format!("s-{at:03}")).unwrap())).collect();
    let cost = (0..size + 2)
        .map(|from| (0..size + 2).map(|to| costs[(from * 31 + to * 17) % costs.len()]).collect())
        .collect();
    Problem { keys, before: Precedence::from_pairs(size, pairs), cost }
}

/// Every order that meets the precedences, by trying all.
fn all_orders(problem: &Problem) -> Vec<Vec<usize>> {
    fn go_on(problem: &Problem, needs: &[Vec<usize>], order: &mut Vec<usize>, all: &mut Vec<Vec<usize>>) {
        if order.len() == problem.keys.len() {
            all.push(order.clone());
            return;
        }
        for step in 0..problem.keys.len() {
            if !order.contains(&step) && needs[step].iter().all(|need| order.contains(need)) {
                order.push(step);
                go_on(problem, needs, order, all);
                order.pop();
            }
        }
    }
    let mut all = Vec::new();
    go_on(problem, &problem.before.ancestors(), &mut Vec::new(), &mut all);
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// The order is the cheapest of all, and of the cheapest the first by stage and code.
    #[test]
    fn the_order_is_the_cheapest_of_all(
        size in 0_usize..7,
        costs in prop::collection::vec(0_u32..6, 40..90),
        pairs in prop::collection::vec((0_usize..7, 0_usize..7), 0..8),
    ) {
        let pairs: Vec<_> = pairs.into_iter().filter(|(one, two)| one < two && *two < size).collect();
        let problem = problem(size, &costs, &pairs);
        let found = order(&problem, USUAL_BUDGET).unwrap();
        let best = all_orders(&problem).into_iter().map(|order| (problem.cost_of(&order), order)).min().unwrap();
        prop_assert!(found.proven);
        prop_assert_eq!(found.changeover, found.bound);
        prop_assert_eq!((found.changeover, found.order), best);
        prop_assert!(found.changeover <= found.stage_order);
    }

    /// However small the budget, the order meets every precedence, and the bound is below the true optimum.
    #[test]
    fn a_spent_budget_leaves_a_good_order_and_a_true_bound(
        costs in prop::collection::vec(0_u32..60, 40..90),
        pairs in prop::collection::vec((0_usize..14, 0_usize..14), 4..20),
    ) {
        let pairs: Vec<_> = pairs.into_iter().filter(|(one, two)| one < two).collect();
        let problem = problem(14, &costs, &pairs);
        let small = order(&problem, 1).unwrap();
        let large = order(&problem, 3_000_000).unwrap();
        prop_assert!(large.proven);
        prop_assert!(small.bound <= large.changeover && large.changeover <= small.changeover);
        prop_assert_eq!(small.changeover, problem.cost_of(&small.order));
        let place = |step: usize| small.order.iter().position(|at| *at == step).unwrap();
        prop_assert!(pairs.iter().all(|(first, then)| place(*first) < place(*then)));
    }

    /// Relaxed problems bound the best order from below, and exchanges keep every precedence and cost no more.
    #[test]
    fn bounds_are_true_and_exchanges_allowed(
        size in 0_usize..7,
        costs in prop::collection::vec(0_u32..40, 40..90),
        pairs in prop::collection::vec((0_usize..7, 0_usize..7), 0..8),
    ) {
        let pairs: Vec<_> = pairs.into_iter().filter(|(one, two)| one < two && *two < size).collect();
        let problem = problem(size, &costs, &pairs);
        let orders = all_orders(&problem);
        let best = orders.iter().map(|order| problem.cost_of(order)).min().unwrap();
        prop_assert!(Minutes::new(network::lower_bound(&problem)) <= best);
        let first = stage_order(&problem).unwrap();
        let improved = exchange::improved(&problem, &first, 2_000);
        prop_assert!(orders.contains(&improved));
        prop_assert!(problem.cost_of(&improved) <= problem.cost_of(&first));
    }
}

#[test]
fn a_plan_that_is_too_large_for_sets_of_steps_gets_a_better_order_and_a_true_bound() {
    let costs: Vec<u32> = (0..331_u32).map(|at| (at * 7919) % 61).collect();
    let pairs: Vec<_> = (0..118).map(|step| (step, step + 12)).filter(|(one, _)| one % 3 > 0).collect();
    let problem = problem(130, &costs, &pairs);
    let found = order(&problem, 1_000).unwrap();
    assert!(found.bound <= found.changeover && found.changeover < found.stage_order, "{found:?}");
    let place = |step: usize| found.order.iter().position(|at| *at == step).unwrap();
    assert!(pairs.iter().all(|(first, then)| place(*first) < place(*then)));
}
