//! Laws of the week, tried on random tiny shops.

use std::collections::BTreeSet;
use std::num::NonZeroU32;

use baywright_domain::schedule::stays::{Moving, StayStep, StepOrder, Visit};
use baywright_domain::schedule::week::{Answer, Bound, Budget, Job, Problem, Week, WhatIf, week, what_if};
use baywright_domain::schedule::{
    Bay, Diary, Holds, Horizon, Plan, Step, Technician, Wait, WaitWhen, Work, with_pairs,
};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use proptest::collection::vec;
use proptest::prelude::*;

const LENGTH: i64 = 60;

#[derive(Debug, Clone)]
struct Shop {
    /// Whether the diary knows pairs.
    pairs: bool,
    slot: u32,
    bays: Vec<Bay>,
    technicians: Vec<Technician>,
    jobs: Vec<Job>,
}

fn stretches(most: usize, longest: i64) -> impl Strategy<Value = IntervalSet> {
    vec((0..LENGTH, 1..=longest), 0..=most).prop_map(|list| {
        list.into_iter()
            .filter_map(|(from, length)| Interval::new(Minute::new(from), Minute::new(from + length)))
            .collect()
    })
}

fn mostly() -> impl Strategy<Value = IntervalSet> {
    let whole: IntervalSet = Interval::new(Minute::new(0), Minute::new(LENGTH)).into_iter().collect();
    stretches(2, 6).prop_map(move |closed| whole.difference(&closed))
}

fn words(all: &'static [&'static str], each: f64) -> impl Strategy<Value = BTreeSet<String>> {
    vec(prop::bool::weighted(each), all.len()).prop_map(|taken| {
        all.iter().zip(taken).filter(|(_, taken)| *taken).map(|(word, _)| (*word).to_owned()).collect()
    })
}

fn step() -> impl Strategy<Value = Step> {
    let wait = (prop_oneof![2 => Just(0), 1 => 1..6u32], any::<bool>());
    (0..8u32, words(&["wash", "sand"], 0.3), prop::option::weighted(0.4, 0..4u32), wait).prop_map(
        |(minutes, skills, smallest, wait)| Step {
            code: "s".into(),
            minutes: Minutes::new(minutes),
            skills,
            work: smallest.map_or(Work::Whole, |p| Work::Pieces { smallest: Minutes::new(p) }),
            wait: Wait { minutes: Minutes::new(wait.0), when: if wait.1 { WaitWhen::Open } else { WaitWhen::Any } },
        },
    )
}

fn job() -> impl Strategy<Value = Job> {
    // Each wait holds the whole car, or only some of at most two later steps.
    let hold = prop_oneof![
        2 => Just(Holds::Car),
        1 => vec(0..3usize, 0..2).prop_map(|steps| Holds::After(steps.into_iter().collect())),
    ];
    let plan = (words(&["lift"], 0.3), vec(step(), 1..=3), vec(hold, 3))
        .prop_filter_map("a plan needs work", |(features, steps, holds)| {
            Some(Plan::new(features, steps).ok()?.holding(holds))
        });
    (plan, 0..LENGTH / 3, 8..LENGTH, 1..4u32).prop_map(|(plan, arrives, due, weight)| Job {
        code: String::new(),
        order: plan.into(),
        moving: Moving::OFF,
        arrives: Minute::new(arrives),
        due: Minute::new(due),
        weight: NonZeroU32::new(weight).unwrap(),
        latest: None,
        promised: None,
    })
}

fn shop() -> impl Strategy<Value = Shop> {
    let bay = (words(&["lift"], 0.8), mostly(), stretches(1, 8));
    let technician = (words(&["wash", "sand"], 0.9), mostly(), stretches(1, 8));
    (1..4u32, vec(bay, 1..=3), vec(technician, 1..=3), vec(job(), 1..=4)).prop_map(|(slot, bays, people, mut jobs)| {
        let bays = bays.into_iter().enumerate().map(|(n, (features, open, held))| Bay {
            code: format!("b{n}"),
            features,
            open,
            held,
        });
        let technicians = people.into_iter().enumerate().map(|(n, (skills, working, busy))| Technician {
            code: format!("t{n}"),
            skills,
            working,
            busy,
        });
        jobs.iter_mut().enumerate().for_each(|(n, job)| job.code = format!("j{n}"));
        Shop { pairs: false, slot, bays: bays.collect(), technicians: technicians.collect(), jobs }
    })
}

