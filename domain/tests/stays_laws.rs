//! Laws of stays, tried on random tiny shops.

use std::collections::BTreeSet;
use std::num::NonZeroU32;

use baywright_domain::schedule::stays::{Moving, StayStep, StepOrder, Visit};
use baywright_domain::schedule::{Bay, Diary, Holds, Horizon, Step, Technician, Wait, WaitWhen, Work};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use proptest::collection::{btree_set, vec};
use proptest::prelude::*;

use crate::moves::{self, Answer, Shop};

pub const LENGTH: u32 = 12;

fn stretch(from: u32, to: u32) -> Option<Interval> {
    Interval::new(Minute::new(i64::from(from)), Minute::new(i64::from(to)))
}

/// Up to three stretches, unsorted, which may touch, overlap and reach beyond the horizon.
pub fn minutes(longest: u32) -> impl Strategy<Value = IntervalSet> {
    vec((0..LENGTH, 1..=longest), 0..=3)
        .prop_map(|list| list.into_iter().filter_map(|(from, length)| stretch(from, from + length)).collect())
}

fn mostly() -> impl Strategy<Value = IntervalSet> {
    minutes(2).prop_map(|closed| IntervalSet::from_iter(stretch(0, LENGTH + 2)).difference(&closed))
}

/// Of these words each with the given probability.
fn words(all: &'static [&'static str], each: f64) -> impl Strategy<Value = BTreeSet<String>> {
    vec(prop::bool::weighted(each), all.len()).prop_map(|taken| {
        all.iter().zip(taken).filter(|(_, taken)| *taken).map(|(word, _)| (*word).to_owned()).collect()
    })
}

fn holds() -> impl Strategy<Value = Holds> {
    prop_oneof![Just(Holds::Car), btree_set(0..3usize, 0..3).prop_map(Holds::After)]
}

fn step() -> impl Strategy<Value = StayStep> {
    let wait = (prop_oneof![3 => Just(0), 2 => 1..5u32], any::<bool>(), holds());
    let needs = (words(&["wash"], 0.2), words(&["drain", "clean"], 0.45));
    // Short, so that there is time for moves too.
    let minutes = prop_oneof![1 => Just(0), 4 => 1..4u32];
    (minutes, needs, prop::option::weighted(0.5, 0..3u32), wait).prop_map(|(minutes, needs, smallest, wait)| {
        let when = if wait.1 { WaitWhen::Open } else { WaitWhen::Any };
        let step = Step {
            code: "s".into(),
            minutes: Minutes::new(minutes),
            skills: needs.0,
            work: smallest.map_or(Work::Whole, |p| Work::Pieces { smallest: Minutes::new(p) }),
            wait: Wait { minutes: Minutes::new(wait.0), when },
        };
        StayStep { step, features: needs.1, holds: wait.2 }
    })
}

fn steps() -> impl Strategy<Value = Vec<StayStep>> {
    let works = |steps: &Vec<StayStep>| steps.iter().any(|step| step.step.minutes > Minutes::ZERO);
    vec(step(), 1..=3).prop_filter("an order needs work", works)
}

fn moving() -> impl Strategy<Value = Moving> {
    (prop_oneof![1 => Just(1), 4 => 2..=3u32], 0..3u32).prop_map(|(most, minutes)| Moving {
        max_stays: NonZeroU32::new(most).unwrap(),
        minutes: Minutes::new(minutes),
    })
}

pub fn shop() -> impl Strategy<Value = Shop> {
    let bay = (words(&["drain", "clean", "lift"], 0.6), mostly(), minutes(2));
    let technician = (words(&["wash"], 0.8), mostly(), minutes(2));
    let asked = (words(&["lift"], 0.1), vec(steps(), 1..=2), moving());
    (1..4u32, vec(bay, 2..=3), vec(technician, 1..=2), asked, any::<bool>()).prop_map(
        |(slot, bays, people, (everywhere, orders, moving), turn)| {
            let code = |letter: char, place: usize| format!("{letter}{}", if turn { 9 - place } else { place });
            let bays = bays.into_iter().enumerate().map(|(place, (features, open, held))| Bay {
                code: code('b', place),
                features,
                open,
                held,
            });
            let technicians = people.into_iter().enumerate().map(|(place, (skills, working, busy))| Technician {
                code: code('t', place),
                skills,
                working,
                busy,
            });
            let (bays, technicians) = (bays.collect(), technicians.collect());
            Shop { length: LENGTH, slot, bays, technicians, everywhere, orders, moving }
        },
    )
}

fn diary(shop: &Shop) -> Diary {
    let horizon = Horizon::new(Minute::new(0), Minute::new(i64::from(shop.length)), Minutes::new(shop.slot));
    Diary::new(horizon.unwrap(), &shop.bays, &shop.technicians).unwrap()
}

/// The orders; a later one has more changeover minutes.
pub fn orders(shop: &Shop) -> Vec<StepOrder> {
    let changeovers = [Minutes::ZERO, Minutes::new(5)];
    let all = shop.orders.iter().zip(changeovers);
    all.map(|(steps, changeover)| StepOrder::new(&shop.everywhere, steps.clone(), changeover).unwrap()).collect()
}

fn earliest(shop: &Shop, not_before: u32) -> Option<Visit> {
    diary(shop).visits(&orders(shop), shop.moving).earliest(Minute::new(i64::from(not_before)))
}

