//! Laws of the front of orders, tried on random small plans against all possible orders.

use baywright_domain::menu::{Code, Holds};
use baywright_domain::plan::{FrontOrder, Problem, Timing, USUAL_BUDGET, USUAL_FRONT_BUDGET, elapsed_of, front, order};
use baywright_domain::precedence::Precedence;
use baywright_domain::time::Minutes;
use proptest::collection::vec;
use proptest::prelude::*;

/// A plan with the given number of steps; stages change every three steps.
fn problem(size: usize, costs: &[u32], pairs: &[(usize, usize)]) -> Problem {
    let key = |at: usize| (u16::try_from(at / 3).unwrap(), Code::parse(&format!("s-{at:03}")).unwrap());
    let row = |from: usize| (0..size + 2).map(|to| costs[(from * 31 + to * 17) % costs.len()]).collect();
    let pairs: Vec<_> = pairs.iter().copied().filter(|(one, two)| one < two && *two < size).collect();
    Problem {
        keys: (0..size).map(key).collect(),
        before: Precedence::from_pairs(size, &pairs),
        cost: (0..size + 2).map(row).collect(),
    }
}

fn timing() -> impl Strategy<Value = Timing> {
    let wait = prop_oneof![2 => Just(0_u32), 1 => 1..60_u32];
    (0..40_u32, wait, any::<bool>()).prop_map(|(attended, wait, car)| Timing {
        attended: Minutes::new(attended),
        wait: Minutes::new(wait),
        holds: if car { Holds::Car } else { Holds::After },
    })
}

fn plan(most: usize) -> impl Strategy<Value = (Problem, Vec<Timing>)> {
    let pairs = vec((0..most, 0..most), 0..10);
    (1..=most, vec(0..6_u32, 40..90), pairs, vec(timing(), most)).prop_map(|(size, costs, pairs, mut timings)| {
        timings.truncate(size);
        (problem(size, &costs, &pairs), timings)
    })
}

/// Every order that meets the precedences, by trying all.
fn all_orders(problem: &Problem) -> Vec<Vec<usize>> {
    fn go_on(size: usize, needs: &[Vec<usize>], order: &mut Vec<usize>, all: &mut Vec<Vec<usize>>) {
        if order.len() == size {
            all.push(order.clone());
            return;
        }
        for step in 0..size {
            if !order.contains(&step) && needs[step].iter().all(|need| order.contains(need)) {
                order.push(step);
                go_on(size, needs, order, all);
                order.pop();
            }
        }
    }
    let mut all = Vec::new();
    go_on(problem.keys.len(), &problem.before.ancestors(), &mut Vec::new(), &mut all);
    all
}

/// The front from all orders: by rising changeover, then elapsed time, then steps, each one that is finished sooner
/// than all before it.
fn front_of_all(problem: &Problem, timings: &[Timing]) -> Vec<FrontOrder> {
    let value = |order: Vec<usize>| FrontOrder {
        changeover: problem.cost_of(&order),
        elapsed: elapsed_of(problem, timings, &order),
        order,
    };
    let mut all: Vec<FrontOrder> = all_orders(problem).into_iter().map(value).collect();
    all.sort_by_key(|one| (one.changeover, one.elapsed, one.order.clone()));
    let mut front: Vec<FrontOrder> = Vec::new();
    for one in all {
        if front.last().is_none_or(|last| one.elapsed < last.elapsed) {
            front.push(one);
        }
    }
    front
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn the_front_is_that_of_all_orders((problem, timings) in plan(6)) {
        let found = front(&problem, &timings, USUAL_FRONT_BUDGET).unwrap();
        prop_assert!(found.proven);
        prop_assert_eq!(found.changeover_bound, found.orders.first().unwrap().changeover);
        prop_assert_eq!(found.elapsed_bound, found.orders.last().unwrap().elapsed);
        prop_assert_eq!(found.orders, front_of_all(&problem, &timings));
    }

    #[test]
    fn the_first_order_has_the_least_changeover((problem, timings) in plan(8)) {
        let cheapest = order(&problem, USUAL_BUDGET).unwrap();
        let found = front(&problem, &timings, USUAL_FRONT_BUDGET).unwrap();
        prop_assert!(cheapest.proven && found.proven);
        prop_assert_eq!(found.orders[0].changeover, cheapest.changeover);
        // If every wait holds the whole car, it is exactly the same order, and the only one.
        let car: Vec<Timing> = timings.iter().map(|timing| Timing { holds: Holds::Car, ..*timing }).collect();
        let alone = front(&problem, &car, USUAL_FRONT_BUDGET).unwrap();
        prop_assert_eq!(alone.orders.len(), 1);
        prop_assert_eq!(&alone.orders[0].order, &cheapest.order);
    }

    #[test]
    fn no_order_of_a_front_beats_another((problem, timings) in plan(8)) {
        let found = front(&problem, &timings, USUAL_FRONT_BUDGET).unwrap();
        let rises = |pair: &[FrontOrder]| {
            pair[0].changeover < pair[1].changeover && pair[0].elapsed > pair[1].elapsed
        };
        prop_assert!(found.orders.windows(2).all(rises), "{:?}", found.orders);
        for one in &found.orders {
            prop_assert_eq!(one.changeover, problem.cost_of(&one.order));
            prop_assert_eq!(one.elapsed, elapsed_of(&problem, &timings, &one.order));
        }
    }

    #[test]
    fn a_looser_plan_is_never_finished_later(
        (problem, timings) in plan(8),
        which in 0_usize..8,
        shorten in any::<bool>(),
    ) {
        let mut looser = timings.clone();
        let at = which % looser.len();
        if shorten {
            looser[at].wait = Minutes::ZERO;
        } else {
            looser[at].holds = Holds::After;
        }
        let soonest = |timings: &[Timing]| {
            front(&problem, timings, USUAL_FRONT_BUDGET).unwrap().orders.last().unwrap().elapsed
        };
        prop_assert!(soonest(&looser) <= soonest(&timings));
    }

    /// However small the budget, no bound is above the value that is reached with a large one.
    #[test]
    fn a_spent_budget_leaves_good_orders_and_true_bounds((problem, timings) in plan(8)) {
        let small = front(&problem, &timings, 1).unwrap();
        let large = front(&problem, &timings, USUAL_FRONT_BUDGET).unwrap();
        prop_assert!(large.proven);
        prop_assert!(small.changeover_bound <= large.orders.first().unwrap().changeover);
        prop_assert!(small.elapsed_bound <= large.orders.last().unwrap().elapsed);
        if small.proven {
            let values = |orders: &[FrontOrder]| -> Vec<_> {
                orders.iter().map(|one| (one.changeover, one.elapsed)).collect()
            };
            prop_assert_eq!(values(&small.orders), values(&large.orders));
        }
    }
}

#[test]
fn steps_that_wait_for_one_another_have_no_front() {
    let mut problem = problem(3, &[1; 40], &[]);
    problem.before = Precedence::from_pairs(3, &[(0, 1), (1, 0)]);
    let timing = Timing { attended: Minutes::new(10), wait: Minutes::new(5), holds: Holds::After };
    assert_eq!(front(&problem, &[timing; 3], USUAL_FRONT_BUDGET), Err(vec![0, 1]));
}
