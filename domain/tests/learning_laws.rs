//! Rules of learning: what jobs teach, what they don't, and what is promised.
use std::ops::RangeInclusive;

use baywright_domain::inspection::ConditionClass;
use baywright_domain::learning::{
    Beliefs, Estimate, Learned, LearnedFrom, Lesson, Outlier, Part, Policy, Prior, Quantile, Ratio, estimate, outlook,
    total,
};
use baywright_domain::menu::{Code, Menu};
use baywright_domain::plan::{Hands, work_plan};
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};
use baywright_domain::vehicle::SizeClass;
use proptest::prelude::*;
use rust_decimal::Decimal;

use crate::studio::{code, codes, decimal, medium, menu};

const EIGHTY: Quantile = Quantile::USUAL;

fn from(ratios: &[&str]) -> Estimate {
    learn(&ratios.iter().map(|text| decimal(text)).collect::<Vec<_>>())
}

fn learn(ratios: &[Decimal]) -> Estimate {
    estimate(Prior::USUAL, ratios.iter().filter_map(|ratio| Ratio::new(*ratio).unwrap().learn().ok()))
}

fn lesson(step: &str, size: SizeClass, actual: u32) -> Lesson {
    Lesson {
        step: code(step),
        services: Vec::new(),
        size,
        condition: ConditionClass::Fair,
        hands: Hands::One,
        quantity: Decimal::ONE,
        actual: Minutes::new(actual),
    }
}

/// So many jobs of a step, each of so many minutes.
fn jobs(step: &str, size: SizeClass, count: usize, actual: u32) -> Vec<Lesson> {
    vec![lesson(step, size, actual); count]
}

fn near(a: Decimal, b: &str) -> bool {
    (a - decimal(b)).abs() < decimal("0.000001")
}

#[test]
fn without_jobs_the_budget_is_the_median_and_the_usual_spread_the_promise() {
    let nothing = from(&[]);
    assert_eq!((nothing.jobs(), nothing.mean_log(), nothing.median_factor()), (0, Decimal::ZERO, Decimal::ONE));
    // e^(0.841621 × 0.25 × √(1 + 1/5)), with scipy.stats.norm.
    assert!(near(nothing.factor_at(EIGHTY), "1.259214"), "{}", nothing.factor_at(EIGHTY));
}

#[test]
fn jobs_pull_the_mean_from_the_budget_as_their_number_does_against_the_priors() {
    // By hand: five jobs of ratio 1.4 beside five imagined ones of ratio 1 make half of ln 1.4 = 0.336472.
    let five = from(&["1.4"; 5]);
    assert!(near(five.mean_log(), "0.168236"), "{}", five.mean_log());
    assert!(near(five.median_factor(), "1.183216"), "{}", five.median_factor());
    // σ² = (5 (0.0625 + 0.028303) + 5 × 0.028303) ÷ 10 = 0.059553; with scipy.stats.norm, e^(m + 0.841621 √(σ² × 1.1)).
    assert!(near(five.factor_at(EIGHTY), "1.467626"), "{}", five.factor_at(EIGHTY));
}

#[test]
fn outliers_are_kept_and_listed_and_nothing_is_learned_from_them() {
    let menu = menu();
    // The studio's wash is budgeted with so many minutes for a medium car in fair condition.
    let wash = menu.step(&code("wash")).unwrap().minutes.get();
    let mut lessons = jobs("wash", SizeClass::Medium, 3, wash);
    lessons.insert(1, lesson("wash", SizeClass::Medium, 4 * wash + 1));
    lessons.push(lesson("wash", SizeClass::Medium, wash / 4 - 1));
    let learned = Learned::new(&menu, &lessons);
    assert_eq!(learned.jobs(&code("wash"), SizeClass::Medium), 3);
    let listed: Vec<(usize, Outlier)> =
        learned.misfits(&code("wash")).iter().map(|misfit| (misfit.lesson, misfit.why)).collect();
    assert_eq!(listed, [(1, Outlier::TooLong), (4, Outlier::TooShort)]);
    assert_eq!(learned.pooled(&code("wash"), Prior::USUAL).estimate, from(&["1"; 3]));
}

