//! Suppositions: what would move or be saved, asked without any change; and the finish with each cause taken away.

use baywright_core::platform::identity::Role;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

/// Every row that says who is where when, to see that nothing changed.
fn diary(desk: &Person) -> Value {
    desk.get("/v1/bookings?limit=200").expect(200)["items"].clone()
}

fn suppose(desk: &Person, change: &Value) -> Value {
    let before = diary(desk);
    let found = desk.post("/v1/what-if", change).expect(200);
    assert_eq!(diary(desk), before, "a supposition changes nothing");
    found
}

/// The finish of a kind of figure.
fn finish<'a>(found: &'a Value, kind: &str) -> &'a Value {
    let figures = found["figures"].as_array().unwrap();
    let figure = figures.iter().find(|figure| figure["kind"] == kind).unwrap_or_else(|| panic!("{kind}: {found}"));
    &figure["finish"]
}

#[test]
fn a_supposed_absence_or_closure_moves_as_few_promises_as_possible_and_says_why() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        // Two cars for the only dust-free bay: today until tomorrow morning, and tomorrow until the day after.
        let booked = [(); 2].map(|()| desk.book_first(&studio.signed_work(&["coating"])));
        let day = json!({ "person_id": floor.polisher, "first_day": "2026-03-03", "last_day": "2026-03-03" });
        let found = suppose(&desk, &json!({ "absence": day }));
        let moved = found["moved"].as_array().unwrap();
        assert_eq!((moved.len(), &moved[0]["booking"]["id"]), (1, &booked[1]["id"]), "{found}");
        assert_eq!(moved[0]["finish"], "2026-03-05T08:15:00Z");
        assert_eq!(moved[0]["because"], "Niall Quirke is away on Tue 3 March 2026.");
        assert_eq!((&found["gain"], &found["broken_booking_ids"]), (&json!(null), &json!([])));
        let closed = json!({ "bay_id": floor.best, "first_day": "2026-03-04", "last_day": "2026-03-04" });
        let found = suppose(&desk, &json!({ "closure": closed }));
        assert_eq!(found["moved"].as_array().map(Vec::len), Some(1), "{found}");
        assert_eq!(found["moved"][0]["because"], "Bay 1 is closed on Wed 4 March 2026: as supposed.");
        // Nobody is booked for the day on which the helper is away.
        let later = json!({ "person_id": floor.helper, "first_day": "2026-03-09", "last_day": "2026-03-09" });
        assert_eq!(suppose(&desk, &json!({ "absence": later }))["moved"], json!([]));
    });
}

#[test]
fn one_more_dust_free_bay_saves_days_and_one_without_the_features_saves_none() {
    on_each_engine(|studio| {
        studio.floor();
        let desk = studio.colleague(Role::Desk);
        let booked = [(); 2].map(|()| desk.book_first(&studio.signed_work(&["coating"])));
        let found = suppose(&desk, &json!({ "bay": { "features": ["cover", "dust-free"] } }));
        let gain = &found["gain"];
        assert_eq!((&gain["days_saved"], &gain["complete"], &found["moved"]), (&json!(1), &json!(true), &json!([])));
        let car = &gain["sooner"][0];
        assert_eq!((&car["booking"]["id"], &car["days_saved"]), (&booked[1]["id"], &json!(1)), "{found}");
        assert_eq!(
            (&car["finish_without"], &car["finish_with"]),
            (&json!("2026-03-04T08:15:00Z"), &json!("2026-03-03T08:15:00Z"))
        );
        assert_eq!(gain["last_finish_with"], "2026-03-03T08:15:00Z");
        let found = suppose(&desk, &json!({ "bay": { "features": [] } }));
        assert_eq!((&found["gain"]["days_saved"], &found["gain"]["sooner"]), (&json!(0), &json!([])));
    });
}

