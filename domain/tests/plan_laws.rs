//! Rules of work plans: merged once, in an order that meets every precedence, with budgets that only grow.
use std::collections::BTreeMap;
use std::num::NonZeroU32;

use baywright_domain::caution::{Caution, Hazard};
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{ChangeoverRates, Code, Factors, Holds, Menu, Setup};
use baywright_domain::plan::{
    Hands, Left, PlanRefusal, ServiceUnits, WorkPlan, attended_minutes, budget, changeover, merge, work_plan,
};
use baywright_domain::schedule::stays::Moving;
use baywright_domain::schedule::{Bay, Waits};
use baywright_domain::time::{IntervalSet, Minute, Minutes};
use baywright_domain::vehicle::{Car, Powertrain, SizeClass};
use proptest::prelude::*;
use rust_decimal::Decimal;

use crate::studio::{self, car, code, codes, decimal, medium, menu, step};

fn order(menu: &Menu, services: &[&str]) -> Vec<String> {
    let plan = work_plan(menu, &codes(services), medium(), Hands::One).unwrap();
    plan.steps.iter().map(|step| step.code.to_string()).collect()
}

#[test]
fn a_step_is_done_once_however_many_services_need_it() {
    let order = order(&menu(), &["wash-only", "coating", "interior"]);
    let expected = ["wheels", "wash", "iron", "clay", "inspect", "polish", "vacuum", "extract", "coat", "final"];
    assert_eq!(order, expected);
}

#[test]
fn the_largest_budget_of_a_shared_step_is_kept() {
    let menu = menu();
    for services in [["wash-only", "deep-wash"], ["deep-wash", "wash-only"]] {
        let merged = merge(&menu, &codes(&services)).unwrap();
        let wash = merged.iter().find(|one| one.step.code == code("wash")).unwrap();
        assert_eq!(wash.base, Minutes::new(80));
        assert_eq!(wash.services, codes(&["deep-wash", "wash-only"]));
    }
}

fn units(sold: &[(&str, &str)]) -> Vec<ServiceUnits> {
    sold.iter().map(|(service, many)| ServiceUnits { service: code(service), quantity: decimal(many) }).collect()
}

#[test]
fn a_quantity_multiplies_the_steps_that_only_its_service_needs() {
    let menu = menu();
    let attended = |sold: &[(&str, &str)]| {
        let plan = work_plan(&menu, &units(sold), medium(), Hands::One).unwrap();
        assert_eq!(attended_minutes(&menu, &units(sold), medium()), Ok(plan.attended));
        plan.attended.get()
    };
    // Wheels 30, wash 50, final 15; interior: vacuum 60, extraction 90, final 15.
    assert_eq!(attended(&[("wash-only", "1")]), 95);
    assert_eq!(attended(&[("wash-only", "3")]), 285, "three washes are three times the work");
    // Of the interior the vacuum and the extraction are its own; the final inspection is shared and done once.
    assert_eq!(attended(&[("wash-only", "1"), ("interior", "2")]), 95 + 2 * 150);
    assert_eq!(attended(&[("wash-only", "2"), ("interior", "2")]), 2 * 80 + 2 * 150 + 15);
    // A share of one: 0.5 × (30 + 50 + 15), each rounded up to whole minutes.
    assert_eq!(attended(&[("wash-only", "0.5")]), 15 + 25 + 8);
}

#[test]
fn a_quantity_multiplies_the_products_of_those_steps() {
    let of = |sold: &[(&str, &str)]| {
        let plan = work_plan(&menu(), &units(sold), medium(), Hands::One).unwrap();
        let amount = |name: &str| plan.products.iter().find(|one| one.product == code(name)).unwrap().amount;
        (amount("wheel-acid"), amount("shampoo"))
    };
    assert_eq!(of(&[("wash-only", "1")]), (decimal("200"), decimal("10000")));
    assert_eq!(of(&[("wash-only", "3")]), (decimal("600"), decimal("30000")));
    let shared = of(&[("wash-only", "3"), ("polish-one", "1")]);
    assert_eq!(shared, (decimal("200"), decimal("10000")), "both need wheels and wash, so they are done once");
}