#[test]
fn a_size_class_speaks_for_itself_once_it_has_as_many_jobs_as_the_prior_counts_for() {
    let menu = menu();
    let wash = menu.step(&code("wash")).unwrap().minutes.get();
    let large = (Decimal::from(wash) * menu.factors.size.large).ceil();
    let large = u32::try_from(large).unwrap();
    let of = |count| {
        let mut lessons = jobs("wash", SizeClass::Medium, 20, wash);
        lessons.extend(jobs("wash", SizeClass::Large, count, large * 2));
        Learned::new(&menu, &lessons).estimate(&code("wash"), SizeClass::Large, Prior::USUAL)
    };
    let (thin, enough) = (of(4), of(5));
    assert_eq!((thin.learned_from, thin.estimate.jobs()), (LearnedFrom::Step, 24));
    assert_eq!((enough.learned_from, enough.estimate.jobs()), (LearnedFrom::SizeClass, 5));
    assert_eq!(enough.estimate, from(&["2"; 5]));
    let none = Learned::new(&menu, &[]).estimate(&code("wash"), SizeClass::Small, Prior::USUAL);
    assert_eq!((none.learned_from, none.estimate), (LearnedFrom::Nothing, from(&[])));
}

#[test]
fn a_budget_that_was_taken_over_is_not_taken_over_again() {
    let old = menu();
    let wash = old.step(&code("wash")).unwrap().minutes.get();
    let lessons = jobs("wash", SizeClass::Medium, 10, wash * 2);
    let believed = |menu: &Menu| Learned::new(menu, &lessons).pooled(&code("wash"), Prior::USUAL).estimate;
    assert!(believed(&old).median_factor() > decimal("1.5"));
    let mut new = old;
    new.steps
        .iter_mut()
        .filter(|step| step.code == code("wash"))
        .for_each(|step| step.minutes = Minutes::new(wash * 2));
    assert_eq!(believed(&new).median_factor(), Decimal::ONE);
}

#[test]
fn a_lesson_is_measured_by_what_its_services_ask_for_and_the_hands_it_had() {
    let mut menu = menu();
    let wash = menu.step(&code("wash")).unwrap().minutes;
    let of = |services: &[&str], hands, menu: &Menu| {
        let lesson = Lesson { services: codes(services), hands, ..lesson("wash", SizeClass::Medium, 1) };
        lesson.budget_by(menu).unwrap().minutes
    };
    assert_eq!(of(&["wash-only"], Hands::One, &menu), wash);
    let longer = Minutes::new(wash.get() + 25);
    let used = menu.services.iter_mut().find(|service| service.code == code("wash-only")).unwrap();
    used.steps.iter_mut().filter(|used| used.step == code("wash")).for_each(|used| used.minutes = Some(longer));
    assert_eq!(of(&["wash-only"], Hands::One, &menu), longer);
    // A service that the menu doesn't have any more asks for nothing of its own.
    assert_eq!(of(&["gone"], Hands::One, &menu), wash);
    let three = Lesson { quantity: decimal("3"), ..lesson("wash", SizeClass::Medium, 1) };
    assert_eq!(three.budget_by(&menu).unwrap().minutes, Minutes::new(wash.get() * 3), "it was done three times");
    menu.steps.iter_mut().for_each(|step| step.two_hands = Some(decimal("0.5")));
    assert_eq!(of(&["gone"], Hands::Two, &menu), Minutes::new(wash.get().div_ceil(2)));
    let gone = Learned::new(&menu, &jobs("gone", SizeClass::Medium, 3, 60));
    assert_eq!(gone.pooled(&code("gone"), Prior::USUAL).learned_from, LearnedFrom::Nothing);
}