/// The same shop, in which cars change bays and two people work together: what its jobs' steps need of their bays, how
/// often their cars may move, and which steps are for two.
fn studio() -> impl Strategy<Value = Shop> {
    let job = (vec(words(&["drain", "clean"], 0.4), 3), 1..4u32, 0..3u32, vec(prop::bool::weighted(0.2), 3));
    let bay = prop_oneof![Just(vec!["drain"]), Just(vec!["clean"]), Just(vec!["drain", "clean"])];
    (shop(), vec(job, 4), vec(bay, 3)).prop_map(|(mut shop, jobs, bays)| {
        shop.pairs = true;
        for (bay, features) in shop.bays.iter_mut().zip(bays) {
            bay.features.extend(features.into_iter().map(str::to_owned));
        }
        for (job, (needs, stays, minutes, two)) in shop.jobs.iter_mut().zip(jobs) {
            job.moving = Moving { max_stays: NonZeroU32::new(stays).unwrap(), minutes: Minutes::new(minutes) };
            let plan = job.order.plan();
            let step = |(place, step): (usize, &Step)| StayStep {
                step: if two[place] { step.clone().for_two() } else { step.clone() },
                features: needs[place].clone(),
                holds: plan.holds(place).clone(),
            };
            let steps = plan.steps().iter().enumerate().map(step).collect();
            job.order = StepOrder::new(&BTreeSet::new(), steps, Minutes::ZERO).unwrap();
        }
        shop
    })
}

/// The first wall that a week breaks.
fn broken(shop: &Shop, week: &Week) -> Option<String> {
    shop.jobs.iter().zip(&week.visits).find_map(|(job, (code, visit))| {
        let mut rest = diary(shop);
        week.visits.iter().filter(|(other, _)| other != code).for_each(|(_, other)| rest.book_visit(other));
        let checked = rest.check_visit(&job.order, job.moving, visit);
        let late = job.latest.is_some_and(|latest| latest < visit.finish);
        match checked {
            Ok(()) if visit.start >= job.arrives && !late => None,
            other => Some(format!("{code}: {other:?}, {visit:?}")),
        }
    })
}

fn diary(shop: &Shop) -> Diary {
    let horizon = Horizon::new(Minute::new(0), Minute::new(LENGTH), Minutes::new(shop.slot)).unwrap();
    let pairs = if shop.pairs { with_pairs(&shop.technicians) } else { shop.technicians.clone() };
    Diary::new(horizon, &shop.bays, &pairs).unwrap()
}

fn solve(shop: &Shop) -> Answer {
    week(&Problem::new(diary(shop), shop.jobs.clone()).unwrap(), &Budget::of_nodes(20_000))
}

fn solved(shop: &Shop) -> Option<Week> {
    match solve(shop) {
        Answer::Placed(week) => Some(week),
        Answer::Unplaced { .. } => None,
    }
}