#[test]
fn a_step_done_several_times_is_shorter_with_two_pairs_of_hands_too() {
    let mut menu = menu();
    menu.services.push(studio::service("clay-only", &["clay"], studio::fixed(1, 1, 1, 1)));
    let one = work_plan(&menu, &units(&[("clay-only", "4")]), medium(), Hands::One).unwrap();
    assert_eq!(one.steps[0].budget.quantity, decimal("4"));
    // 4 × 20 = 80; two people take 0.6 of it.
    assert_eq!((one.attended.get(), one.clone().with(Hands::Two).attended.get()), (80, 48));
    assert_eq!(one.clone().with(Hands::Two).with(Hands::One), one);
}

#[test]
fn a_budget_is_base_times_factors_rounded_up_to_whole_minutes() {
    let menu = menu();
    let polish = menu.step(&code("polish")).unwrap();
    let made = |car, hands| budget(polish, polish.minutes, &menu.factors, car, hands).minutes.get();
    assert_eq!(made(medium(), Hands::One), 240);
    // 240 × 0.85 × 0.9 = 183.6
    assert_eq!(made(car(SizeClass::Small, ConditionClass::Light), Hands::One), 184);
    // 240 × 1.5 × 1.7 = 612; two people take 0.6 of it: 367.2
    let worst = car(SizeClass::ExtraLarge, ConditionClass::Severe);
    assert_eq!((made(worst, Hands::One), made(worst, Hands::Two)), (612, 368));
    let inspect = menu.step(&code("inspect")).unwrap();
    // Condition doesn't matter to it, and no second person helps: 15 × 1.5 = 22.5
    assert_eq!(budget(inspect, inspect.minutes, &menu.factors, worst, Hands::Two).minutes.get(), 23);
}

#[test]
fn a_step_that_allows_it_is_shorter_with_two_pairs_of_hands_and_the_order_stays() {
    let plan = work_plan(&menu(), &codes(&["coating"]), medium(), Hands::One).unwrap();
    let two = plan.clone().with(Hands::Two);
    assert!(plan.allows_two() && two.attended < plan.attended && two.elapsed < plan.elapsed);
    let saved = plan.attended.get() - two.attended.get();
    assert_eq!(plan.elapsed.get() - two.elapsed.get(), saved);
    for (one, two) in plan.steps.iter().zip(&two.steps) {
        assert_eq!(one.code, two.code);
        // 0.6 of a clay of 20 minutes and of a polish of 240.
        let minutes = match one.code.as_str() {
            "clay" => 12,
            "polish" => 144,
            _ => one.attended.get(),
        };
        assert_eq!(two.attended.get(), minutes, "{}", one.code);
        assert_eq!(two.hands == Hands::Two, one.two_hands.is_some());
    }
    let scheduled = two.to_schedule().unwrap();
    assert!(scheduled.takes_two() && !plan.to_schedule().unwrap().takes_two());
    let for_two = scheduled.steps().iter().filter(|step| step.is_for_two()).map(|step| step.code.as_str());
    assert_eq!(for_two.collect::<Vec<_>>(), ["clay", "polish"]);
}

#[test]
fn precedence_holds_through_steps_that_the_plan_does_not_have() {
    let mut menu = menu();
    // Alphabet and stage both say polish first; wheels must precede it only through wash and clay.
    menu.steps[0].stage = 19;
    menu.services[2].steps.retain(|used| used.step == code("wheels") || used.step == code("polish"));
    assert_eq!(order(&menu, &["polish-one"]), ["wheels", "polish"]);
}

#[test]
fn a_gate_closes_the_stages_before_it() {
    let plan = work_plan(&menu(), &codes(&["interior"]), medium(), Hands::One).unwrap();
    let last = plan.steps.last().unwrap();
    assert_eq!((last.code.as_str(), last.after.clone()), ("final", codes(&["extract", "vacuum"])));
}

#[test]
fn services_that_exclude_each_other_are_refused_with_their_steps() {
    let refusal = work_plan(&menu(), &codes(&["correct-two", "polish-one"]), medium(), Hands::One).unwrap_err();
    let PlanRefusal::Excluded { one, other, other_steps, .. } = &refusal else { panic!("{refusal:?}") };
    assert_eq!((one.as_str(), other.as_str()), ("CORRECT-TWO", "POLISH-ONE"));
    assert!(other_steps.contains(&String::from("POLISH")));
    assert!(refusal.to_string().contains("exclude each other"));
}