#[test]
fn a_promise_is_the_quantile_of_the_sum_and_its_margin_runs_while_the_bay_is_open() {
    let menu = menu();
    let plan = work_plan(&menu, &codes(&["wash-only"]), medium(), Hands::One).unwrap();
    let ahead = outlook(&plan, SizeClass::Medium, &Learned::default(), Policy::USUAL);
    assert_eq!((ahead.budget, ahead.quantile), (plan.attended, EIGHTY));
    assert_eq!(ahead.steps.len(), plan.steps.len());
    assert!(ahead.steps.iter().all(|step| step.median == step.budget && step.learned_from == LearnedFrom::Nothing));
    let parts = plan.steps.iter().map(|step| Part { budget: step.attended, estimate: from(&[]) });
    assert_eq!(ahead.promised, total(parts).unwrap().minutes_at(EIGHTY));
    let margin = i64::from(ahead.margin().get());
    assert_eq!(margin, i64::from(ahead.promised.get()) - i64::from(plan.attended.get()));
    assert!(margin > 10);
    let day = |from, to| Interval::new(Minute::new(from), Minute::new(to)).unwrap();
    let open = IntervalSet::from_iter([day(0, 600), day(1440, 2040)]);
    assert_eq!(ahead.promise(Minute::new(100), &open), Some(Minute::new(100 + margin)));
    // Ten minutes before closing time: the rest is the first thing on the next day.
    assert_eq!(ahead.promise(Minute::new(590), &open), Some(Minute::new(1440 + margin - 10)));
    assert_eq!(ahead.promise(Minute::new(3000), &open), None);
}

#[test]
fn where_work_takes_less_than_its_budget_nothing_sooner_than_the_diary_is_promised() {
    let menu = menu();
    let plan = work_plan(&menu, &codes(&["wash-only"]), medium(), Hands::One).unwrap();
    let quick: Vec<Lesson> = plan
        .steps
        .iter()
        .flat_map(|step| jobs(step.code.as_str(), SizeClass::Medium, 200, step.attended.get() / 2))
        .collect();
    let ahead = outlook(&plan, SizeClass::Medium, &Learned::new(&menu, &quick), Policy::USUAL);
    assert!(ahead.median < ahead.budget && ahead.promised < ahead.budget, "{ahead:?}");
    assert_eq!(ahead.margin(), Minutes::ZERO);
    assert_eq!(ahead.promise(Minute::new(7), &IntervalSet::EMPTY), Some(Minute::new(7)));
}

#[test]
fn what_is_kept_of_beliefs_gives_the_plans_own_median() {
    let menu = menu();
    let plan = work_plan(&menu, &codes(&["wash-only"]), medium(), Hands::One).unwrap();
    let slow = |step: &Code, minutes: Minutes| jobs(step.as_str(), SizeClass::Medium, 7, minutes.get() * 3 / 2);
    let slow: Vec<Lesson> = plan.steps.iter().flat_map(|step| slow(&step.code, step.attended)).collect();
    let learned = Learned::new(&menu, &slow);
    let median = outlook(&plan, SizeClass::Medium, &learned, Policy::USUAL).median;
    assert!(median > plan.attended);
    let beliefs = Beliefs::new(&learned, plan.steps.iter().map(|step| &step.code), SizeClass::Medium, Prior::USUAL);
    assert_eq!(beliefs.median(&plan), median);
    // Written down and read again they are the same.
    let kept = |(step, of): (&Code, &Estimate)| {
        let written = (of.mean_log().to_string(), of.spread_log().to_string());
        (step.clone(), Estimate::kept(decimal(&written.0), decimal(&written.1), of.jobs()))
    };
    assert_eq!(beliefs.steps().map(kept).collect::<Beliefs>(), beliefs);
    // What nothing is kept of takes its budget.
    assert_eq!(Beliefs::default().median(&plan), plan.attended);
}

#[test]
fn a_prior_has_strength_and_spread() {
    for (jobs, spread) in [("0", "0.25"), ("-1", "0.25"), ("1000.1", "0.25"), ("5", "0"), ("5", "2.01")] {
        assert!(Prior::new(decimal(jobs), decimal(spread)).is_err(), "{jobs} {spread}");
    }
    assert_eq!(Prior::new(decimal("5"), decimal("0.25")), Ok(Prior::USUAL));
}

fn ratios() -> impl Strategy<Value = Vec<Decimal>> {
    ratios_within(25..=400)
}

fn ratios_within(hundredths: RangeInclusive<i64>) -> impl Strategy<Value = Vec<Decimal>> {
    prop::collection::vec(hundredths.prop_map(|hundredths| Decimal::new(hundredths, 2)), 0..30)
}

