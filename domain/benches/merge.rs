//! Measures how long merging many services into one set of steps takes, and how it grows: `cargo bench -p
//! baywright-domain --bench merge`.
//!
//! A menu with six steps a service, four of which it shares with its neighbours; all of its services are signed. All is
//! invented.

#![allow(clippy::panic, reason = "a measurement that can't go on may stop")]

#[path = "../tests/studio/mod.rs"]
mod studio;

use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{Code, Menu};
use baywright_domain::plan::{Hands, merge, work_plan};
use baywright_domain::vehicle::SizeClass;

const SERVICES: [usize; 4] = [2, 8, 32, 128];
/// More signed services than any car has would only measure the order of steps, which has a bench of its own.
const PLANS: [usize; 3] = [2, 4, 8];

fn main() {
    for services in SERVICES {
        let menu = menu(services);
        let merged = merge(&menu, &codes(services)).unwrap_or_else(|refusal| panic!("{refusal}"));
        println!("{services} services with {} uses of steps: {} steps", services * 6, merged.len());
    }
    divan::main();
}

fn name(kind: &str, number: usize) -> String {
    format!("{kind}-{number:03}")
}

fn codes(services: usize) -> Vec<Code> {
    (0..services).map(|number| studio::code(&name("service", number))).collect()
}

fn menu(services: usize) -> Menu {
    let step = |number: usize| {
        let before: Vec<String> = number.checked_sub(1).map(|before| name("step", before)).into_iter().collect();
        let before: Vec<&str> = before.iter().map(String::as_str).collect();
        let stage = u16::try_from(1 + number % 15).unwrap_or(1).min(15);
        studio::step(&name("step", number), stage, 20, if stage > 1 { &before } else { &[] })
    };
    let service = |number: usize| {
        let steps: Vec<String> = (2 * number..2 * number + 6).map(|step| name("step", step)).collect();
        let steps: Vec<&str> = steps.iter().map(String::as_str).collect();
        studio::service(&name("service", number), &steps, studio::fixed(50, 60, 70, 80))
    };
    Menu {
        prices: baywright_domain::document::Prices::Gross,
        steps: (0..2 * services + 4).map(step).collect(),
        services: (0..services).map(service).collect(),
        packages: Vec::new(),
        ..studio::menu()
    }
}

/// The steps of all services, each once.
#[divan::bench(args = SERVICES)]
fn steps_once(bencher: divan::Bencher<'_, '_>, services: usize) {
    let (menu, codes) = (menu(services), codes(services));
    bencher.bench(|| merge(&menu, &codes).map(|merged| merged.len()));
}

/// The whole plan: merged, in order, with its budgets.
#[divan::bench(args = PLANS)]
fn whole_plan(bencher: divan::Bencher<'_, '_>, services: usize) {
    let (menu, codes) = (menu(services), codes(services));
    let car = studio::car(SizeClass::Medium, ConditionClass::Fair);
    bencher.bench(|| work_plan(&menu, &codes, car, Hands::One).map(|plan| plan.steps.len()));
}
