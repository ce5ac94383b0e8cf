//! Laws of suppositions, and of figures with a cause taken away, tried on random tiny shops.

use std::collections::BTreeSet;

use baywright_domain::calendar::{Absence, Dates, DayHours, Weekly, Zone};
use baywright_domain::schedule::stays::{Moving, StayStep, Visit, Visits};
use baywright_domain::schedule::week::Budget;
use baywright_domain::schedule::{Bay, Causes, Diary, Holds, Horizon, Relief, Step, Technician, Wait, Work};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use baywright_domain::what_if::{BookedCar, ShopTime, Supposed, promises, sooner};
use chrono::{NaiveDate, Weekday};
use proptest::prelude::*;

use crate::moves::Shop;
use crate::stays_laws::{LENGTH, minutes, orders, shop};

fn horizon(shop: &Shop) -> Horizon {
    Horizon::new(Minute::new(0), Minute::new(i64::from(shop.length)), Minutes::new(shop.slot)).unwrap()
}

fn never_stop() -> bool {
    false
}

/// The shop with a visit booked.
fn with_visit(shop: &Shop, visit: &Visit) -> Shop {
    let mut booked = shop.clone();
    for bay in &mut booked.bays {
        let stays = visit.stays.iter().filter(|stay| stay.bay == bay.code);
        let taken: IntervalSet = stays.filter_map(|stay| Interval::new(stay.from, stay.to)).collect();
        bay.held = bay.held.union(&taken);
    }
    for person in &mut booked.technicians {
        let theirs = visit.steps.iter().filter(|step| step.leads() == Some(person.code.as_str()));
        let taken: IntervalSet = theirs.flat_map(|step| step.pieces.iter().copied()).collect();
        person.busy = person.busy.union(&taken);
    }
    booked
}

/// The shop's time, and up to three cars of the same work that are booked in it one after another, as late as asked.
fn booked(shop: &Shop, froms: [u32; 3]) -> (ShopTime, Vec<BookedCar>) {
    // Each step has a code of its own, by which obstacles find it.
    let mut shop = shop.clone();
    for order in &mut shop.orders {
        for (at, step) in order.iter_mut().enumerate() {
            step.step.code = format!("s{at}");
        }
    }
    let shop = &shop;
    let (all, mut now, mut cars) = (orders(shop), shop.clone(), Vec::new());
    for (at, from) in froms.into_iter().enumerate() {
        let diary = Diary::new(horizon(shop), &now.bays, &now.technicians).unwrap();
        let found = diary.visits(&all, shop.moving).earliest(Minute::new(i64::from(from)));
        let Some(visit) = found else { continue };
        now = with_visit(&now, &visit);
        cars.push(BookedCar {
            code: format!("job{at}"),
            car: format!("car{at}"),
            elsewhere: IntervalSet::EMPTY,
            made_for: all[visit.order].clone(),
            orders: all.clone(),
            plan: all[0].plan().clone(),
            moving: shop.moving,
            from: Minute::new(0),
            in_week: visit.is_plain(),
            visit,
        });
    }
    let time = ShopTime { horizon: horizon(shop), bays: shop.bays.clone(), people: shop.technicians.clone() };
    (time, cars)
}

fn first_day() -> Dates {
    let day = NaiveDate::from_ymd_opt(1970, 1, 1).unwrap();
    Dates::through(day, day).unwrap()
}

fn whole_day() -> DayHours {
    DayHours::new(0, 1440).unwrap()
}

/// A supposition that gives time.
fn more(which: u8) -> Supposed {
    let words = |list: &[&str]| list.iter().map(ToString::to_string).collect::<BTreeSet<String>>();
    match which {
        0 => Supposed::Bay { features: words(&["drain", "clean", "lift"]) },
        1 => Supposed::Person { skills: words(&["wash"]) },
        _ => Supposed::Hours { bay: None, people: Vec::new(), dates: first_day(), hours: whole_day() },
    }
}

