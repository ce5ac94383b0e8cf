//! Visits over HTTP: one car's stay, what must happen next, and what happened.

use baywright_core::platform::identity::Role;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

use crate::job::{arrived, handed_over, pass};

fn visit(person: &Person, quote: &str) -> Value {
    person.get(&format!("/v1/visits/{quote}")).expect(200)
}

fn next(person: &Person, quote: &str) -> (String, String) {
    let next = visit(person, quote)["next"].clone();
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    (word(&next["act"]), word(&next["turn"]))
}

fn is(act: &str, turn: &str) -> (String, String) {
    (act.to_owned(), turn.to_owned())
}

#[test]
fn the_next_act_leads_from_the_quote_to_the_hand_over() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        studio.floor();
        let quote = studio.signed_work(&["wash"]);
        assert_eq!(next(&owner, &quote), is("BOOK", "DESK"));
        let stage = || visit(&owner, &quote)["stage"].clone();
        assert_eq!(stage(), "SIGNED");
        let booking = owner.book_first(&quote);
        assert_eq!(next(&owner, &quote), is("ARRIVE", "DESK"));
        assert_eq!(stage(), "BOOKED");
        let confirmed = "arrive?confirm=bay-not-cleared,arrival-on-another-day";
        let booking = owner.move_booking(&booking, confirmed, &json!({})).expect(200);
        assert_eq!(next(&owner, &quote), is("START_STEP", "TECHNICIAN"));
        let jobs = owner.get("/v1/jobs").expect(200);
        let job = owner.get(&format!("/v1/jobs/{}", jobs["items"][0]["id"].as_str().unwrap())).expect(200);
        crate::job::act(&owner, &job, "wash", "start", &json!({})).expect(200);
        assert_eq!(next(&owner, &quote), is("FINISH_STEP", "TECHNICIAN"));
        crate::job::act(&owner, &job, "wash", "finish", &json!({ "used": [] })).expect(200);
        pass(&owner, &job, "final");
        assert_eq!(next(&owner, &quote), is("MAKE_READY", "TECHNICIAN"));
        owner.move_booking(&booking, "ready", &json!({})).expect(200);
        assert_eq!(next(&owner, &quote), is("HAND_OVER", "DESK"));
        assert_eq!(stage(), "READY");
        let seen = visit(&owner, &quote);
        assert_eq!((&seen["job"]["steps_total"], &seen["job"]["steps_settled"]), (&json!(2), &json!(2)));
        assert_eq!(seen["booking"]["id"], booking["id"]);
    });
}

#[test]
fn a_visit_tells_what_happened_in_order_and_by_whom() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let variation = handed_over(studio);
        let visits = owner.get("/v1/visits").expect(200);
        let quote = visits["items"][0]["id"].as_str().unwrap().to_owned();
        let seen = visit(&owner, &quote);
        assert_eq!(next(&owner, &quote), is("INVOICE", "DESK"));
        assert_eq!(seen["variation_ids"], json!([variation]));
        let events = seen["events"].as_array().unwrap();
        let at = |action: &str| events.iter().position(|event| event["action"] == action).unwrap_or(usize::MAX);
        let order = ["quote.written", "quote.sent", "booking.booked", "job.begun", "job.handed-over"].map(at);
        assert!(order.is_sorted() && order.iter().all(|at| *at < events.len()), "{order:?}: {events:?}");
        let written = &events[at("quote.written")];
        assert_eq!((&written["words"], &written["actor_kind"]), (&json!("quote written"), &json!("PERSON")));
        assert!(written["person_name"].is_string());
    });
}

#[test]
fn a_page_of_visits_is_that_of_one_customer_or_vehicle_and_in_parts() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        let second = studio.sent_quote("nora@example.com", &["decontamination"], &[]);
        let ids = |path: &str| -> Vec<String> {
            let page = owner.get(path).expect(200);
            page["items"].as_array().unwrap().iter().map(|item| item["id"].as_str().unwrap().to_owned()).collect()
        };
        assert_eq!(ids("/v1/visits"), [second.id.clone(), first.id.clone()], "newest first");
        assert_eq!(ids(&format!("/v1/visits?customer_id={}", first.customer)), std::slice::from_ref(&first.id));
        assert_eq!(ids("/v1/visits?group=OFFERED"), [second.id.clone(), first.id.clone()]);
        for group in ["BOOKED", "HERE", "UNPAID"] {
            assert!(ids(&format!("/v1/visits?group={group}")).is_empty(), "{group}");
        }
        assert_eq!(owner.get("/v1/visits?group=NEARLY").status, 400);
        assert_eq!(ids(&format!("/v1/visits?vehicle_id={}", second.vehicle)), std::slice::from_ref(&second.id));
        let page = owner.get("/v1/visits?limit=1").expect(200);
        assert_eq!(ids(page["next"].as_str().unwrap()), std::slice::from_ref(&first.id));
        let head = &page["items"][0];
        assert_eq!((&head["next"]["act"], &head["next"]["turn"]), (&json!("SIGN"), &json!("CUSTOMER")));
        assert_eq!((&head["customer_name"], &head["quote_state"]), (&json!("Aoife Byrne"), &json!("SENT")));
    });
}

#[test]
fn a_visit_that_nobody_signs_ends_by_the_clock() {
    on_each_engine(|studio| {
        let quote = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        studio.pass_minutes(400 * 24 * 60);
        let seen = visit(&studio.owner(), &quote.id);
        assert_eq!((&seen["next"]["outcome"], &seen["next"]["act"]), (&json!("LAPSED"), &Value::Null));
    });
}

#[test]
fn visits_are_for_the_desk_of_their_own_shop() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, _) = arrived(studio, &["wash"]);
        let path = format!("/v1/visits/{}", booking["quote_id"].as_str().unwrap());
        studio.colleague(Role::Desk).get(&path).expect(200);
        studio.colleague(Role::Technician).get(&path).problem(403, "not-allowed");
        studio.stranger().get(&path).problem(404, "not-found");
        assert_eq!(studio.stranger().get("/v1/visits").expect(200)["items"], json!([]));
    });
}
