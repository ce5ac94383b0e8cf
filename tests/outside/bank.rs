//! Bank account numbers (ISO 13616), creditor references (ISO 11649) and minor units (ISO 4217).
//!
//! Source: `data/bank/SOURCE.md`. Left out, with the reason beside each: [`NO_CURRENCY_OF_OURS`].

use baywright_domain::money::Currency;
use baywright_domain::payment::{Iban, Reference};
use serde_json::Value;

/// Currencies of ISO 4217 that a shop can't choose: a country without shops of ours, and a unit of account.
const NO_CURRENCY_OF_OURS: [&str; 2] = ["UGX", "CLF"];

fn files() -> [Value; 2] {
    [include_str!("../data/bank/bank.json"), include_str!("../data/bank/ids.json")]
        .map(|text| serde_json::from_str(text).unwrap())
}

/// The strings of a list in either file.
fn strings(bank: &Value, ids: &Value) -> Vec<String> {
    let all: Vec<String> = [bank, ids]
        .into_iter()
        .flat_map(|list| list.as_array().unwrap())
        .map(|item| item.as_str().unwrap().to_owned())
        .collect();
    assert!(all.len() > 4, "a list is missing");
    all
}

#[test]
fn published_account_numbers_are_read_and_mistyped_ones_refused() {
    let [bank, ids] = files();
    for right in strings(&bank["iban_valid"], &ids["iban"]["valid"]) {
        assert_eq!(Iban::parse(&right).unwrap().as_str(), right);
    }
    for wrong in strings(&bank["iban_invalid"], &ids["iban"]["invalid"]) {
        assert!(Iban::parse(&wrong).is_err(), "{wrong}");
    }
}

#[test]
fn published_creditor_references_are_read_and_mistyped_ones_refused() {
    let [bank, ids] = files();
    for right in strings(&bank["rf_valid"], &ids["rf"]["valid"]) {
        let read = Reference::parse(&right).unwrap();
        assert_eq!(Reference::for_number(&right[4..]), Ok(read), "made again from its number");
    }
    for wrong in strings(&bank["rf_invalid"], &ids["rf"]["invalid"]) {
        assert!(Reference::parse(&wrong).is_err(), "{wrong}");
    }
}

#[test]
fn minor_units_are_those_of_iso_4217() {
    let [bank, _] = files();
    for (code, decimals) in bank["minor_units"].as_object().unwrap() {
        match Currency::of(code) {
            Some(currency) => assert_eq!(u64::from(currency.decimals()), decimals.as_u64().unwrap(), "{code}"),
            None => assert!(NO_CURRENCY_OF_OURS.contains(&code.as_str()), "{code} is missing"),
        }
    }
}
