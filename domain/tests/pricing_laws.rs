//! Rules of prices: what makes them, how they are rounded, and that their explanation leads to them.
use baywright_domain::document::Prices;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{Menu, Price};
use baywright_domain::money::Money;
use baywright_domain::pricing::{
    Choice, Conflict, ConflictKind, ExplainedKind, Figure, Item, LineDiscount, Off, PriceConversion, PriceRefusal,
    build, build_converted, package_price, replay, service_price,
};
use baywright_domain::tax::Rate;
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::SizeClass;
use proptest::prelude::*;
use rust_decimal::Decimal;

use crate::studio::{self, car, code, codes, decimal, euros, medium, menu};

fn price(menu: &Menu, service: &str, car: baywright_domain::vehicle::Car) -> Money {
    service_price(menu, menu.service(&code(service)).unwrap(), car).unwrap().price
}

fn choice(service: &str) -> Choice {
    Choice { item: Item::Service(code(service)), quantity: Decimal::ONE, discount: None, required: true }
}

#[test]
fn a_fixed_price_goes_by_size_and_by_condition_where_the_service_says_so() {
    let menu = menu();
    assert_eq!(price(&menu, "wash-only", medium()), euros(55));
    // 70 × 1.3 = 91.
    assert_eq!(price(&menu, "wash-only", car(SizeClass::Large, ConditionClass::Heavy)), euros(91));
    // 55 × 0.9 = 49.50, rounded up to whole euros.
    assert_eq!(price(&menu, "wash-only", car(SizeClass::Medium, ConditionClass::Light)), euros(50));
    assert_eq!(price(&menu, "interior", car(SizeClass::Medium, ConditionClass::Severe)), euros(180));
}

#[test]
fn a_built_price_is_labour_of_the_budgets_plus_products() {
    let menu = menu();
    // By hand, medium and fair: 30 + 50 + 20 + 20 + 15 + 240 + 15 = 390 min at 60.00 an hour = 390.00.
    // Wheels: 4 × 50 ml of 1:4 = 200 ml, so 40 ml at 20.00 a litre = 0.80.
    // Wash: 10 m² × 1,000 ml = 10 l with 50 ml of shampoo at 12.00 a litre = 0.60. Together 391.40, rounded up 392.
    assert_eq!(price(&menu, "polish-one", medium()), euros(392));
}

#[test]
fn a_price_already_on_the_step_is_not_raised() {
    let mut menu = menu();
    for labour_rate in [0, 1, 59, 60, 6000, 6001] {
        menu.factors.labour_rate = Money::from_minor(labour_rate);
        menu.factors.price_step = Money::from_minor(1);
        for product in &mut menu.products {
            product.price = None;
        }
        // 390 minutes at r minor units an hour: 6.5 r, rounded up to whole minor units.
        let expected = Money::from_minor((390 * labour_rate + 59) / 60);
        assert_eq!(price(&menu, "polish-one", medium()), expected, "{labour_rate}");
    }
}

#[test]
fn a_service_is_not_priced_beyond_the_condition_it_is_offered_for() {
    let menu = menu();
    let service = menu.service(&code("polish-one")).unwrap();
    let refusal = service_price(&menu, service, car(SizeClass::Medium, ConditionClass::Severe)).unwrap_err();
    assert!(matches!(refusal, PriceRefusal::TooWorn { at_worst: ConditionClass::Heavy, .. }));
}

#[test]
fn a_package_has_its_own_price_and_shows_what_it_saves() {
    let menu = menu();
    let (priced, saving) = package_price(&menu, &menu.packages[0], medium()).unwrap();
    assert_eq!((priced.price, saving.sum_of_services, saving.saved()), (euros(210), euros(235), euros(25)));
    assert_eq!(replay(&priced.explanation), Some(euros(210)));
    let last = priced.explanation.last().unwrap();
    assert_eq!((last.kind, last.figures.last()), (ExplainedKind::Saving, Some(&Figure::Amount(euros(25)))));
}

#[test]
fn a_dearer_package_saves_nothing() {
    let mut menu = menu();
    menu.packages[0].price.medium = Some(euros(300));
    let (_, saving) = package_price(&menu, &menu.packages[0], medium()).unwrap();
    assert_eq!(saving.saved(), Money::ZERO);
}

