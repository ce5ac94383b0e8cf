//! Plans of every form that was ever stored can be read, and the newest is written unchanged.

use baywright_domain::menu::Holds;
use baywright_domain::plan::Hands;
use rust_decimal::Decimal;
use serde_json::Value;

use super::*;
use crate::platform::canonical::canonical;

const PLANS: [&str; 6] = [
    include_str!("../../../../../tests/data/kept/plan-1.json"),
    include_str!("../../../../../tests/data/kept/plan-2.json"),
    include_str!("../../../../../tests/data/kept/plan-3.json"),
    include_str!("../../../../../tests/data/kept/plan-4.json"),
    include_str!("../../../../../tests/data/kept/plan-5.json"),
    include_str!("../../../../../tests/data/kept/plan-6.json"),
];

/// The text that the program stores for a file.
fn kept(file: &str) -> String {
    canonical(&serde_json::from_str::<Value>(file).unwrap()).unwrap()
}

#[test]
fn every_form_of_a_plan_is_read() {
    for (form, file) in (1..).zip(PLANS) {
        let plan: PlanForm = serde_json::from_str(&kept(file)).unwrap();
        let work = plan.read().unwrap();
        let (wash, polish) = (&work.steps[0], &work.steps[1]);
        let stage_order = if form < 2 { plan.changeover_minutes } else { 55 };
        assert_eq!(work.stage_order_changeover.get(), stage_order, "form {form}");
        assert_eq!(polish.held_back_by.is_some(), form >= 2, "form {form}");
        assert_eq!(plan.outlook().unwrap().is_some(), form >= 3, "form {form}");
        assert_eq!((wash.two_hands.is_some(), wash.hands), (form >= 4, Hands::One), "form {form}");
        assert_eq!(polish.budget.quantity, Decimal::from(if form < 5 { 1 } else { 2 }), "form {form}");
        assert_eq!(polish.attended.get(), if form < 5 { 288 } else { 576 }, "form {form}");
        assert_eq!(wash.products[0].mix.map(|(ratio, _)| ratio.to_string()).as_deref(), Some("1:200"));
        assert_eq!(polish.after, wash_alone());
        assert_eq!(wash.wait.holds, if form < 6 { Holds::Car } else { Holds::After }, "form {form}");
        let [only] = &work.orders[..] else { panic!("one order in form {form}") };
        let own: Vec<Code> = work.steps.iter().map(|step| step.code.clone()).collect();
        assert_eq!((&only.steps, only.elapsed), (&own, work.elapsed), "form {form}");
        assert_eq!(only.changeovers.iter().copied().sum::<Minutes>(), only.changeover, "form {form}");
        assert_eq!((work.orders_proven, work.elapsed_bound), (work.proven, work.elapsed), "form {form}");
    }
}

fn wash_alone() -> Vec<Code> {
    vec![Code::parse("wash").unwrap()]
}

#[test]
fn todays_form_of_a_plan_is_written_as_it_was() {
    let plan: PlanForm = serde_json::from_str(PLANS[5]).unwrap();
    assert_eq!(canonical(&serde_json::to_value(&plan).unwrap()).unwrap(), kept(PLANS[5]));
}

#[test]
fn a_kept_plan_is_done_by_two_where_its_steps_allow_it() {
    let alone: PlanForm = serde_json::from_str(PLANS[5]).unwrap();
    let two = alone.clone().with(Hands::Two).unwrap();
    assert_eq!((two.steps[0].hands.0, two.steps[1].hands.0), (Hands::Two, Hands::One));
    assert_eq!(two.outlook, alone.outlook_of_two);
    assert_eq!(two.front, alone.front_of_two);
    assert_eq!(two.elapsed_minutes, two.front().orders[0].elapsed_minutes);
}
