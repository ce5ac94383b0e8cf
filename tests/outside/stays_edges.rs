//! Ten traps of cars that change bays against answers worked out by hand, through the oracle as any program would ask.
//!
//! Source: `data/scheduling/SOURCE.md`. Left out: nothing.

use baywright_tests::oracle::{Kind, run};
use serde_json::{Value, json};

const CASES: &str = include_str!("../data/scheduling/stays-edges.jsonl");

fn answers(cases: &str) -> Vec<Value> {
    let mut written = Vec::new();
    run(Kind::Availability, false, cases.as_bytes(), &mut written).unwrap();
    String::from_utf8(written).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn every_trap_of_moving_has_the_answer_worked_out_by_hand() {
    let answers = answers(CASES);
    assert_eq!((CASES.lines().count(), answers.len()), (10, 10));
    for (case, answer) in CASES.lines().zip(answers) {
        let case: Value = serde_json::from_str(case).unwrap();
        assert_eq!(answer["id"], case["id"]);
        let placements = answer["placements"].as_array().unwrap_or_else(|| panic!("{answer}"));
        let bays = |p: &Value| -> Vec<Value> {
            p["stays"].as_array().unwrap().iter().map(|stay| stay["bay"].clone()).collect()
        };
        let found: Vec<Value> = placements.iter().map(|p| json!([p["finish"], p["start"], bays(p)])).collect();
        assert_eq!(Value::from(found), case["expect"], "{}: {}", case["id"], case["why"]);
    }
}

#[test]
fn only_a_plan_that_speaks_of_stays_has_them() {
    let case: Value = serde_json::from_str(CASES.lines().nth(8).unwrap()).unwrap();
    let mut plain = case.clone();
    for name in ["before", "max_stays", "move_minutes"] {
        plain["plan"].as_object_mut().unwrap().remove(name);
    }
    for step in plain["plan"]["steps"].as_array_mut().unwrap() {
        step.as_object_mut().unwrap().retain(|name, _| name != "features" && name != "holds");
    }
    let mut two = plain.clone();
    two["plan"]["move_minutes"] = json!(0);
    let found = answers(&format!("{plain}\n{two}"));
    assert_eq!(found[0]["placements"][0]["bay"], json!("B2"));
    assert!(found[0]["placements"][0].get("stays").is_none());
    assert_eq!(found[1]["placements"][0]["stays"], json!([{ "bay": "B2", "from": 480, "to": 540 }]));
}

#[test]
fn what_no_shop_can_mean_is_an_error() {
    let case: Value = serde_json::from_str(CASES.lines().next().unwrap()).unwrap();
    let wrong = [
        ("max_stays", json!(0)),
        ("move_minutes", json!(-1)),
        ("before", json!([[1, 0]])),
        ("before", json!([[0, 0]])),
        ("before", json!([[0, 2]])),
    ];
    for (name, value) in wrong {
        let mut case = case.clone();
        case["plan"][name] = value;
        assert!(answers(&case.to_string())[0]["error"].is_string(), "{case}");
    }
}