#[test]
fn a_cycle_is_refused_by_its_shortest_round() {
    let mut menu = menu();
    menu.steps[1].after = codes(&["wheels", "clay"]);
    menu.steps[2].after = codes(&["wash", "polish"]);
    let refusal = work_plan(&menu, &codes(&["coating"]), medium(), Hands::One).unwrap_err();
    assert_eq!(refusal, PlanRefusal::Cycle(vec!["WASH".into(), "IRON".into(), "CLAY".into()]));
    assert!(refusal.to_string().ends_with("WASH → IRON → CLAY → WASH"));
}

#[test]
fn a_plan_needs_work_that_takes_time() {
    assert_eq!(work_plan(&menu(), &codes(&[]), medium(), Hands::One), Err(PlanRefusal::NothingToDo));
    let unknown = work_plan(&menu(), &codes(&["nowhere"]), medium(), Hands::One);
    assert_eq!(unknown, Err(PlanRefusal::UnknownService(code("nowhere"))));
}

#[test]
fn changeovers_add_up_what_has_to_change() {
    let rates = ChangeoverRates::USUAL;
    let menu = menu();
    let setup = |name: &str| &menu.step(&code(name)).unwrap().setup;
    let minutes = |from: Option<&Setup>, to: Option<&Setup>| changeover(from, to, &rates).get();
    assert_eq!(minutes(None, Some(setup("wash"))), 0);
    assert_eq!(minutes(Some(setup("wash")), Some(setup("iron"))), 0);
    // Wet to dry, dirty to clean.
    assert_eq!(minutes(Some(setup("clay")), Some(setup("inspect"))), 10 + 5);
    // Polisher out, mask on.
    assert_eq!(minutes(Some(setup("inspect")), Some(setup("polish"))), 5 + 15);
    // Polisher away, mask off, dirty to clean.
    assert_eq!(minutes(Some(setup("polish")), Some(setup("coat"))), 5 + 10 + 5);
    assert_eq!(minutes(Some(setup("polish")), None), 5 + 10);
}

#[test]
fn offsets_leave_room_for_changeovers_and_waits() {
    let plan = work_plan(&menu(), &codes(&["interior"]), medium(), Hands::One).unwrap();
    let seen: Vec<_> = plan.steps.iter().map(|step| (step.code.as_str(), step.start_offset.get())).collect();
    // Extraction begins at 60, ends at 150 and dries for 240; then out of the car (5) with clean hands (5).
    assert_eq!(seen, [("vacuum", 0), ("extract", 60), ("final", 400)]);
    assert_eq!((plan.attended.get(), plan.changeover.get(), plan.elapsed.get()), (165, 10, 415));
    let occupied: u32 = plan.steps.iter().map(|step| step.occupied().get()).sum();
    assert_eq!(occupied, 175);
}

#[test]
fn a_plan_unites_features_skills_products_and_cautions() {
    let electric = Car { powertrain: Powertrain::Electric, ..medium() };
    let plan = work_plan(&menu(), &codes(&["coating", "interior"]), electric, Hands::One).unwrap();
    assert_eq!(plan.features, codes(&["cover", "dust-free"]));
    assert_eq!(plan.skills, codes(&["correction"]));
    // The acid for wheels and the bleach for seats are in one plan: the danger comes first.
    let expected = [Hazard::AcidWithChlorine, Hazard::HighVoltage, Hazard::HotOrBareMetal].map(Caution::Known);
    assert_eq!(plan.cautions, expected);
    let acid = plan.products.iter().find(|measured| measured.product == code("wheel-acid")).unwrap();
    assert_eq!((acid.amount, acid.bought()), (Decimal::from(200), Decimal::from(40)));
}

