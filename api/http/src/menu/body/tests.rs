//! The stored menu has the shape that the API document describes, since answers contain it, with other names at most.

use serde_json::Value;

use super::*;

const TODAY: &str = include_str!("../../../../../tests/data/kept/menu-5.json");

#[test]
fn a_kept_menu_is_read_as_a_body_without_a_difference() {
    let kept: MenuForm = serde_json::from_str(TODAY).unwrap();
    let sent: MenuBody = serde_json::from_value(serde_json::to_value(Shown(&kept)).unwrap()).unwrap();
    assert_eq!(MenuForm::from(sent), kept);
}

/// The current menu with another value of a field, as a body.
fn with(list: &str, field: &str, value: Value) -> Result<MenuBody, serde_json::Error> {
    let kept: MenuForm = serde_json::from_str(TODAY).unwrap();
    let mut menu = for_programs(&kept).unwrap();
    menu[list][0][field] = value;
    serde_json::from_value(menu)
}

#[test]
fn a_body_is_held_to_the_rules_of_today() {
    assert!(with("services", "name", "Wash".into()).is_ok());
    assert!(with("services", "name", "Wash ".repeat(400).into()).is_err());
    assert!(with("steps", "base_minutes", 100_000.into()).is_err());
    assert!(with("steps", "since_then", "another field".into()).is_err());
}