fn parts(ratios: impl Strategy<Value = Vec<Decimal>>) -> impl Strategy<Value = Vec<Part>> {
    let part = (1_u32..2_000, ratios)
        .prop_map(|(budget, ratios)| Part { budget: Minutes::new(budget), estimate: learn(&ratios) });
    prop::collection::vec(part, 1..20)
}

proptest! {
    #[test]
    fn the_order_of_jobs_does_not_matter(ratios in ratios(), turn in 0_usize..30) {
        let mut turned = ratios.clone();
        turned.rotate_left(turn % ratios.len().max(1));
        prop_assert_eq!(learn(&ratios), learn(&turned));
        turned.reverse();
        prop_assert_eq!(learn(&ratios), learn(&turned));
    }

    #[test]
    fn more_of_the_same_jobs_are_nearer_to_their_own_mean(ratios in ratios(), more in 2_usize..6) {
        prop_assume!(!ratios.is_empty());
        let own = estimate(Prior::new(decimal("0.000001"), decimal("0.25")).unwrap(),
            ratios.iter().filter_map(|ratio| Ratio::new(*ratio).unwrap().learn().ok())).mean_log();
        let off = |copies: usize| (learn(&ratios.repeat(copies)).mean_log() - own).abs();
        prop_assert!(off(more) <= off(more - 1) + decimal("0.000001"));
        // The belief lies between the budget and what the jobs say.
        let believed = learn(&ratios).mean_log();
        prop_assert!(believed.abs() <= own.abs() + decimal("0.000001"));
        prop_assert!(believed.is_zero() || believed.is_sign_negative() == own.is_sign_negative());
    }

    #[test]
    fn a_surer_promise_is_never_sooner_and_none_is_before_the_median(parts in parts(ratios()), percent in 51_u8..=99) {
        let all = total(parts.iter().copied()).unwrap();
        let at = |percent| all.minutes_at(Quantile::new(percent).unwrap());
        prop_assert!(at(percent) >= at(percent - 1));
        prop_assert!(at(percent) >= all.median() || at(percent) + Minutes::new(1) > all.median());
        for Part { budget, estimate } in &parts {
            let quantile = Quantile::new(percent).unwrap();
            prop_assert!(estimate.factor_at(quantile) > estimate.median_factor());
            prop_assert!(estimate.minutes_at(*budget, quantile) >= estimate.median(*budget));
        }
    }

    #[test]
    fn the_sum_of_one_step_is_that_step(budget in 1_u32..2_000, ratios in ratios(), percent in 50_u8..=99) {
        let (budget, estimate) = (Minutes::new(budget), learn(&ratios));
        let (all, quantile) = (total([Part { budget, estimate }]).unwrap(), Quantile::new(percent).unwrap());
        prop_assert!(all.median().get().abs_diff(estimate.median(budget).get()) <= 1);
        prop_assert!(all.minutes_at(quantile).get().abs_diff(estimate.minutes_at(budget, quantile).get()) <= 1);
    }

    #[test]
    fn many_steps_together_are_surer_than_each(parts in parts(ratios_within(60..=160))) {
        // What each is promised with alone, added up, is more than the whole needs. Quantiles of wilder steps can add up to
        // less: with spreads of 0.46 and 0.84 about budgets of 39 and 191 minutes the whole needs two minutes more.
        let each: Minutes = parts.iter().map(|part| part.estimate.minutes_at(part.budget, EIGHTY)).sum();
        let whole = total(parts).unwrap().minutes_at(EIGHTY);
        prop_assert!(whole <= each + Minutes::new(1), "{whole:?} {each:?}");
    }

    #[test]
    fn jobs_that_scatter_more_are_promised_later(step in 1_i64..30, count in 1_usize..10) {
        // Pairs that cancel out: the same mean, more or less spread.
        let pair = |by: Decimal| [Decimal::ONE + by, Decimal::ONE / (Decimal::ONE + by)].repeat(count);
        let (calm, wild) = (learn(&pair(Decimal::new(step, 2))), learn(&pair(Decimal::new(step + 5, 2))));
        prop_assert!(wild.factor_at(EIGHTY) > calm.factor_at(EIGHTY));
    }
}