#[test]
fn a_plan_keeps_the_front_of_its_orders() {
    let mut looser = menu();
    for step in &mut looser.steps {
        step.wait.holds = Holds::After;
    }
    let services = codes(&["coating", "interior"]);
    for hands in [Hands::One, Hands::Two] {
        let held = work_plan(&menu(), &services, medium(), hands).unwrap();
        let plan = work_plan(&looser, &services, medium(), hands).unwrap();
        assert!(held.orders_proven && held.orders.len() == 1 && plan.orders_proven);
        let own: Vec<Code> = plan.steps.iter().map(|step| step.code.clone()).collect();
        let first = &plan.orders[0];
        assert_eq!((&first.steps, first.changeover, first.elapsed), (&own, plan.changeover, plan.elapsed));
        assert_eq!((plan.changeover, plan.proven), (held.changeover, held.proven));
        assert!(plan.elapsed <= held.elapsed);
        assert_eq!(plan.orders_in_words().len(), plan.orders.len());
        // The schedule's rule about holds of waits is the same.
        for plan in [&held, &plan] {
            assert_eq!(plan.to_schedule().unwrap().shortest(), plan.elapsed);
        }
    }
}

#[test]
fn the_work_can_be_done_in_each_order_of_its_front() {
    let mut looser = menu();
    for step in &mut looser.steps {
        step.wait.holds = Holds::After;
    }
    for hands in [Hands::One, Hands::Two] {
        let plan = work_plan(&looser, &codes(&["coating", "interior"]), medium(), hands).unwrap();
        let orders = plan.step_orders().unwrap();
        assert_eq!(orders.len(), plan.orders.len());
        for (which, front) in plan.orders.iter().enumerate() {
            let same = plan.in_order(which);
            let steps: Vec<Code> = same.steps.iter().map(|step| step.code.clone()).collect();
            assert_eq!((&steps, same.changeover, same.elapsed), (&front.steps, front.changeover, front.elapsed));
            let schedule = same.to_schedule().unwrap();
            assert_eq!((&schedule, schedule.shortest()), (orders[which].plan(), front.elapsed));
            assert_eq!(orders[which].changeover(), front.changeover);
            for (place, step) in same.steps.iter().enumerate() {
                let last = same.steps[..place].iter().rev().find(|earlier| step.after.contains(&earlier.code));
                assert_eq!(step.held_back_by, last.map(|earlier| earlier.code.clone()));
            }
        }
        assert_eq!(plan.in_order(99).steps, plan.steps);
    }
}

#[test]
fn a_car_is_moved_only_if_no_bay_has_everything_and_a_move_costs_its_minutes() {
    let plan = work_plan(&menu(), &codes(&["coating"]), medium(), Hands::One).unwrap();
    let bay = |features: &[&str]| Bay {
        code: features.join("-"),
        features: features.iter().map(ToString::to_string).collect(),
        open: IntervalSet::EMPTY,
        held: IntervalSet::EMPTY,
    };
    let allowed = Moving { max_stays: NonZeroU32::new(3).unwrap(), minutes: Minutes::new(10) };
    assert_eq!(plan.moves_needed(&[bay(&["dust-free"]), bay(&["cover"])], allowed), allowed);
    let one_bay = plan.moves_needed(&[bay(&["cover"]), bay(&["cover", "dust-free"])], allowed);
    assert_eq!(one_bay, Moving { max_stays: NonZeroU32::MIN, ..allowed });
    let moved = plan.clone().moved_before(["coat", "no-such-step"], Minutes::new(10));
    let before = |plan: &WorkPlan| plan.steps.iter().find(|step| step.code == code("coat")).unwrap().changeover_before;
    assert_eq!(before(&moved), before(&plan) + Minutes::new(10));
    let ten_more = |minutes: Minutes| minutes + Minutes::new(10);
    assert_eq!((moved.changeover, moved.elapsed), (ten_more(plan.changeover), ten_more(plan.elapsed)));
}

fn some_services() -> impl Strategy<Value = Vec<Code>> {
    prop::sample::subsequence(vec!["wash-only", "deep-wash", "coating", "correct-two", "interior"], 1..=5)
        .prop_map(|chosen| codes(&chosen))
}

/// A menu of `n` steps with random forward precedence under shuffled codes and stages.
fn random_menu() -> impl Strategy<Value = Menu> {
    let pairs = prop::collection::vec((0_usize..12, 0_usize..12), 0..30);
    (pairs, prop::collection::vec(0_u16..4, 12), 0_u64..13).prop_map(|(pairs, stages, seed)| {
        let mut menu = menu();
        let name = |at: usize| format!("s{}", (at as u64 * 7 + seed) % 13);
        menu.checkpoints.clear();
        menu.packages.clear();
        menu.steps = (0..12).map(|at| step(&name(at), stages[at], 10, &[])).collect();
        for (one, other) in pairs {
            let (first, then) = (one.min(other), one.max(other));
            let before = code(&name(first));
            if first != then && !menu.steps[then].after.contains(&before) {
                menu.steps[then].after.push(before);
            }
        }
        let all: Vec<String> = (0..12).map(name).collect();
        let all: Vec<&str> = all.iter().map(String::as_str).collect();
        menu.services = vec![studio::service("all", &all, studio::fixed(1, 1, 1, 1))];
        menu
    })
}

