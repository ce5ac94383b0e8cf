//! An invented studio's menu to try the rules on. Minutes, factors and the order of work are common practice without a
//! source; names and prices are made up.
#![allow(dead_code, clippy::unwrap_used, reason = "a measurement uses a part of the studio; a wrong one fails")]

use baywright_domain::caution::{Caution, Hazard};
use baywright_domain::document::Prices;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{
    Area, Basis, ChangeoverRates, Checkpoint, Chemistry, Cleanliness, Code, ConditionRule, Dose, Factors, Menu,
    Package, Price, Product, Service, Setup, Side, Split, Step, StepUse, Unit, Wait, WaitWhen,
};
use baywright_domain::mixing::Ratio;
use baywright_domain::money::{Currency, Money};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::{BySize, Car, Powertrain, SizeClass};
use rust_decimal::Decimal;

pub fn code(text: &str) -> Code {
    Code::parse(text).unwrap()
}

pub fn codes(texts: &[&str]) -> Vec<Code> {
    texts.iter().map(|text| code(text)).collect()
}

pub fn euros(whole: i64) -> Money {
    Money::from_minor(whole * 100)
}

pub fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

pub fn car(size: SizeClass, condition: ConditionClass) -> Car {
    Car { size, condition, powertrain: Powertrain::Combustion }
}

pub fn medium() -> Car {
    car(SizeClass::Medium, ConditionClass::Fair)
}

pub fn step(name: &str, stage: u16, minutes: u32, after: &[&str]) -> Step {
    Step {
        code: code(name),
        name: name.to_uppercase(),
        stage,
        minutes: Minutes::new(minutes),
        by_size: true,
        by_condition: true,
        two_hands: None,
        skills: Vec::new(),
        features: Vec::new(),
        wait: Wait::NONE,
        split: None,
        setup: Setup::PLAIN,
        doses: Vec::new(),
        cautions: Vec::new(),
        after: codes(after),
    }
}

pub fn product(name: &str, mix: Option<&str>, price: i64, chemistry: Chemistry) -> Product {
    Product {
        code: code(name),
        name: name.to_uppercase(),
        unit: Unit::Millilitre,
        mix: mix.map(|text| Ratio::parse(text).unwrap()),
        price: Some(euros(price)),
        chemistry: vec![chemistry],
        never_with: Vec::new(),
        dwell_seconds: None,
        cautions: Vec::new(),
    }
}

pub fn dose(product: &str, basis: Basis, rate: &str) -> Dose {
    Dose { product: code(product), basis, rate: decimal(rate), by_size: true }
}

/// The same menu with a hundred of each service allowed on a quote.
#[allow(dead_code, reason = "some of the tests that share this file need it")]
pub fn generous(mut menu: Menu) -> Menu {
    for service in &mut menu.services {
        service.largest_quantity = 100;
    }
    menu
}

pub fn service(name: &str, steps: &[&str], price: Price) -> Service {
    Service {
        code: code(name),
        name: name.to_uppercase(),
        summary: String::new(),
        steps: steps.iter().map(|text| StepUse { step: code(text), minutes: None }).collect(),
        price,
        condition: ConditionRule::default(),
        excludes: Vec::new(),
        tax: code("standard"),
        online: true,
        largest_quantity: Service::USUAL_LARGEST_QUANTITY,
    }
}

pub fn fixed(small: i64, medium: i64, large: i64, extra_large: i64) -> Price {
    Price::Fixed(prices(small, medium, large, extra_large))
}

pub fn prices(small: i64, medium: i64, large: i64, extra_large: i64) -> BySize<Option<Money>> {
    BySize {
        small: Some(euros(small)),
        medium: Some(euros(medium)),
        large: Some(euros(large)),
        extra_large: Some(euros(extra_large)),
    }
}

