//! Menus of every form that was ever stored can be read, and the newest is written unchanged.

use baywright_domain::menu::{Holds, Price};
use serde_json::Value;

use super::*;
use crate::platform::canonical::canonical;

const MENUS: [&str; 5] = [
    include_str!("../../../../../tests/data/kept/menu-1.json"),
    include_str!("../../../../../tests/data/kept/menu-2.json"),
    include_str!("../../../../../tests/data/kept/menu-3.json"),
    include_str!("../../../../../tests/data/kept/menu-4.json"),
    include_str!("../../../../../tests/data/kept/menu-5.json"),
];

const FROZEN: [&str; 5] = [
    include_str!("../../../../../tests/data/kept/frozen-menu-1.json"),
    include_str!("../../../../../tests/data/kept/frozen-menu-2.json"),
    include_str!("../../../../../tests/data/kept/frozen-menu-3.json"),
    include_str!("../../../../../tests/data/kept/frozen-menu-4.json"),
    include_str!("../../../../../tests/data/kept/frozen-menu-5.json"),
];

/// The text that the program stores for a file.
fn kept(file: &str) -> String {
    canonical(&serde_json::from_str::<Value>(file).unwrap()).unwrap()
}

fn written(form: &MenuForm) -> String {
    canonical(&serde_json::to_value(form).unwrap()).unwrap()
}

fn numbers() -> Numbers {
    let factors = Factors::usual(Money::from_minor(6_500), Currency::EUR);
    Numbers { factors, changeovers: ChangeoverRates::USUAL, currency: Currency::EUR, prices: Prices::Gross }
}

#[test]
fn every_form_of_a_menu_is_read() {
    for (form, file) in (1..).zip(MENUS) {
        let menu: MenuForm = serde_json::from_str(&kept(file)).unwrap();
        let (polish, step) = (&menu.services[1], &menu.steps[2]);
        assert_eq!(polish.largest_quantity, if form < 3 { 10 } else { 25 }, "form {form}");
        assert_eq!(polish.common_practice, form >= 3, "form {form}");
        assert_eq!(step.customer_cautions.len(), usize::from(form >= 2), "form {form}");
        assert_eq!(menu.products[1].price.as_ref().map(ToString::to_string).as_deref(), Some("EUR 14.50"));
        let read = menu.read(&numbers()).unwrap();
        assert_eq!((read.checkpoints.len(), read.products.len(), read.steps.len()), (2, 4, 3));
        let dried = if form < 5 { Holds::Car } else { Holds::After };
        assert_eq!((read.steps[0].wait.holds, read.steps[2].wait.holds), (dried, Holds::Car), "form {form}");
        assert_eq!(read.steps[2].split.map(|split| split.piece.get()), Some(60));
        assert_eq!(read.services[1].price, Price::Built);
        assert_eq!(read.packages[0].price.large, Some(Money::from_minor(52_000)));
    }
}

#[test]
fn todays_form_of_a_menu_is_written_as_it_was() {
    let menu: MenuForm = serde_json::from_str(MENUS[4]).unwrap();
    assert_eq!(written(&menu), kept(MENUS[4]));
    let mut sorted = menu.clone();
    sorted.sort();
    sorted.write_amounts(Currency::EUR);
    assert_eq!(sorted, menu);
}

#[test]
fn a_menu_with_the_names_of_the_api_is_read_as_the_same() {
    let menu: MenuForm = serde_json::from_str(MENUS[4]).unwrap();
    let named = for_programs(&menu).unwrap();
    assert!(named["gates"].is_null() && named["steps"][0]["setup"]["soil"].is_null(), "{named}");
    assert_eq!(named["checkpoints"].as_array().unwrap().len(), menu.checkpoints.len());
    assert_eq!(named["packages"][0]["position"], menu.packages[0].position);
    assert_eq!(serde_json::from_value::<MenuForm>(named).unwrap(), menu);
}

#[test]
fn every_form_of_a_frozen_menu_is_read() {
    for (form, file) in (1..).zip(FROZEN) {
        let menu = from_json(&kept(file), Prices::Net).unwrap();
        assert_eq!(menu.prices, if form < 3 { Prices::Net } else { Prices::Gross }, "form {form}");
        assert_eq!(menu.services[1].largest_quantity, if form < 3 { 10 } else { 25 }, "form {form}");
        assert_eq!(menu.factors.labour_rate, Money::from_minor(6_500));
        assert_eq!(menu.changeovers.mask_on.get(), 20);
        assert_eq!(menu.steps[0].wait.minutes.get(), 10);
        let dried = if form < 5 { Holds::Car } else { Holds::After };
        assert_eq!(menu.steps[0].wait.holds, dried, "form {form}");
    }
}

#[test]
fn todays_form_of_a_frozen_menu_is_written_as_it_was() {
    let menu = from_json(&kept(FROZEN[4]), Prices::Net).unwrap();
    assert_eq!(to_json(&menu, Currency::EUR).unwrap(), kept(FROZEN[4]));
}

#[test]
fn what_is_kept_is_held_to_no_rule_of_today() {
    let mut menu: Value = serde_json::from_str(MENUS[4]).unwrap();
    menu["services"][0]["name"] = "Wash ".repeat(400).into();
    menu["steps"][0]["base_minutes"] = 100_000.into();
    menu["since_then"] = "another form".into();
    let menu: MenuForm = serde_json::from_value(menu).unwrap();
    assert_eq!(menu.steps[0].base_minutes, 100_000);
    assert!(menu.read(&numbers()).is_ok());
}