proptest! {
    #[test]
    fn merging_again_changes_nothing(services in some_services(), rotate in 0_usize..5) {
        let menu = menu();
        let once = merge(&menu, &services).unwrap();
        let mut again = services.clone();
        again.extend(services.iter().cloned());
        again.rotate_left(rotate % services.len());
        prop_assert_eq!(merge(&menu, &again).unwrap(), once);
    }

    #[test]
    fn an_order_meets_every_precedence_and_names_each_step_once(menu in random_menu()) {
        prop_assert_eq!(menu.faults(), []);
        let plan = work_plan(&menu, &codes(&["all"]), medium(), Hands::One).unwrap();
        let place: BTreeMap<&Code, usize> = plan.steps.iter().enumerate().map(|(at, step)| (&step.code, at)).collect();
        prop_assert_eq!(place.len(), 12);
        for step in &menu.steps {
            for before in &step.after {
                prop_assert!(place[before] < place[&step.code]);
            }
        }
        prop_assert!(plan.changeover_bound <= plan.changeover);
    }

    #[test]
    fn a_budget_never_falls_as_a_factor_rises(
        base in 0_u32..10_000, low in 1_i64..100_000, more in 0_i64..100_000, share in 5_000_i64..10_000,
    ) {
        let mut menu = menu();
        let mut step = step("any", 1, base, &[]);
        step.two_hands = Some(Decimal::new(share, 4));
        let made = |factors: &Factors, hands| budget(&step, step.minutes, factors, medium(), hands).minutes;
        menu.factors.size.medium = Decimal::new(low, 4);
        let lower = made(&menu.factors, Hands::One);
        prop_assert!(made(&menu.factors, Hands::Two) <= lower);
        menu.factors.size.medium = Decimal::new(low + more, 4);
        prop_assert!(made(&menu.factors, Hands::One) >= lower);
        menu.factors.condition.fair = Decimal::ONE + Decimal::new(more, 4);
        prop_assert!(made(&menu.factors, Hands::One) >= lower);
    }

    #[test]
    fn a_budget_is_the_exact_product_or_less_than_a_minute_above(base in 0_u32..10_000, factor in 1_i64..100_000) {
        let mut menu = menu();
        menu.factors.size.medium = Decimal::new(factor, 4);
        let step = step("any", 1, base, &[]);
        let made = i64::from(budget(&step, step.minutes, &menu.factors, medium(), Hands::One).minutes.get());
        let above = made * 10_000 - i64::from(base) * factor;
        prop_assert!((0..10_000).contains(&above));
    }

    #[test]
    fn a_kept_plan_with_other_hands_is_the_one_made_for_them(services in some_services()) {
        let menu = menu();
        let [one, two] = [Hands::One, Hands::Two].map(|hands| work_plan(&menu, &services, medium(), hands).unwrap());
        prop_assert_eq!(one.clone().with(Hands::Two), two.clone());
        prop_assert_eq!(two.with(Hands::One), one);
    }

    #[test]
    fn steps_follow_each_other_without_overlap(services in some_services()) {
        let menu = menu();
        let plan = work_plan(&menu, &services, medium(), Hands::One).unwrap();
        for pair in plan.steps.windows(2) {
            let free = pair[0].start_offset + pair[0].attended + pair[0].wait.minutes;
            prop_assert_eq!(free + pair[1].changeover_before, pair[1].start_offset);
        }
    }
}