/// Weighted minutes beyond due, the last finish.
fn figures(jobs: &[Job], week: &Week) -> (u64, Option<Minute>) {
    let late = |(job, (_, visit)): (&Job, &(String, Visit))| {
        u64::try_from(visit.finish.get() - job.due.get()).unwrap_or(0) * u64::from(job.weight.get())
    };
    let last = week.visits.iter().map(|(_, visit)| visit.finish).max();
    (jobs.iter().zip(&week.visits).map(late).sum(), last)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn every_placement_keeps_every_rule_beside_the_others(shop in shop()) {
        if let Some(week) = solved(&shop) {
            for (job, (code, visit)) in shop.jobs.iter().zip(&week.visits) {
                let mut rest = diary(&shop);
                week.visits.iter().filter(|(other, _)| other != code).for_each(|(_, other)| rest.book_visit(other));
                prop_assert_eq!(rest.check_visit(&job.order, job.moving, visit), Ok(()));
                prop_assert!(visit.start >= job.arrives);
            }
            prop_assert_eq!(figures(&shop.jobs, &week), (week.lateness, week.finish));
            let bounded = match week.bound {
                Bound::Lateness(least) => (least <= week.lateness, least == week.lateness && week.lateness > 0),
                Bound::Finish(first) => (first <= week.finish && week.lateness == 0, first == week.finish),
            };
            prop_assert_eq!(bounded, (true, week.proven));
        }
    }

    #[test]
    fn looser_input_never_beats_what_is_proven_to_be_the_best(
        shop in shop(), which in 0..4, place in 0..3usize, more in stretches(2, 9),
    ) {
        let mut looser = shop.clone();
        let (bay, person) = (place % shop.bays.len(), place % shop.technicians.len());
        match which {
            0 => looser.bays[bay].held = shop.bays[bay].held.difference(&more),
            1 => looser.technicians[person].working = shop.technicians[person].working.union(&more),
            2 => looser.technicians[person].skills.extend(["wash".to_owned(), "sand".to_owned()]),
            _ => looser.jobs[0].arrives = Minute::new(0),
        }
        match (solve(&shop), solve(&looser)) {
            (Answer::Placed(before), Answer::Placed(after)) => {
                let value = |week: &Week| (week.lateness, if week.lateness > 0 { None } else { week.finish });
                prop_assert!(!after.proven || value(&after) <= value(&before), "{:?} after {:?}", after, before);
            }
            (Answer::Placed(_), Answer::Unplaced { proven, .. }) => prop_assert!(!proven),
            _ => (),
        }
    }

    #[test]
    fn what_is_told_to_customers_stays_as_long_as_nothing_changes(shop in shop()) {
        if let Some(week) = solved(&shop) {
            let mut told = shop.clone();
            for (job, (_, visit)) in told.jobs.iter_mut().zip(&week.visits) {
                job.promised = Some(visit.clone());
            }
            let again = solved(&told);
            prop_assert!(again.is_some_and(|again| again.moved.is_empty()));
        }
    }

    #[test]
    fn a_promise_moves_where_its_start_is_another_or_its_finish_is_later(shop in shop(), held in stretches(2, 9)) {
        if let Some(before) = solved(&shop) {
            let mut told = shop.clone();
            for (job, (_, visit)) in told.jobs.iter_mut().zip(&before.visits) {
                job.promised = Some(visit.clone());
            }
            told.bays[0].held = told.bays[0].held.union(&held);
            if let Some(after) = solved(&told) {
                let listed: Vec<&String> = after.moved.iter().map(|moved| &moved.job).collect();
                let moved: Vec<&String> = told
                    .jobs
                    .iter()
                    .zip(&after.visits)
                    .filter(|(job, (_, now))| {
                        job.promised.as_ref().is_some_and(|then| then.start != now.start || then.finish < now.finish)
                    })
                    .map(|(job, _)| &job.code)
                    .collect();
                prop_assert_eq!(listed, moved);
            }
        }
    }

    #[test]
    fn one_more_job_is_ready_in_time_or_refused(shop in shop()) {
        let mut known = shop.clone();
        let more = known.jobs.pop().unwrap();
        let Some(week) = solved(&known) else { return Ok(()) };
        for (job, (_, visit)) in known.jobs.iter_mut().zip(&week.visits) {
            job.promised = Some(visit.clone());
        }
        let mut full = diary(&shop);
        match what_if(&full, &known.jobs, &more, &Budget::of_nodes(20_000)).unwrap() {
            WhatIf::FitsIn(visit) => {
                week.visits.iter().for_each(|(_, other)| full.book_visit(other));
                prop_assert_eq!(full.check_visit(&more.order, more.moving, &visit), Ok(()));
                prop_assert!(visit.finish <= more.due);
            }
            WhatIf::GivesWay { visit, others, moved } => {
                prop_assert!(visit.finish <= more.due);
                prop_assert!(moved.iter().all(|moved| others.iter().any(|(code, _)| *code == moved.job)));
            }
            WhatIf::No { .. } => (),
        }
    }

    #[test]
    fn cars_that_change_bays_and_pairs_of_people_keep_every_rule_beside_the_others(shop in studio()) {
        if let Some(week) = solved(&shop) {
            prop_assert_eq!(broken(&shop, &week), None);
            prop_assert_eq!(figures(&shop.jobs, &week), (week.lateness, week.finish));
            let bounded = match week.bound {
                Bound::Lateness(least) => (least <= week.lateness, least == week.lateness && week.lateness > 0),
                Bound::Finish(first) => (first <= week.finish && week.lateness == 0, first == week.finish),
            };
            prop_assert_eq!(bounded, (true, week.proven));
        }
    }

    #[test]
    fn what_is_told_stays_though_cars_change_bays_and_people_work_in_pairs(shop in studio()) {
        if let Some(week) = solved(&shop) {
            let mut told = shop.clone();
            for (job, (_, visit)) in told.jobs.iter_mut().zip(&week.visits) {
                job.promised = Some(visit.clone());
            }
            let again = solved(&told);
            prop_assert!(again.is_some_and(|again| again.moved.is_empty()));
        }
    }

    /// What was found before still holds, so it is offered to the search as if it were told.
    #[test]
    fn a_looser_studio_is_never_later(shop in studio(), which in 0..5, place in 0..3usize) {
        let Some(before) = solved(&shop) else { return Ok(()) };
        let mut looser = shop.clone();
        match which {
            0 => {
                let bay = place % shop.bays.len();
                looser.bays[bay].features.extend(["drain".to_owned(), "clean".to_owned()]);
            }
            1 => looser.technicians.iter_mut().for_each(|person| person.busy = IntervalSet::EMPTY),
            2 => looser.jobs.iter_mut().for_each(|job| job.arrives = Minute::new(0)),
            3 => looser.jobs.iter_mut().for_each(|job| {
                let more = job.moving.max_stays.saturating_add(1);
                job.moving.max_stays = more;
            }),
            _ => looser.bays.iter_mut().for_each(|bay| bay.held = IntervalSet::EMPTY),
        }
        for (job, (_, visit)) in looser.jobs.iter_mut().zip(&before.visits) {
            job.promised = Some(visit.clone());
            job.arrives = job.arrives.min(visit.start);
        }
        let after = solved(&looser);
        prop_assert!(after.is_some_and(|after| after.lateness <= before.lateness));
    }
}