/// Wheels, wash, decontamination, inspection, correction, coating and an interior.
pub fn menu() -> Menu {
    let wet = Setup { area: Area::Wet, cleanliness: Cleanliness::Dirty, ..Setup::PLAIN };
    let machine = Setup { tool: Some(code("polisher")), masked: true, cleanliness: Cleanliness::Dirty, ..Setup::PLAIN };
    let inside = Setup { side: Side::Inside, cleanliness: Cleanliness::Dirty, ..Setup::PLAIN };
    let four = Basis::Count(Decimal::from(4));
    let steps = vec![
        Step {
            setup: wet.clone(),
            doses: vec![dose("wheel-acid", four, "50")],
            cautions: vec![Caution::Known(Hazard::HotOrBareMetal)],
            ..step("wheels", 1, 30, &[])
        },
        Step {
            setup: wet.clone(),
            doses: vec![dose("shampoo", Basis::Area(Decimal::TEN), "1000")],
            ..step("wash", 2, 50, &["wheels"])
        },
        Step { setup: wet.clone(), ..step("iron", 3, 20, &["wash"]) },
        Step { setup: wet, two_hands: Some(decimal("0.6")), ..step("clay", 4, 20, &["iron"]) },
        Step { by_condition: false, ..step("inspect", 5, 15, &["wash"]) },
        Step {
            setup: machine.clone(),
            skills: codes(&["correction"]),
            ..step("compound", 9, 360, &["clay", "inspect"])
        },
        Step {
            setup: machine,
            skills: codes(&["correction"]),
            features: codes(&["dust-free"]),
            two_hands: Some(decimal("0.6")),
            split: Some(Split { piece: Minutes::new(60) }),
            ..step("polish", 10, 240, &["clay", "inspect", "compound"])
        },
        Step {
            by_condition: false,
            features: codes(&["dust-free"]),
            wait: Wait { minutes: Minutes::new(720), needs_bay: true, needs_cover: true, ..Wait::NONE },
            ..step("coat", 12, 120, &["polish"])
        },
        Step { setup: inside.clone(), ..step("vacuum", 14, 60, &[]) },
        Step {
            setup: inside,
            wait: Wait { minutes: Minutes::new(240), when: WaitWhen::Open, ..Wait::NONE },
            doses: vec![dose("bleach", Basis::Count(Decimal::ONE), "30")],
            ..step("extract", 15, 90, &["vacuum"])
        },
        Step { by_condition: false, ..step("final", 20, 15, &[]) },
    ];
    let correction = &["wheels", "wash", "iron", "clay", "inspect", "compound", "polish", "final"];
    let mut one_step =
        service("polish-one", &["wheels", "wash", "iron", "clay", "inspect", "polish", "final"], Price::Built);
    one_step.condition.at_worst = Some(ConditionClass::Heavy);
    let mut two_step = service("correct-two", correction, Price::Built);
    two_step.excludes = codes(&["polish-one"]);
    let mut quick = service("wash-only", &["wheels", "wash", "final"], fixed(45, 55, 70, 85));
    quick.condition.priced = true;
    let mut deep_wash = service("deep-wash", &["wash", "final"], fixed(60, 75, 95, 120));
    deep_wash.steps[0].minutes = Some(Minutes::new(80));
    let menu = Menu {
        prices: Prices::Gross,
        factors: Factors::usual(euros(60), Currency::EUR),
        changeovers: ChangeoverRates::USUAL,
        checkpoints: vec![Checkpoint { stage: 20, reason: "the final inspection sees finished work".into() }],
        products: vec![
            product("shampoo", Some("50 ml in 10 l"), 12, Chemistry::Neutral),
            product("wheel-acid", Some("1:4"), 20, Chemistry::Acid),
            product("bleach", None, 8, Chemistry::Chlorine),
        ],
        steps,
        services: vec![
            quick,
            deep_wash,
            one_step,
            two_step,
            service(
                "coating",
                &["wheels", "wash", "iron", "clay", "inspect", "polish", "coat", "final"],
                fixed(700, 800, 950, 1100),
            ),
            service("interior", &["vacuum", "extract", "final"], fixed(150, 180, 220, 260)),
        ],
        packages: vec![Package {
            code: code("inside-out"),
            name: "INSIDE-OUT".into(),
            summary: String::new(),
            services: codes(&["wash-only", "interior"]),
            price: prices(180, 210, 260, 310),
            by_condition: false,
            tax: code("standard"),
            online: true,
        }],
    };
    assert_eq!(menu.faults(), [], "the studio's menu is without faults");
    menu
}