fn answer(visit: &Visit) -> Answer {
    let number = |minute: Minute| u32::try_from(minute.get()).unwrap();
    let stays = visit.stays.iter().map(|stay| (stay.bay.clone(), number(stay.from), number(stay.to)));
    let steps = visit.steps.iter().map(|step| {
        let (first, last) = (step.pieces.first()?, step.pieces.last()?);
        Some((step.technician.clone()?, number(first.from()), number(last.to())))
    });
    Answer {
        order: visit.order,
        start: number(visit.start),
        finish: number(visit.finish),
        stays: stays.collect(),
        steps: steps.collect(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn the_answer_is_the_best_of_all_there_are(shop in shop(), not_before in 0..LENGTH / 2) {
        let found = earliest(&shop, not_before);
        prop_assert_eq!(found.as_ref().map(answer), moves::earliest(&shop, not_before));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn an_answer_keeps_every_rule_and_one_that_is_tampered_with_does_not(shop in shop()) {
        let (diary, orders) = (diary(&shop), orders(&shop));
        let Some(best) = diary.visits(&orders, shop.moving).earliest(Minute::new(0)) else { return Ok(()) };
        let check = |change: &dyn Fn(&mut Visit)| {
            let mut other = best.clone();
            change(&mut other);
            diary.check_visit(&orders[best.order], shop.moving, &other)
        };
        let one = Minutes::new(1);
        prop_assert_eq!(check(&|_| ()), Ok(()));
        prop_assert!(check(&|v| v.finish = v.finish + one).is_err());
        prop_assert!(check(&|v| v.start = v.start - one).is_err());
        let without_a_stay = check(&|v| { v.stays.pop(); });
        let without_a_step = check(&|v| { v.steps.pop(); });
        prop_assert!(without_a_stay.is_err() && without_a_step.is_err());
        for place in 1..best.stays.len() {
            let shifted = check(&|v| {
                v.stays[place - 1].to = v.stays[place - 1].to + one;
                v.stays[place].from = v.stays[place].from + one;
            });
            prop_assert!(shifted.is_err(), "{:?}", best);
        }
    }

    #[test]
    fn where_no_car_may_move_the_answer_is_that_of_one_bay(shop in shop()) {
        let (diary, orders) = (diary(&shop), orders(&shop));
        for order in &orders {
            let visit = diary.visits(std::slice::from_ref(order), Moving::OFF).earliest(Minute::new(0));
            let placement = diary.search(order.plan()).earliest(Minute::new(0));
            prop_assert_eq!(visit.is_some(), placement.is_some());
            if let (Some(visit), Some(placement)) = (visit, placement) {
                prop_assert_eq!((visit.stays.len(), &visit.stays[0].bay), (1, &placement.bay));
                prop_assert_eq!((visit.start, visit.finish), (placement.start, placement.finish));
                prop_assert_eq!(visit.steps, placement.steps);
            }
        }
    }

    #[test]
    fn a_list_is_that_many_queries_rises_and_can_be_booked_as_offered(shop in shop()) {
        let (diary, orders) = (diary(&shop), orders(&shop));
        let visits = diary.visits(&orders, shop.moving);
        let list = visits.list(Minute::new(0), 4);
        prop_assert!(list.windows(2).all(|two| two[0].start < two[1].start && two[0].finish < two[1].finish));
        let mut from = Minute::new(0);
        for visit in &list {
            let again = visits.earliest(from);
            prop_assert_eq!(again.as_ref(), Some(visit));
            let booked = visits.at(&visit.stays[0].bay, visit.start);
            prop_assert_eq!(booked.as_ref(), Some(visit));
            from = visit.start + Minutes::new(shop.slot);
        }
    }

    #[test]
    fn looser_input_never_finishes_later(shop in shop(), which in 0..8, place in 0..3usize, more in minutes(6)) {
        let mut looser = shop.clone();
        let (bay, person) = (place % shop.bays.len(), place % shop.technicians.len());
        let order = place % shop.orders.len();
        let step = place % shop.orders[order].len();
        match which {
            0 => looser.bays[bay].features.extend(["drain", "clean", "lift"].map(String::from)),
            1 => looser.bays[bay].held = shop.bays[bay].held.difference(&more),
            2 => looser.bays[bay].open = shop.bays[bay].open.union(&more),
            3 => looser.technicians[person].working = shop.technicians[person].working.union(&more),
            4 => looser.orders[order][step].step.wait = Wait::NONE,
            5 => looser.orders[order][step].holds = Holds::After(BTreeSet::from([2])),
            6 => looser.moving.max_stays = looser.moving.max_stays.saturating_add(1),
            _ => looser.moving.minutes = Minutes::ZERO,
        }
        // Holding back only the last step loosens only a wait that held the whole car.
        let is_looser = which != 5 || shop.orders[order][step].holds == Holds::Car;
        if is_looser && let Some(before) = earliest(&shop, 0) {
            let after = earliest(&looser, 0);
            let sooner = after.as_ref().is_some_and(|after| after.finish <= before.finish);
            prop_assert!(sooner, "{:?} after {:?}", after, before);
        }
    }

    #[test]
    fn one_more_order_never_finishes_later(shop in shop()) {
        let fewer = Shop { orders: shop.orders[..1].to_vec(), ..shop.clone() };
        if let Some(before) = earliest(&fewer, 0) {
            prop_assert!(earliest(&shop, 0).is_some_and(|after| after.finish <= before.finish));
        }
    }
}