#[test]
fn an_unsigned_variation_says_when_its_car_is_done_and_whom_it_pushes() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let here = owner.move_booking(&owner.book_first(&quote), "arrive", &json!({})).expect(200);
        let next = owner.book_first(&studio.signed_work(&["coating"]));
        assert_eq!(here["bay_id"], next["bay_id"]);
        let more = json!({ "reason": "Swirls under the dirt.", "lines": [{ "item": { "service": "coating" } }] });
        let draft = owner.post(&format!("/v1/quotes/{quote}/variations"), &more).expect(201);
        let found = suppose(&owner, &json!({ "variation_id": id(&draft) }));
        assert!(found["finish"].as_str() > here["finish"].as_str(), "{found}");
        assert_eq!(found["moved"][0]["booking"]["id"], next["id"], "{found}");
        let because = found["moved"][0]["because"].as_str().unwrap();
        assert!(because.contains(" stays in Bay 1 until "), "{because}");
    });
}

#[test]
fn a_supposition_is_one_change_of_things_that_the_studio_has() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let refused =
            |change: Value| desk.post("/v1/what-if", &change).problem(422, "invalid-value")["errors"][0].clone();
        assert_eq!(refused(json!({}))["code"], "one_change");
        assert_eq!(refused(json!({ "bay": {}, "person": {} }))["code"], "one_change");
        let nobody = json!({ "person_id": floor.best, "first_day": "2026-03-03", "last_day": "2026-03-03" });
        assert_eq!(refused(json!({ "absence": nobody }))["pointer"], "/absence/person_id");
        let hours = json!({ "bay_id": floor.polisher, "first_day": "2026-03-03", "last_day": "2026-03-03",
            "from": "18:00", "until": "20:00" });
        assert_eq!(refused(json!({ "hours": hours }))["pointer"], "/hours/bay_id");
    });
}

#[test]
fn every_no_has_the_finish_with_each_cause_taken_away() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        for _ in 0..2 {
            desk.book_first(&studio.signed_work(&["coating"]));
        }
        let quote = studio.signed_work(&["coating", "wash"]);
        let found = desk.get(&format!("/v1/quotes/{quote}/availability?by=2026-03-04T12:00:00Z")).expect(200);
        assert_eq!(finish(&found, "AS_IS"), "2026-03-05T08:15:00Z", "{found}");
        assert_eq!(finish(&found, "BAYS_EMPTY"), "2026-03-03T08:15:00Z", "{found}");
        let left_out = found["figures"].as_array().unwrap().iter().find(|figure| figure["without"] == "coating");
        assert!(left_out.unwrap()["finish"].as_str().unwrap() < "2026-03-03", "{found}");
        // What is offered in time needs no explanation.
        let found = desk.get(&format!("/v1/quotes/{quote}/availability?by=2026-03-06T12:00:00Z")).expect(200);
        assert_eq!(found["figures"], json!([]));
        // A place that others have says what it would take.
        let refused = desk.place(&quote, &floor.best, "2026-03-02T13:30:00Z", false).problem(409, "slot-taken");
        assert_eq!((finish(&refused, "AS_IS"), refused["errors"].is_array()), (&json!(null), true));
        assert_eq!(finish(&refused, "NOTHING_BOOKED"), "2026-03-03T08:15:00Z", "{refused}");
        // So does a choice on the phone, before anything is signed.
        let choice = json!({ "source": "IN_FORCE", "lines": [{ "kind": "SERVICE", "code": "coating" }],
            "size": "MEDIUM", "condition": "FAIR", "powertrain": "COMBUSTION" });
        let asked = json!({ "choice": choice, "by": "2026-03-04T12:00:00Z" });
        let found = desk.post("/v1/menu/first-times", &asked).expect(200);
        assert_eq!(found["reasons"][0]["kind"], "BAY_HELD", "{found}");
        assert_eq!(finish(&found, "BAYS_EMPTY"), "2026-03-03T08:15:00Z");
        let past = json!({ "choice": asked["choice"], "by": "2026-03-01T12:00:00Z" });
        let fault = desk.post("/v1/menu/first-times", &past).problem(422, "invalid-value");
        assert_eq!(fault["errors"][0]["pointer"], "/by");
    });
}
