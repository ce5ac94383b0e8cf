//! Rules of the menu: every mistake is found, all at once, at its place.

use baywright_domain::menu::{Abilities, Basis, Checkpoint, Chemistry, Holds, Menu, Package, Price, Service};
use baywright_domain::money::Money;
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::BySize;
use rust_decimal::Decimal;

use crate::studio::{code, codes, decimal, dose, menu, prices, product, service, step};

fn found(change: impl FnOnce(&mut Menu)) -> Vec<(String, &'static str)> {
    let mut menu = menu();
    change(&mut menu);
    menu.faults().into_iter().map(|fault| (fault.pointer, fault.code)).collect()
}

fn at(pointer: &str, code: &'static str) -> (String, &'static str) {
    (pointer.into(), code)
}

fn abilities(people: &[&[&str]], bays: &[&[&str]]) -> Abilities {
    let sets = |all: &[&[&str]]| all.iter().map(|one| codes(one).into_iter().collect()).collect();
    Abilities { people: sets(people), bays: sets(bays), most_stays: 1 }
}

fn warned(menu: &Menu, abilities: &Abilities) -> Vec<(String, &'static str)> {
    menu.warnings(abilities).into_iter().map(|one| (one.pointer, one.code)).collect()
}

#[test]
fn a_menu_that_the_shop_can_do_at_sensible_prices_has_no_warnings() {
    let able = abilities(&[&["correction"]], &[&["cover", "dust-free"]]);
    assert_eq!(warned(&menu(), &able), []);
}

#[test]
fn work_that_nobody_can_do_or_no_bay_has_room_for_is_warned_of() {
    let at = |code_of: &str| menu().steps.iter().position(|step| step.code == code(code_of)).unwrap();
    let step = |code: &str, field: &str| format!("/steps/{}/{field}", at(code));
    let nobody = abilities(&[&["extraction"]], &[&["cover", "dust-free"]]);
    let expected = [(step("compound", "skills"), "nobody_has_skill"), (step("polish", "skills"), "nobody_has_skill")];
    assert_eq!(warned(&menu(), &nobody), expected);
    // The cure needs cover, which is no feature of the step itself.
    let open = abilities(&[&["correction"]], &[&["dust-free"]]);
    assert_eq!(warned(&menu(), &open), [(step("coat", "bay_features"), "no_bay_has_features")]);
    // Each step finds a bay, and the coating as a whole finds none.
    let mut apart = menu();
    apart.steps[at("coat")].features.clear();
    let coating = apart.services.iter().position(|service| service.code == code("coating")).unwrap();
    let two_bays = abilities(&[&["correction"]], &[&["dust-free"], &["cover"]]);
    let expected = [(format!("/services/{coating}/steps"), "no_bay_has_features")];
    assert_eq!(warned(&apart, &two_bays), expected);
    // A car that may change bays is moved for the coat, and for as many more steps as it may.
    assert_eq!(warned(&apart, &Abilities { most_stays: 2, ..two_bays.clone() }), []);
    apart.steps[at("final")].features = codes(&["dust-free"]);
    assert_eq!(warned(&apart, &Abilities { most_stays: 2, ..two_bays.clone() }), expected);
    assert_eq!(warned(&apart, &Abilities { most_stays: 3, ..two_bays }), []);
}

#[test]
fn a_wait_that_keeps_the_car_in_its_place_holds_all_other_work() {
    let able = abilities(&[&["correction"]], &[&["cover", "dust-free"]]);
    let mut looser = menu();
    for step in &mut looser.steps {
        step.wait.holds = Holds::After;
    }
    let coat = looser.steps.iter().position(|step| step.code == code("coat")).unwrap();
    // The seats dry wherever the car is.
    assert_eq!(warned(&looser, &able), [(format!("/steps/{coat}/wait/holds"), "wait_must_hold_car")]);
    let warnings = looser.warnings(&able);
    assert!(warnings[0].detail.contains("COAT"), "{}", warnings[0].detail);
}