#[test]
fn what_is_left_of_a_job_is_what_its_open_steps_are_planned_for_less_what_was_done() {
    use baywright_domain::id::PersonId;
    use baywright_domain::job::{Job, JobStep, Piece, StepState};
    use chrono::{DateTime, Utc};
    let plan = work_plan(&menu(), &codes(&["coating"]), medium(), Hands::One).unwrap();
    let at = |minutes: i64| DateTime::<Utc>::from_timestamp(minutes * 60, 0).unwrap();
    let open =
        |step: &baywright_domain::plan::PlannedStep| JobStep::new(step.code.clone(), step.name.clone(), Vec::new());
    let mut job = Job { steps: plan.steps.iter().map(open).collect() };
    let minutes = |job: &Job| -> Vec<(String, u32)> {
        let Left::Work(rest) = plan.rest(job, at(1_000)).left else { panic!("no work is left") };
        rest.steps().iter().map(|step| (step.code.clone(), step.minutes.get())).collect()
    };
    let whole: Vec<(String, u32)> =
        plan.steps.iter().map(|step| (step.code.to_string(), step.occupied().get())).collect();
    assert_eq!(minutes(&job), whole);
    // The first is settled; the second was worked on for ten minutes; the third for longer than it was planned for.
    let worked = |from, until| vec![Piece { who: PersonId::new("p"), from: at(from), until: Some(at(until)) }];
    job.steps[0].state = StepState::Finished;
    job.steps[1].state = StepState::Running;
    job.steps[1].pieces = worked(100, 110);
    job.steps[2].state = StepState::Running;
    job.steps[2].pieces = worked(200, 900);
    let mut expected = whole[1..].to_vec();
    expected[0].1 -= 10;
    expected[1].1 = 0;
    assert_eq!(minutes(&job), expected);
    // The last two are begun, and both have had their time: what is left of the coat is to cure.
    let coat = plan.steps.len() - 2;
    for (at, step) in job.steps.iter_mut().enumerate() {
        step.state = if at < coat { StepState::Finished } else { StepState::Paused };
        step.pieces = worked(0, 900);
    }
    let cures = plan.steps[coat].wait.minutes;
    assert!(cures > Minutes::ZERO);
    let Left::Waits(waits) = plan.rest(&job, at(1_000)).left else { panic!("work is left") };
    assert_eq!(waits.steps().iter().map(|step| step.wait.minutes).collect::<Vec<_>>(), [cures, Minutes::ZERO]);
    for step in &mut job.steps {
        step.state = StepState::Removed;
    }
    assert_eq!(plan.rest(&job, at(1_000)).left, Left::Waits(Waits::new(Vec::new(), Vec::new())));
}

#[test]
fn what_still_dries_holds_back_the_car_or_only_the_steps_after_it() {
    use baywright_domain::job::{Job, JobStep, StepState};
    use chrono::{DateTime, Utc};
    let mut looser = menu();
    for step in &mut looser.steps {
        step.wait.holds = Holds::After;
    }
    let plan = work_plan(&looser, &codes(&["wash-only", "interior"]), medium(), Hands::One).unwrap();
    let at = |minutes: i64| DateTime::<Utc>::from_timestamp(minutes * 60, 0).unwrap();
    let (done, extract) = (codes(&["vacuum", "extract"]), code("extract"));
    let job = |holds: Holds| {
        let of = |step: &baywright_domain::plan::PlannedStep| JobStep {
            holds,
            state: if done.contains(&step.code) { StepState::Finished } else { StepState::Open },
            clear_from: (step.code == extract).then(|| at(1_240)),
            ..JobStep::new(step.code.clone(), step.name.clone(), step.after.clone())
        };
        Job { steps: plan.steps.iter().map(of).collect() }
    };
    let minute = Minute::new;
    let dries = plan.rest(&job(Holds::After), at(1_000));
    assert_eq!((dries.from, dries.clear), (minute(1_000), minute(1_240)));
    let open = plan.steps.iter().filter(|step| !done.contains(&step.code));
    let expected = open.map(|step| minute(if step.after.contains(&extract) { 1_240 } else { 1_000 }));
    assert_eq!(dries.not_before, expected.collect::<Vec<_>>());
    assert!(dries.not_before.contains(&minute(1_000)) && dries.not_before.contains(&minute(1_240)));
    let cures = plan.rest(&job(Holds::Car), at(1_000));
    assert_eq!((cures.from, cures.clear), (minute(1_240), minute(1_240)));
    assert!(cures.not_before.iter().all(|moment| *moment == minute(1_240)));
}
