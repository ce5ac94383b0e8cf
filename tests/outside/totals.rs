//! Totals of 22 official example invoices through the oracle, as any program would ask it.
//!
//! Source: `data/en16931/SOURCE.md` (EN 16931 validation artefacts 1.3.16, Peppol BIS Billing 3.0.19).
//! Left out: nothing; every row is computed and every figure that it states is compared.

use baywright_tests::oracle::{Kind, run};
use rust_decimal::Decimal;
use serde_json::Value;

const CASES: &str = include_str!("../data/en16931/totals.jsonl");

/// Amounts as numbers, so that `1300` and `1300.00` are equal; a list of taxes in any order.
fn figures(value: &Value) -> Value {
    match value {
        Value::String(text) => text.parse::<Decimal>().map_or(value.clone(), |d| d.normalize().to_string().into()),
        Value::Array(items) => {
            let mut items: Vec<Value> = items.iter().map(figures).collect();
            if items.iter().all(Value::is_object) {
                items.sort_by_key(Value::to_string);
            }
            Value::Array(items)
        }
        Value::Object(fields) => Value::Object(fields.iter().map(|(k, v)| (k.clone(), figures(v))).collect()),
        other => other.clone(),
    }
}

#[test]
fn official_examples_recompute_to_the_cent() {
    let mut written = Vec::new();
    run(Kind::Totals, false, CASES.as_bytes(), &mut written).unwrap();
    let written = String::from_utf8(written).unwrap();
    let mut compared = 0;
    for (case, answer) in CASES.lines().zip(written.lines()) {
        let case: Value = serde_json::from_str(case).unwrap();
        let answer: Value = serde_json::from_str(answer).unwrap();
        assert_eq!(answer["id"], case["id"]);
        for (name, expected) in case["expect"].as_object().unwrap() {
            assert_eq!(figures(&answer[name]), figures(expected), "{name} of {}: {answer}", case["id"]);
            compared += 1;
        }
    }
    assert_eq!((written.lines().count(), compared), (22, 154));
}