#[test]
fn a_service_that_no_single_bay_can_take_names_the_step_and_its_features() {
    let mut apart = menu();
    let coat = apart.steps.iter().position(|step| step.code == code("coat")).unwrap();
    apart.steps[coat].features.clear();
    let two_bays = abilities(&[&["correction"]], &[&["dust-free"], &["cover"]]);
    let warnings = apart.warnings(&two_bays);
    let expected = "COAT needs cover, and no bay has that together with the rest";
    assert!(warnings[0].detail.ends_with(expected), "{}", warnings[0].detail);
}

#[test]
fn prices_that_look_like_a_slip_are_warned_of() {
    let able = abilities(&[&["correction"]], &[&["cover", "dust-free"]]);
    let mut menu = menu();
    menu.services[0].price = Price::Fixed(prices(0, 55, 70, 12_001));
    menu.packages[0].price = prices(180, 210, 260, 9_999);
    assert_eq!(
        warned(&menu, &able),
        [
            ("/services/0/price/SMALL".into(), "price_zero"),
            // 200 hours at 60.00 are 12,000.00.
            ("/services/0/price/EXTRA_LARGE".into(), "price_high"),
            // The wash costs a small car nothing now, so that the package is dearer than the interior alone.
            ("/packages/0/price/SMALL".into(), "dearer_than_parts"),
        ]
    );
    menu.factors.labour_rate = Money::ZERO;
    assert!(warned(&menu, &able).iter().any(|(_, code)| *code == "price_zero"), "built prices come to nothing");
}

#[test]
fn minutes_that_look_like_a_slip_are_warned_of() {
    let able = abilities(&[&["correction"]], &[&["cover", "dust-free"]]);
    let mut menu = menu();
    let service = &mut menu.services[0];
    service.price = Price::Built;
    let first = service.steps[0].step.clone();
    let step = menu.steps.iter().position(|step| step.code == first).unwrap();
    menu.steps[step].minutes = Minutes::new(6_000);
    assert!(warned(&menu, &able).iter().all(|(_, code)| *code != "step_long"));
    menu.steps[step].minutes = Minutes::new(20_000);
    let found = warned(&menu, &able);
    assert!(found.contains(&(format!("/steps/{step}/minutes"), "step_long")), "{found:?}");
    assert!(found.contains(&at("/services/0/price", "price_high")), "{found:?}");
}

#[test]
fn prices_between_steps_and_names_that_are_there_already_are_warned_of() {
    let able = abilities(&[&["correction"]], &[&["cover", "dust-free"]]);
    let mut menu = menu();
    let mut odd = prices(40, 55, 70, 90);
    odd.medium = Some(Money::from_minor(5_590));
    menu.services[0].price = Price::Fixed(odd);
    menu.services[1].name = menu.services[0].name.to_lowercase();
    let expected = [at("/services/1/name", "same_name"), at("/services/0/price/MEDIUM", "price_off_step")];
    assert_eq!(warned(&menu, &able), expected);
}

/// The same prices ten cents lower.
fn ten_cents_lower(prices: &BySize<Option<Money>>) -> BySize<Option<Money>> {
    BySize::from_fn(|size| prices.get(size).map(|price| price - Money::from_minor(10)))
}

#[test]
fn a_service_between_steps_is_warned_of_once_and_a_menu_that_is_priced_so_is_not() {
    let able = abilities(&[&["correction"]], &[&["cover", "dust-free"]]);
    let lower = |service: &mut Service| {
        if let Price::Fixed(prices) = &mut service.price {
            *prices = ten_cents_lower(prices);
        }
    };
    let mut one = menu();
    lower(&mut one.services[0]);
    let found = one.warnings(&able);
    let places: Vec<(&str, &str)> = found.iter().map(|fault| (fault.pointer.as_str(), fault.code)).collect();
    assert_eq!(places, [("/services/0/price/SMALL", "price_off_step")]);
    assert!(found[0].detail.contains("small, medium, large, extra large"), "{}", found[0].detail);
    let mut all = menu();
    all.services.iter_mut().for_each(lower);
    for package in &mut all.packages {
        package.price = ten_cents_lower(&package.price);
    }
    assert_eq!(warned(&all, &able), []);
}

