//! What would be made is told by the same checks, and nothing is kept.

use baywright_tests::make::quote::{draft, id};
use baywright_tests::make::shop::without;
use baywright_tests::on_each_engine;
use baywright_tests::{Studio, person::Person};
use serde_json::{Value, json};

/// Rehearses, looks that no row came or went, and does it with the same key; gives both answers.
fn rehearsed(studio: &Studio, owner: &Person, path: &str, body: &Value) -> [Value; 2] {
    let key: String = baywright_core::platform::ids::new();
    let post = |path: &str| owner.json("POST", path, &[("idempotency-key", key.as_str())], body);
    let before = studio.every_row();
    let would = post(&format!("{path}?validate_only=true"));
    assert_eq!(would.header("location"), "");
    let would = would.expect(200);
    assert!(studio.every_row() == before, "a rehearsal of {path} left something behind");
    let is = post(&format!("{path}?validate_only=false"));
    assert_eq!(is.header("idempotency-replayed"), "");
    [would, is.expect(201)]
}

#[test]
fn a_quote_that_is_rehearsed_says_what_it_would_say_and_is_not_kept() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let body =
            json!({ "vehicle_id": car["id"], "draft": draft(&id(&inspection), &["decontamination"], &["interior"]) });
        let [mut would, mut is] = rehearsed(studio, &owner, "/v1/quotes", &body);
        for view in [&mut would, &mut is] {
            assert_eq!(view["latest"]["quote_id"].take(), view["id"].take());
        }
        assert_eq!(would, is);
        let none = json!({ "vehicle_id": car["id"], "draft": draft(&id(&inspection), &["no-such"], &[]) });
        let said = |query: &str| {
            let mut problem = owner.post(&format!("/v1/quotes{query}"), &none).problem(422, "quote-not-priceable");
            problem.as_object_mut().unwrap().remove("request_id");
            problem
        };
        assert_eq!(said("?validate_only=true"), said(""));
    });
}

#[test]
fn a_booking_that_is_rehearsed_says_what_it_would_say_and_takes_no_place() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let body = |quote: &str| {
            let start = "2026-03-02T10:00:00Z";
            json!({ "quote_id": quote, "bay_id": floor.best, "start": start, "hold": false, "note": "" })
        };
        let [one, two] = [studio.signed_work(&["polish"]), studio.signed_work(&["polish"])];
        let [would, is] = rehearsed(studio, &owner, "/v1/bookings", &body(&one));
        assert_eq!(without(&would, &["id"]), without(&is, &["id"]));
        let said = |query: &str| {
            owner.post(&format!("/v1/bookings{query}"), &body(&two)).problem(409, "slot-taken")["detail"].clone()
        };
        assert_eq!(said("?validate_only=true"), said(""));
        owner.post("/v1/bookings?validate_only=perhaps", &body(&two)).problem(400, "invalid-query");
    });
}