#[test]
fn a_line_is_quantity_times_price_less_its_discount() {
    let menu = menu();
    let discount = Some(LineDiscount { off: Off::Percent(decimal("12.5")), reason: "Second car".into() });
    let line = &build(&menu, medium(), &[Choice { discount, quantity: decimal("1.5"), ..choice("wash-only") }])
        .unwrap()
        .lines[0];
    // 1.5 × 55.00 = 82.50; 12.5 % of it 10.3125, rounded 10.31.
    let amounts = (line.unit_price.minor(), line.discount.minor(), line.amount.minor());
    assert_eq!(amounts, (5500, 1031, 7219));
    assert_eq!(replay(&line.explanation), Some(line.amount));
}

#[test]
fn a_lines_minutes_are_those_of_all_of_its_quantity() {
    let menu = menu();
    let minutes = |item: Item, quantity: &str| {
        let choice = Choice { item, quantity: decimal(quantity), discount: None, required: true };
        build(&menu, medium(), &[choice]).unwrap().lines[0].minutes.get()
    };
    let wash = || Item::Service(code("wash-only"));
    assert_eq!([minutes(wash(), "1"), minutes(wash(), "3")], [95, 285]);
    // The package's two services share the final inspection: 30 + 50 + 60 + 90 twice, and 15 once.
    assert_eq!(minutes(Item::Package(code("inside-out")), "2"), 2 * 230 + 15);
}

#[test]
fn a_larger_quantity_than_the_menu_finds_sensible_is_refused() {
    let mut menu = menu();
    let ask = |menu: &Menu, item: Item, quantity: &str| {
        let choice = Choice { item, quantity: decimal(quantity), discount: None, required: true };
        build(menu, medium(), &[choice]).map_err(|refusal| refusal.faults)
    };
    let coating = || Item::Service(code("coating"));
    assert!(ask(&menu, coating(), "10").is_ok(), "ten is what a menu allows that says nothing");
    let faults = ask(&menu, coating(), "10.5").unwrap_err();
    assert_eq!((faults[0].pointer.as_str(), faults[0].code), ("/lines/0/quantity", "too_many"));
    assert!(faults[0].detail.contains("at most 10 of COATING"), "{}", faults[0].detail);
    assert_eq!(ask(&menu, coating(), "1000").unwrap_err()[0].code, "too_many");
    // A package goes by the smallest limit of its services; a line of one's own has none on the menu.
    let interior = menu.services.iter_mut().find(|service| service.code == code("interior")).unwrap();
    interior.largest_quantity = 2;
    assert!(ask(&menu, Item::Package(code("inside-out")), "2").is_ok());
    assert_eq!(ask(&menu, Item::Package(code("inside-out")), "3").unwrap_err()[0].code, "too_many");
    assert!(ask(&menu, Item::Custom { name: "Hours".into(), price: euros(60) }, "40").is_ok());
}

#[test]
fn every_fault_of_the_choices_is_reported_with_its_line() {
    let menu = menu();
    let too_much = Some(LineDiscount { off: Off::Amount(euros(56)), reason: "Too kind".into() });
    let silent = Some(LineDiscount { off: Off::Amount(euros(5)), reason: " ".into() });
    let own = Item::Custom { name: String::new(), price: euros(1) };
    let choices = [
        choice("nowhere"),
        Choice { quantity: Decimal::ZERO, ..choice("wash-only") },
        Choice { discount: too_much, ..choice("wash-only") },
        Choice { discount: silent, ..choice("wash-only") },
        Choice { item: own, ..choice("wash-only") },
    ];
    let faults = build(&menu, medium(), &choices).unwrap_err().faults;
    let pointers: Vec<&str> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
    assert_eq!(
        pointers,
        ["/lines/0/item", "/lines/1/quantity", "/lines/2/discount", "/lines/3/discount", "/lines/4/item"]
    );
    assert_eq!(build(&menu, medium(), &[]).unwrap_err().faults[0].pointer, "/lines");
}

#[test]
fn lines_that_exclude_each_other_are_refused_or_left_to_the_customer() {
    let menu = menu();
    let pair =
        |required| [Choice { required, ..choice("polish-one") }, Choice { required: false, ..choice("correct-two") }];
    assert_eq!(build(&menu, medium(), &pair(true)).unwrap_err().faults[0].pointer, "/lines/1");
    let quoted = build(&menu, medium(), &pair(false)).unwrap();
    assert_eq!(quoted.conflicts, [Conflict { one: 0, other: 1, kind: ConflictKind::Excluded }]);
    let twice = [choice("interior"), Choice { item: Item::Package(code("inside-out")), ..choice("interior") }];
    assert!(build(&menu, medium(), &twice).unwrap_err().faults[0].detail.contains("charge a service twice"));
}