#[test]
fn each_mistake_is_found_at_its_place() {
    assert_eq!(found(|m| m.steps[3].after = codes(&["nowhere"])), [at("/steps/3/after/0", "unknown")]);
    assert_eq!(found(|m| m.services[0].steps[1].step = code("nowhere")), [at("/services/0/steps/1", "unknown")]);
    assert_eq!(found(|m| m.services[1].excludes = codes(&["nowhere"])), [at("/services/1/excludes/0", "unknown")]);
    assert_eq!(
        found(|m| m.services[1].excludes = codes(&["deep-wash"])),
        [at("/services/1/excludes/0", "excludes_itself")]
    );
    assert_eq!(found(|m| m.packages[0].services = codes(&["nowhere"])), [at("/packages/0/services/0", "unknown")]);
    assert_eq!(found(|m| m.packages[0].services.clear()), [at("/packages/0/services", "missing")]);
    assert_eq!(found(|m| m.steps[0].doses[0].product = code("nowhere")), [at("/steps/0/doses/0", "unknown")]);
    assert_eq!(found(|m| m.products[0].never_with = codes(&["nowhere"])), [at("/products/0/never_with/0", "unknown")]);
    assert_eq!(found(|m| m.steps[0].minutes = Minutes::new(43_201)), [at("/steps/0/minutes", "too_long")]);
    assert_eq!(found(|m| m.steps[0].two_hands = Some(decimal("0.4"))), [at("/steps/0/two_hands", "bad_factor")]);
    assert_eq!(found(|m| m.steps[0].name = " ".into()), [at("/steps/0/name", "bad_name")]);
    assert_eq!(found(|m| m.steps[0].doses[0].rate = Decimal::ZERO), [at("/steps/0/doses/0", "bad_amount")]);
    assert_eq!(found(|m| m.factors.price_step = Money::ZERO), [at("/factors/price_step", "not_positive")]);
    assert_eq!(found(|m| m.factors.labour_rate = Money::from_minor(-1)), [at("/factors/labour_rate", "negative")]);
    assert_eq!(found(|m| m.products[0].price = Some(Money::from_minor(-1))), [at("/products/0/price", "negative")]);
}

#[test]
fn duplicate_codes_are_found_in_every_list() {
    assert_eq!(found(|m| m.steps.push(step("wash", 1, 1, &[]))), [at("/steps/11/code", "duplicate")]);
    assert_eq!(
        found(|m| m.products.push(product("bleach", None, 1, Chemistry::Neutral))),
        [at("/products/3/code", "duplicate")]
    );
    assert_eq!(found(|m| m.services.push(m.services[0].clone())), [at("/services/6/code", "duplicate")]);
    assert_eq!(found(|m| m.packages.push(m.packages[0].clone())), [at("/packages/1/code", "duplicate")]);
    assert_eq!(found(|m| m.steps[1].after = codes(&["wheels", "wheels"])), [at("/steps/1/after/1", "duplicate")]);
}

#[test]
fn a_factor_out_of_range_is_found() {
    for wrong in ["0", "-1", "10.1", "1.00001"] {
        assert_eq!(
            found(|m| m.factors.size.large = decimal(wrong)),
            [at("/factors/size/LARGE", "bad_factor")],
            "{wrong}"
        );
        let severe = found(|m| m.factors.condition.severe = decimal(wrong));
        assert_eq!(severe, [at("/factors/condition/SEVERE", "bad_factor")], "{wrong}");
    }
}

