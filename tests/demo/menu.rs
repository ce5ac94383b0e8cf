//! The demo studio's menu: without fault, and each service and each pair of services can be worked.

use std::collections::BTreeSet;

use baywright_core::menu::kept::{MenuForm, Numbers};
use baywright_core::menu::{from_json, to_json};
use baywright_domain::document::Prices;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{ChangeoverRates, Code, Factors, Menu, Price};
use baywright_domain::money::{Currency, Money};
use baywright_domain::plan::{Hands, WorkPlan, work_plan};
use baywright_domain::pricing::{package_price, replay, service_price};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::{Car, Powertrain, SizeClass};

fn form() -> MenuForm {
    serde_json::from_str(include_str!("../../demo-data/menu.json")).unwrap()
}

fn numbers() -> Numbers {
    let factors = Factors::usual(Money::from_minor(6_000), Currency::EUR);
    Numbers { factors, changeovers: ChangeoverRates::USUAL, currency: Currency::EUR, prices: Prices::Gross }
}

fn menu() -> Menu {
    form().read(&numbers()).unwrap()
}

fn medium() -> Car {
    Car { size: SizeClass::Medium, condition: ConditionClass::Fair, powertrain: Powertrain::Unknown }
}

fn code(text: &str) -> Code {
    Code::parse(text).unwrap()
}

fn plan(menu: &Menu, services: &[Code]) -> WorkPlan {
    work_plan(menu, services, medium(), Hands::One).unwrap_or_else(|refusal| panic!("{services:?}: {refusal}"))
}

#[test]
fn the_menu_is_without_fault_and_as_large_as_a_studios() {
    let menu = menu();
    assert_eq!(menu.faults(), []);
    assert!(menu.services.len() >= 26 && menu.steps.len() >= 62, "{} {}", menu.services.len(), menu.steps.len());
    assert!(menu.products.len() >= 15 && menu.packages.len() >= 4);
    let mut sorted = form();
    sorted.sort();
    assert!(sorted == form(), "the file stands in the order in which the program keeps a menu");
}

#[test]
fn everything_on_the_menu_is_used() {
    let menu = menu();
    let used: BTreeSet<&Code> = menu.services.iter().flat_map(|one| one.steps.iter().map(|used| &used.step)).collect();
    for step in &menu.steps {
        assert!(used.contains(&step.code), "no service has the step {}", step.code);
    }
    let taken: BTreeSet<&Code> = menu.steps.iter().flat_map(|one| one.doses.iter().map(|dose| &dose.product)).collect();
    for product in &menu.products {
        assert!(taken.contains(&product.code), "no step takes {}", product.code);
    }
}

#[test]
fn each_service_and_each_pair_that_goes_together_gives_a_plan() {
    let menu = menu();
    let codes: Vec<Code> = menu.services.iter().map(|service| service.code.clone()).collect();
    let mut pairs = 0;
    for (at, one) in codes.iter().enumerate() {
        assert!(plan(&menu, std::slice::from_ref(one)).attended > Minutes::ZERO, "{one}");
        for other in &codes[at + 1..] {
            let pair = [one.clone(), other.clone()];
            if menu.excluded_pairs(&pair).is_empty() {
                plan(&menu, &pair);
                pairs += 1;
            } else {
                assert!(work_plan(&menu, &pair, medium(), Hands::One).is_err(), "{one} with {other}");
            }
        }
    }
    assert!(pairs > 500, "{pairs} pairs");
}

/// The order of work of the trade (common practice, no source).
#[test]
fn plans_follow_the_order_of_the_trade() {
    let menu = menu();
    let services =
        ["correction-two-step", "stone-chip-touch-up", "trim-restoration", "coating-one-layer", "interior-detail"];
    let plan = plan(&menu, &services.map(code));
    let place = |step: &str| plan.steps.iter().position(|one| one.code.as_str() == step).unwrap();
    let order = [
        "wheels-clean",
        "pre-wash-foam",
        "contact-wash",
        "iron-removal",
        "clay",
        "post-wash-inspection",
        "paint-depth",
        "chip-touch-up",
        "touch-up-level",
        "compound",
        "polish",
        "panel-wipe",
        "trim-restore",
        "coating-first",
        "final-inspection",
    ];
    for pair in order.windows(2) {
        assert!(place(pair[0]) < place(pair[1]), "{} comes before {}", pair[0], pair[1]);
    }
    for pair in [("strip-out", "vacuum"), ("interior-wipe", "plastics-dressing"), ("plastics-dressing", "glass-inside")]
    {
        assert!(place(pair.0) < place(pair.1), "{} comes before {}", pair.0, pair.1);
    }
    assert_eq!(plan.features, ["cover", "drain", "dust-free"].map(code));
}

