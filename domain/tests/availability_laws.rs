//! Laws of availability, tried on random tiny shops.

use std::collections::BTreeSet;

use baywright_domain::schedule::{
    Bay, Diary, Holds, Horizon, Obstacle, PlacedStep, Placement, Plan, Step, Technician, Wait, WaitWhen, Work,
    with_pairs,
};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::exhaustive::{self, Answer, Shop};

const LENGTH: u32 = 13;

fn stretch(from: u32, to: u32) -> Option<Interval> {
    Interval::new(Minute::new(i64::from(from)), Minute::new(i64::from(to)))
}

/// Up to three stretches, unsorted, which may touch, overlap and reach beyond the horizon.
fn minutes(longest: u32) -> impl Strategy<Value = IntervalSet> {
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

fn step() -> impl Strategy<Value = Step> {
    let wait = (prop_oneof![2 => Just(0), 1 => 1..4u32], any::<bool>());
    (0..5u32, words(&["wash", "sand"], 0.3), prop::option::weighted(0.7, 0..3u32), wait).prop_map(
        |(minutes, skills, smallest, wait)| {
            let when = if wait.1 { WaitWhen::Open } else { WaitWhen::Any };
            Step {
                code: "s".into(),
                minutes: Minutes::new(minutes),
                skills,
                work: smallest.map_or(Work::Whole, |p| Work::Pieces { smallest: Minutes::new(p) }),
                wait: Wait { minutes: Minutes::new(wait.0), when },
            }
        },
    )
}

/// Hold of the wait of each of three steps: the whole car, or each of the later steps with a probability.
fn hold() -> impl Strategy<Value = Holds> {
    let some = vec(any::<bool>(), 3).prop_map(|taken| {
        Holds::After(taken.into_iter().enumerate().filter(|(_, taken)| *taken).map(|(place, _)| place).collect())
    });
    prop_oneof![Just(Holds::Car), some]
}

fn plan() -> impl Strategy<Value = Plan> {
    (words(&["lift"], 0.4), vec(step(), 1..=3), vec(hold(), 3)).prop_filter_map(
        "a plan needs work",
        |(features, steps, mut holds)| {
            // No wait holds back a step that is done before the wait ends.
            for (first, hold) in holds.iter_mut().enumerate() {
                if let Holds::After(steps) = hold {
                    steps.retain(|place| *place > first);
                }
            }
            Plan::new(features, steps).ok().map(|plan| plan.holding(holds))
        },
    )
}

/// A plan with the holds of another one.
fn holding_alike(plan: Plan, other: &Plan) -> Plan {
    plan.holding((0..other.steps().len()).map(|place| other.holds(place).clone()).collect())
}

fn shop() -> impl Strategy<Value = Shop> {
    let bay = (words(&["lift", "drain"], 0.8), mostly(), minutes(2));
    let technician = (words(&["wash", "sand", "coat"], 0.8), mostly(), minutes(2));
    let two = vec(prop::bool::weighted(0.3), 3);
    (1..4u32, vec(bay, 1..=2), vec(technician, 1..=3), plan(), two, any::<bool>()).prop_map(
        |(slot, bays, people, plan, two, turn)| {
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
            Shop { length: LENGTH, slot, bays: bays.collect(), technicians: technicians.collect(), plan, two }
        },
    )
}

fn diary(shop: &Shop) -> Diary {
    let horizon = Horizon::new(Minute::new(0), Minute::new(i64::from(shop.length)), Minutes::new(shop.slot));
    Diary::new(horizon.unwrap(), &shop.bays, &with_pairs(&shop.technicians)).unwrap()
}

/// The plan with its steps for two.
fn asked(shop: &Shop) -> Plan {
    let steps = shop.plan.steps().iter().cloned().zip(&shop.two);
    let steps = steps.map(|(step, two)| if *two { step.for_two() } else { step }).collect();
    holding_alike(Plan::new(shop.plan.features().clone(), steps).unwrap(), &shop.plan)
}

/// Time when somebody is at work and free.
fn free(shop: &Shop, code: &str) -> IntervalSet {
    let person = shop.technicians.iter().find(|person| person.code == code).unwrap();
    person.working.difference(&person.busy)
}

fn earliest(shop: &Shop, not_before: u32) -> Option<Placement> {
    diary(shop).search(&asked(shop)).earliest(Minute::new(i64::from(not_before)))
}

fn answer(placement: &Placement) -> Answer {
    let number = |minute: Minute| u32::try_from(minute.get()).unwrap();
    let steps = placement.steps.iter().map(|s| (s.technician.clone(), exhaustive::pieces_bits(&s.pieces)));
    (number(placement.finish), number(placement.start), placement.bay.clone(), steps.collect())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn the_answer_is_the_best_of_all_there_are(shop in shop(), not_before in 0..LENGTH) {
        let found = earliest(&shop, not_before);
        prop_assert_eq!(found.as_ref().map(answer), exhaustive::earliest(&shop, not_before));
    }

    #[test]
    fn a_list_is_that_many_queries_and_rises(shop in shop()) {
        let list = diary(&shop).search(&asked(&shop)).list(Minute::new(0), 4);
        let mut from = 0;
        let mut expected = Vec::new();
        while let Some(best) = exhaustive::earliest(&shop, from).filter(|_| expected.len() < 4) {
            from = best.1 + shop.slot;
            expected.push(best);
        }
        prop_assert!(list.windows(2).all(|two| two[0].start < two[1].start && two[0].finish < two[1].finish));
        prop_assert_eq!(list.iter().map(answer).collect::<Vec<_>>(), expected);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn an_answer_keeps_every_rule_and_is_what_its_own_start_gives(shop in shop()) {
        let diary = diary(&shop);
        if let Some(best) = earliest(&shop, 0) {
            prop_assert_eq!(diary.check(&asked(&shop), &best), Ok(()));
            prop_assert_eq!(diary.search(&asked(&shop)).at(&best.bay, best.start), Some(best));
        }
    }

    #[test]
    fn a_step_for_two_has_two_people_who_are_both_free_and_then_both_booked(shop in shop()) {
        let Some(best) = earliest(&shop, 0) else { return Ok(()) };
        let anywhere = Bay {
            code: "anywhere".into(),
            features: BTreeSet::new(),
            open: stretch(0, LENGTH).into_iter().collect(),
            held: IntervalSet::EMPTY,
        };
        let horizon = Horizon::new(Minute::new(0), Minute::new(i64::from(LENGTH)), Minutes::new(1)).unwrap();
        let mut diary = Diary::new(horizon, &[anywhere], &with_pairs(&shop.technicians)).unwrap();
        diary.book(&best);
        for (place, placed) in best.steps.iter().enumerate().filter(|(_, placed)| placed.technician.is_some()) {
            let (step, leads) = (&shop.plan.steps()[place], placed.leads().unwrap());
            prop_assert_eq!(placed.helps().is_some(), shop.two[place]);
            prop_assert!(placed.helps() != Some(leads));
            let skills = &shop.technicians.iter().find(|person| person.code == leads).unwrap().skills;
            prop_assert!(step.skills.is_subset(skills), "{} leads {:?}", leads, step);
            for who in [Some(leads), placed.helps()].into_iter().flatten() {
                prop_assert!(placed.pieces.iter().all(|piece| free(&shop, who).covers(*piece)), "{} in {:?}", who, best);
                // Whoever asks for the same time finds neither of them, alone or beside anybody.
                let again = Step { skills: BTreeSet::new(), wait: Wait::NONE, ..step.clone() };
                let plan = Plan::new(BTreeSet::new(), vec![again]).unwrap();
                let others = shop.technicians.iter().map(|other| other.code.as_str()).filter(|other| *other != who);
                for other in [None].into_iter().chain(others.map(Some)) {
                    let technician = Some(PlacedStep::technician_of(who, other));
                    let step = PlacedStep { technician, ..placed.clone() };
                    let (start, finish) = (step.pieces[0].from(), step.pieces.last().unwrap().to());
                    let placement = Placement { bay: "anywhere".into(), start, finish, steps: vec![step] };
                    let refused = diary.check(&plan, &placement);
                    let away = other.is_some() && matches!(refused, Err(Obstacle::Away { .. }));
                    prop_assert!(away || matches!(refused, Err(Obstacle::Busy { .. })), "{:?}", refused);
                }
            }
        }
    }

    #[test]
    fn an_answer_that_is_tampered_with_breaks_a_rule(shop in shop()) {
        let diary = diary(&shop);
        if let Some(best) = earliest(&shop, 0) {
            let one = Minutes::new(1);
            let check = |change: &dyn Fn(&mut Placement)| {
                let mut other = best.clone();
                change(&mut other);
                diary.check(&asked(&shop), &other)
            };
            prop_assert!(check(&|p| p.finish = p.finish + one).is_err());
            prop_assert!(check(&|p| p.finish = p.finish - one).is_err());
            prop_assert!(check(&|p| p.start = p.finish).is_err());
            prop_assert_eq!(check(&|p| p.bay = "none".into()), Err(Obstacle::NoBay));
            prop_assert_eq!(check(&|p| p.steps.clear()), Err(Obstacle::OtherWork { step: None }));
            for place in 0..best.steps.len() {
                let attended = best.steps[place].technician.is_some();
                let absent = check(&|p| p.steps[place].technician = (!attended).then(|| "t0".to_owned()));
                prop_assert!(matches!(absent, Err(Obstacle::OtherWork { .. })), "{:?}", absent);
                if attended {
                    let gone = check(&|p| { p.steps[place].pieces.pop(); });
                    prop_assert!(matches!(gone, Err(Obstacle::OtherWork { .. })), "{:?}", gone);
                }
            }
        }
    }

    #[test]
    fn looser_input_never_finishes_later(shop in shop(), which in 0..8, place in 0..3usize, more in minutes(6)) {
        let mut looser = shop.clone();
        let (bay, person) = (place % shop.bays.len(), place % shop.technicians.len());
        match which {
            0 => looser.bays[bay].open = shop.bays[bay].open.union(&more),
            1 => looser.bays[bay].held = shop.bays[bay].held.difference(&more),
            2 => looser.bays[bay].features.extend(shop.plan.features().iter().cloned()),
            3 => looser.technicians[person].working = shop.technicians[person].working.union(&more),
            4 => looser.technicians[person].busy = shop.technicians[person].busy.difference(&more),
            5 => looser.technicians[person].skills.extend(["wash".to_owned(), "sand".to_owned()]),
            6 => {
                let holds = |at: usize| {
                    if at == place { Holds::After(BTreeSet::new()) } else { shop.plan.holds(at).clone() }
                };
                looser.plan = shop.plan.clone().holding((0..3).map(holds).collect());
            }
            _ => {
                let mut steps = shop.plan.steps().to_vec();
                let step = place % steps.len();
                steps[step].wait = Wait::NONE;
                steps[step].minutes = Minutes::new(steps[step].minutes.get().saturating_sub(1).max(1));
                if shop.plan.steps()[step].minutes > Minutes::ZERO {
                    looser.plan =
                        holding_alike(Plan::new(shop.plan.features().clone(), steps).unwrap(), &shop.plan);
                }
            }
        }
        if let Some(before) = earliest(&shop, 0) {
            let after = earliest(&looser, 0);
            prop_assert!(after.as_ref().is_some_and(|after| after.finish <= before.finish), "{:?} after {:?}", after, before);
        }
    }

    #[test]
    fn a_booking_that_has_nothing_to_do_with_it_changes_nothing(shop in shop(), from in 0..6u32, place in 0..3usize) {
        let before = earliest(&shop, from);
        // What lies before the time asked for, or after the finish.
        let mut unrelated: Vec<Interval> = stretch(0, from).into_iter().collect();
        unrelated.extend(before.as_ref().and_then(|best| Interval::new(best.finish, Minute::new(99))));
        let unrelated: IntervalSet = unrelated.into_iter().collect();
        let mut other = shop.clone();
        let (bay, person) = (place % shop.bays.len(), place % shop.technicians.len());
        other.bays[bay].held = shop.bays[bay].held.union(&unrelated);
        other.technicians[person].busy = shop.technicians[person].busy.union(&unrelated);
        prop_assert_eq!(earliest(&other, from), before);
    }

    #[test]
    fn what_cannot_serve_changes_nothing(shop in shop(), taken in minutes(9)) {
        let before = earliest(&shop, 0);
        let mut other = shop.clone();
        for bay in other.bays.iter_mut().filter(|bay| !shop.plan.features().is_subset(&bay.features)) {
            bay.held = bay.held.union(&taken);
        }
        let needed = |person: &Technician| {
            let mut steps = shop.plan.steps().iter().zip(&shop.two).filter(|(s, _)| s.minutes > Minutes::ZERO);
            steps.any(|(s, two)| *two || s.skills.is_subset(&person.skills))
        };
        for person in other.technicians.iter_mut().filter(|person| !needed(person)) {
            person.busy = person.busy.union(&taken);
        }
        other.bays.reverse();
        other.technicians.reverse();
        prop_assert_eq!(earliest(&other, 0), before);
    }
}