#[test]
fn a_missing_price_for_a_class_is_found() {
    let change = |m: &mut Menu| {
        let mut few = prices(1, 2, 3, 4);
        (few.small, few.large) = (None, Some(Money::from_minor(-1)));
        m.services[0].price = Price::Fixed(few);
        m.packages[0].price = few;
    };
    let expected = [
        at("/services/0/price/SMALL", "missing"),
        at("/services/0/price/LARGE", "negative"),
        at("/packages/0/price/SMALL", "missing"),
        at("/packages/0/price/LARGE", "negative"),
    ];
    assert_eq!(found(change), expected);
}

#[test]
fn a_cycle_is_named_by_its_shortest_round() {
    let mut menu = menu();
    menu.steps[1].after = codes(&["clay"]);
    let faults = menu.faults();
    assert_eq!(faults.len(), 1);
    assert_eq!((faults[0].pointer.as_str(), faults[0].code), ("/steps/1/after", "cycle"));
    assert_eq!(faults[0].detail, "these steps wait for one another: WASH → IRON → CLAY → WASH");
}

#[test]
fn a_step_that_waits_for_one_behind_a_gate_is_a_cycle() {
    let change = |m: &mut Menu| {
        m.checkpoints.push(Checkpoint { stage: 9, reason: "nothing wet after masking".into() });
        m.steps[2].after = codes(&["polish"]);
    };
    assert_eq!(found(change), [at("/steps/2/after", "cycle")]);
}

#[test]
fn an_excluded_pair_inside_a_package_is_found_whichever_side_says_so() {
    for services in [codes(&["polish-one", "correct-two"]), codes(&["correct-two", "polish-one"])] {
        let add = |m: &mut Menu| {
            let price = prices(1, 2, 3, 4);
            m.packages.push(Package {
                code: code("both"),
                name: String::from("BOTH"),
                summary: String::new(),
                services,
                price,
                by_condition: false,
                tax: code("standard"),
                online: true,
            });
        };
        assert_eq!(found(add), [at("/packages/1/services/1", "excluded")]);
    }
}

#[test]
fn products_that_must_never_meet_are_kept_out_of_one_step() {
    let both = |m: &mut Menu| m.steps[0].doses.push(dose("bleach", Basis::Count(Decimal::ONE), "10"));
    assert_eq!(found(both), [at("/steps/0/doses/1", "dangerous")]);
    let named = |m: &mut Menu| {
        m.products[1].never_with = codes(&["shampoo"]);
        m.steps[0].doses.push(dose("shampoo", Basis::Count(Decimal::ONE), "10"));
    };
    assert_eq!(found(named), [at("/steps/0/doses/1", "dangerous")]);
    assert_eq!(
        found(|m| m.products[1].chemistry.push(Chemistry::Chlorine)),
        [at("/products/1/chemistry", "dangerous")]
    );
}

#[test]
fn condition_is_not_charged_twice() {
    let twice = |m: &mut Menu| m.services[2].condition.priced = true;
    assert_eq!(found(twice), [at("/services/2/condition/priced", "counted_twice")]);
    assert_eq!(found(|m| m.services.push(service("air", &[], Price::Built))), [at("/services/6/steps", "missing")]);
}

#[test]
fn all_faults_are_reported_at_once_in_the_order_of_the_document() {
    let change = |m: &mut Menu| {
        m.packages[0].services.clear();
        m.factors.size.small = Decimal::ZERO;
        m.services[4].name.clear();
        m.steps[7].after = codes(&["coat", "gone"]);
    };
    let expected = [
        at("/factors/size/SMALL", "bad_factor"),
        at("/steps/7/after/1", "unknown"),
        at("/steps/7/after", "cycle"),
        at("/services/4/name", "bad_name"),
        at("/packages/0/services", "missing"),
    ];
    assert_eq!(found(change), expected);
}