/// A supposition that takes all of the first day, which is the whole horizon.
fn less(which: u8, shop: &Shop) -> Supposed {
    let weekly = Weekly::new().with(Weekday::Thu, whole_day());
    if which == 0 {
        let bay = shop.bays.first().map(|bay| bay.code.clone());
        Supposed::Closure { bay, weekly, dates: first_day() }
    } else {
        let person = shop.technicians[0].code.clone();
        Supposed::Absence { person, shifts: weekly, away: Absence::Days(first_day()) }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn taking_a_cause_away_never_finishes_later(shop in shop(), car in minutes(3), opened in minutes(4), place in 0..3usize) {
        let (all, bays) = (orders(&shop), &shop.bays);
        let unclosed: Vec<Bay> =
            bays.iter().map(|bay| Bay { open: bay.open.union(&opened), ..bay.clone() }).collect();
        let moves = Moving { max_stays: shop.moving.max_stays.saturating_add(1), ..shop.moving };
        let causes = Causes {
            horizon: horizon(&shop),
            bays,
            technicians: &shop.technicians,
            car: &car,
            unclosed: &unclosed,
            moving: shop.moving,
            moves,
        };
        let first = |visits: &Visits<'_>| visits.earliest(Minute::new(0)).map(|visit| visit.finish);
        let bay = bays[place % bays.len()].code.clone();
        let there = |visits: &Visits<'_>| visits.at(&bay, Minute::new(0)).map(|visit| visit.finish);
        for figures in [causes.figures(&all, first).unwrap(), causes.figures(&all, there).unwrap()] {
            prop_assert_eq!(figures[0].relief, Relief::AsIs);
            if let Some(as_is) = figures[0].finish {
                let later = figures.iter().find(|one| one.finish.is_none_or(|finish| finish > as_is));
                prop_assert_eq!(later, None);
            }
            let both = figures.iter().find(|one| one.relief == Relief::NothingBooked).and_then(|one| one.finish);
            for one in figures.iter().filter(|one| [Relief::BaysEmpty, Relief::EveryoneFree].contains(&one.relief)) {
                prop_assert!(one.finish.is_none_or(|finish| both.is_some_and(|both| both <= finish)));
            }
        }
    }

    #[test]
    fn a_supposition_of_nothing_changes_nothing(shop in shop(), froms in [0..LENGTH, 0..LENGTH, 0..LENGTH]) {
        let (now, cars) = booked(&shop, froms);
        let same = Supposed::Nothing.applied(&now, &Zone::named("UTC").unwrap());
        let found = promises(&now, &same, &cars, Minute::new(0), &Budget::of_nodes(500)).unwrap();
        prop_assert_eq!((found.moved, found.broken_already), (vec![], vec![]));
        let (finishes, complete) = sooner(&now, &same, &cars, &never_stop).unwrap();
        prop_assert!(complete);
        prop_assert!(finishes.iter().all(|one| one.with == one.without && one.minutes() == 0), "{:?}", finishes);
    }

    #[test]
    fn more_time_makes_no_car_later(shop in shop(), froms in [0..LENGTH, 0..LENGTH, 0..LENGTH], which in 0..3u8) {
        let (now, cars) = booked(&shop, froms);
        let supposed = more(which).applied(&now, &Zone::named("UTC").unwrap());
        let (finishes, complete) = sooner(&now, &supposed, &cars, &never_stop).unwrap();
        prop_assert!(complete);
        for one in &finishes {
            prop_assert!(one.with <= one.without && one.without <= one.booked, "{:?}", one);
        }
        let found = promises(&now, &supposed, &cars, Minute::new(0), &Budget::of_nodes(500)).unwrap();
        prop_assert_eq!(found.moved, vec![]);
    }

    #[test]
    fn what_moves_is_a_promise_that_is_not_kept_and_leaves_what_is_closed_or_away(
        shop in shop(), froms in [0..LENGTH, 0..LENGTH, 0..LENGTH], which in 0..2u8,
    ) {
        let (now, cars) = booked(&shop, froms);
        let supposed = less(which, &shop).applied(&now, &Zone::named("UTC").unwrap());
        let found = promises(&now, &supposed, &cars, Minute::new(0), &Budget::of_nodes(2_000)).unwrap();
        for moved in &found.moved {
            let before = &cars.iter().find(|car| car.code == moved.code).unwrap().visit;
            let kept = |after: &Visit| after.start == before.start && after.finish <= before.finish;
            prop_assert!(!moved.after.as_ref().is_some_and(kept), "{:?}", moved);
        }
        // Somebody who is away all day, or a bay that is closed, has no work any more.
        let uses = |visit: &Visit| match which {
            0 => visit.stays.iter().any(|stay| stay.bay == shop.bays[0].code),
            _ => visit.steps.iter().any(|step| step.leads() == Some(shop.technicians[0].code.as_str())),
        };
        for moved in found.moved.iter().filter_map(|moved| moved.after.as_ref()) {
            prop_assert!(!uses(moved), "{:?}", moved);
        }
    }
}

#[test]
fn one_more_bay_for_two_cars_that_share_one_saves_the_days_until_the_second_one_is_done() {
    let bay = Bay {
        code: "b".into(),
        features: BTreeSet::from(["clean".into()]),
        open: (0..4).filter_map(day_hours).collect(),
        held: IntervalSet::EMPTY,
    };
    let people = ["t1", "t2"].map(|code| Technician {
        code: code.into(),
        skills: BTreeSet::new(),
        working: bay.open.clone(),
        busy: IntervalSet::EMPTY,
    });
    let shop = Shop {
        length: 4 * 1440,
        slot: 15,
        bays: vec![bay],
        technicians: people.into(),
        everywhere: BTreeSet::new(),
        orders: vec![vec![coat()]],
        moving: Moving::OFF,
    };
    let (now, cars) = booked(&shop, [0, 0, 0]);
    // One car is done each day; with one more bay two are.
    assert_eq!(cars.iter().map(|car| car.visit.finish.get() / 1440).collect::<Vec<_>>(), [0, 1, 2]);
    let zone = Zone::named("UTC").unwrap();
    let saved = |features: &[&str]| {
        let bay = Supposed::Bay { features: features.iter().map(ToString::to_string).collect() };
        let (all, complete) = sooner(&now, &bay.applied(&now, &zone), &cars, &never_stop).unwrap();
        assert!(complete);
        all.iter().map(|one| one.days(&zone)).collect::<Vec<_>>()
    };
    assert_eq!(saved(&["clean"]), [0, 1, 1]);
    assert_eq!(saved(&[]), [0, 0, 0]);
}

/// Ten hours of one day.
fn day_hours(day: i64) -> Option<Interval> {
    Interval::new(Minute::new(day * 1440 + 480), Minute::new(day * 1440 + 1080))
}

/// Nine hours of work without dust.
fn coat() -> StayStep {
    let step = Step {
        code: "coat".into(),
        minutes: Minutes::new(540),
        skills: BTreeSet::new(),
        work: Work::Whole,
        wait: Wait::NONE,
    };
    StayStep { step, features: BTreeSet::from(["clean".into()]), holds: Holds::Car }
}