fn any_car() -> impl Strategy<Value = baywright_domain::vehicle::Car> {
    let size = prop::sample::select(SizeClass::ALL);
    (size, prop::sample::select(ConditionClass::ALL)).prop_map(|(size, condition)| car(size, condition))
}

proptest! {
    #[test]
    fn the_figures_of_an_explanation_reproduce_the_price(
        car in any_car(), rate in 0_i64..20_000, step in 1_i64..5_000, minutes in 0_u32..5_000, factor in 1_i64..30_000,
    ) {
        let mut menu = menu();
        menu.factors.labour_rate = Money::from_minor(rate);
        menu.factors.price_step = Money::from_minor(step);
        menu.factors.condition.heavy = Decimal::new(factor, 4);
        menu.steps[1].minutes = Minutes::new(minutes);
        for service in &menu.services {
            let Ok(priced) = service_price(&menu, service, car) else { continue };
            prop_assert_eq!(replay(&priced.explanation), Some(priced.price));
            prop_assert_eq!(priced.price.minor() % step, 0);
        }
    }

    #[test]
    fn a_built_price_lies_less_than_one_step_above_the_exact_sum(rate in 0_i64..20_000, step in 1_i64..5_000) {
        let mut menu = menu();
        (menu.factors.labour_rate, menu.factors.price_step) = (Money::from_minor(rate), Money::from_minor(step));
        for product in &mut menu.products {
            product.price = None;
        }
        let service = menu.service(&code("polish-one")).unwrap();
        prop_assert!(matches!(service.price, Price::Built));
        let priced = service_price(&menu, service, medium()).unwrap();
        let exact_sixtieths = i64::from(priced.minutes.get()) * rate;
        let above = priced.price.minor() * 60 - exact_sixtieths;
        prop_assert!((0..step * 60).contains(&above));
    }

    #[test]
    fn a_line_explains_its_own_amount(quantity in 1_i64..100_000, percent in 1_i64..1_000_000, car in any_car()) {
        let menu = studio::generous(menu());
        let discount = Some(LineDiscount { off: Off::Percent(Decimal::new(percent, 4)), reason: "Trial".into() });
        for service in codes(&["wash-only", "interior", "correct-two"]) {
            let item = Item::Service(service);
            let choice = Choice { item, quantity: Decimal::new(quantity, 3), discount: discount.clone(), required: true };
            let line = &build(&menu, car, &[choice]).unwrap().lines[0];
            prop_assert_eq!(replay(&line.explanation), Some(line.amount));
            prop_assert!(line.amount >= Money::ZERO);
        }
    }

    #[test]
    fn a_converted_line_explains_its_own_amount(
        quantity in 1_i64..10_000, percent in 1_u8..=27, car in any_car(), to_gross: bool
    ) {
        let menu = menu();
        let (from, to) = if to_gross { (Prices::Net, Prices::Gross) } else { (Prices::Gross, Prices::Net) };
        let conversion = PriceConversion { menu: from, quote: to, rate: Rate::whole(percent) };
        for service in codes(&["wash-only", "interior", "correct-two"]) {
            let choice = Choice { quantity: Decimal::new(quantity, 3), ..choice(service.as_str()) };
            let plain = &build(&menu, car, core::slice::from_ref(&choice)).unwrap().lines[0];
            let line = &build_converted(&menu, car, &[choice], |_| Some(conversion)).unwrap().lines[0];
            prop_assert_eq!(replay(&line.explanation), Some(line.amount));
            prop_assert_eq!(line.unit_price, conversion.price(plain.unit_price).unwrap());
        }
    }
}

#[test]
fn a_typed_price_is_never_converted() {
    let item = Item::Custom { name: "Parking".into(), price: euros(20) };
    let choice = Choice { item, quantity: Decimal::ONE, discount: None, required: true };
    let conversion = PriceConversion { menu: Prices::Net, quote: Prices::Gross, rate: Rate::whole(23) };
    let quoted = build_converted(&menu(), medium(), &[choice], |_| Some(conversion)).unwrap();
    assert_eq!(quoted.lines[0].amount, euros(20));
}
