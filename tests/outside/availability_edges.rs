//! Eighteen traps of availability against answers worked out by hand, through the oracle as any program would ask.
//!
//! Source: `data/scheduling/SOURCE.md`. Left out: nothing.

use baywright_tests::oracle::{Kind, run};
use serde_json::{Value, json};

const CASES: &str = include_str!("../data/scheduling/availability-edges.jsonl");

#[test]
fn every_trap_has_the_answer_worked_out_by_hand() {
    let mut written = Vec::new();
    run(Kind::Availability, false, CASES.as_bytes(), &mut written).unwrap();
    let written = String::from_utf8(written).unwrap();
    assert_eq!((CASES.lines().count(), written.lines().count()), (18, 18));
    for (case, answer) in CASES.lines().zip(written.lines()) {
        let case: Value = serde_json::from_str(case).unwrap();
        let answer: Value = serde_json::from_str(answer).unwrap();
        assert_eq!(answer["id"], case["id"]);
        let placements = answer["placements"].as_array().unwrap_or_else(|| panic!("{answer}"));
        let found: Vec<Value> = placements.iter().map(|p| json!([p["finish"], p["start"], p["bay"]])).collect();
        assert_eq!(Value::from(found), case["expect"], "{}: {}", case["id"], case["why"]);
    }
}