/// Base minutes of the trade for a medium car in fair condition (common practice, no source).
#[test]
fn budgets_are_those_of_the_trade() {
    let menu = menu();
    let sum = |steps: &[&str]| -> u32 { steps.iter().map(|step| menu.step(&code(step)).unwrap().minutes.get()).sum() };
    assert_eq!(sum(&["wheels-clean", "arches-clean"]), 30);
    assert_eq!(sum(&["pre-wash-foam", "contact-wash", "door-jambs", "iron-removal", "clay", "dry"]), 90);
    assert_eq!(sum(&["post-wash-inspection"]), 15);
    assert_eq!(sum(&["polish"]), 240);
    assert_eq!(sum(&["compound", "polish"]), 600);
    assert_eq!(sum(&["sealant"]), 45);
    assert_eq!(sum(&["coating-first"]), 120);
    assert_eq!(sum(&["strip-out", "vacuum", "interior-wipe"]), 60);
    assert_eq!(sum(&["extract-seats", "extract-carpets"]), 90);
    let wait = |step: &str| menu.step(&code(step)).unwrap().wait;
    assert_eq!((wait("coating-first").minutes, wait("coating-first").needs_cover), (Minutes::new(720), true));
    assert_eq!(wait("extract-seats").minutes, Minutes::new(240));
}

#[test]
fn every_price_can_be_made_and_packages_save_money() {
    let menu = menu();
    for &size in SizeClass::ALL {
        for &condition in ConditionClass::ALL {
            let car = Car { size, condition, powertrain: Powertrain::Combustion };
            for service in &menu.services {
                if service.condition.at_worst.is_some_and(|worst| condition > worst) {
                    continue;
                }
                let priced = service_price(&menu, service, car).unwrap();
                assert_eq!(replay(&priced.explanation), Some(priced.price), "{} {size} {condition}", service.code);
            }
        }
        let car = Car { size, condition: ConditionClass::Fair, powertrain: Powertrain::Combustion };
        for package in &menu.packages {
            let (_, saving) = package_price(&menu, package, car).unwrap();
            assert!(saving.saved() > Money::ZERO, "{} {size}: {saving:?}", package.code);
        }
    }
}

/// A fixed price that is far from its time and products at the labour rate would lose money or the customer.
#[test]
fn fixed_prices_stand_near_what_the_work_costs() {
    let menu = menu();
    for service in menu.services.iter().filter(|service| matches!(service.price, Price::Fixed(_))) {
        let fixed = service_price(&menu, service, medium()).unwrap().price;
        let mut built = service.clone();
        (built.price, built.condition.priced) = (Price::Built, false);
        let cost = service_price(&menu, &built, medium()).unwrap().price;
        let share = fixed.minor() * 100 / cost.minor();
        assert!((80..=175).contains(&share), "{}: {fixed} against {cost} built, {share} %", service.code);
    }
}

#[test]
fn acid_and_chlorine_in_one_job_bring_their_caution() {
    let menu = menu();
    let plan = plan(&menu, &[code("wheels-off-clean"), code("mould-treatment")]);
    assert!(plan.cautions[0].text().contains("poisonous gas"), "{:?}", plan.cautions[0]);
}

#[test]
fn a_frozen_menu_reads_back_as_it_was() {
    let menu = menu();
    let text = to_json(&menu, Currency::EUR).unwrap();
    let back = from_json(&text, Prices::Net).unwrap();
    assert!(back == menu, "the menu that was frozen is the menu that is read");
    assert_eq!(to_json(&back, Currency::EUR).unwrap(), text);
    assert!(from_json("{}", Prices::Net).is_err());
}
