//! What a change of the shop breaks is named in its answer, with where to ask for a new plan.

use baywright_tests::answer::Answer;
use baywright_tests::make::booking::Floor;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

/// A coating from Tuesday to Wednesday in the only dust-free bay.
fn a_coating(studio: &Studio) -> (Floor, Person, Value) {
    let floor = studio.floor();
    let owner = studio.owner();
    let quote = studio.signed_work(&["coating"]);
    let booked = owner.place(&quote, &floor.best, "2026-03-03T12:00:00Z", false).expect(201);
    (floor, owner, booked)
}

/// The first warning of a change that breaks one booking, and where the plan is made anew.
#[track_caller]
fn broken(answer: &Answer, booked: &Value) -> String {
    assert_eq!(answer.warnings(), ["booking-broken", "rescheduling-advised"], "{}", answer.text);
    let all = answer.json()["warnings"].clone();
    assert!(all[1]["detail"].as_str().unwrap().contains("POST /v1/reschedulings"), "{all}");
    let said = all[0]["detail"].as_str().unwrap().to_owned();
    assert!(said.contains(&id(booked)) && said.contains("booked for Tue 3 March 2026, 12:00"), "{said}");
    said
}

#[test]
fn somebody_who_leaves_or_is_away_or_loses_a_skill_breaks_what_they_are_planned_for() {
    on_each_engine(|studio| {
        let (floor, owner, booked) = a_coating(studio);
        let person = format!("/v1/people/{}", floor.polisher);
        let away = |day: &str| owner.post(&format!("{person}/absences"), &json!({ "first_day": day, "last_day": day }));
        assert_eq!(away("2026-03-06").warnings(), [""; 0]);
        let said = broken(&away("2026-03-03"), &booked);
        assert!(said.contains("Niall Quirke is away for some of the time"), "{said}");
        // It was broken before; nothing new is said of it.
        let hours = json!({ "from_at": "2026-03-03T12:00:00Z", "until_at": "2026-03-03T13:00:00Z" });
        let again = owner.post(&format!("{person}/absences"), &hours).warnings();
        assert_eq!(again, ["absence-overlaps"]);
        let now = owner.get(&person).expect(200);
        let mut body = json!({ "skills": [] });
        for field in ["name", "email", "role", "shifts"] {
            body[field] = now[field].clone();
        }
        let changed = owner.put(&person, &owner.get(&person).etag(), &body);
        let said = broken(&changed, &booked);
        assert!(said.contains("Niall Quirke lacks the skill correction for machine"), "{said}");
        let left = owner.act(&format!("{person}/deactivate"), &owner.get(&person).etag(), &json!({}));
        let said = broken(&left, &booked);
        assert!(said.contains("Niall Quirke no longer works on cars"), "{said}");
        // The booking is as it was.
        let now = owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200);
        assert_eq!(now["version"], booked["version"]);
    });
}

#[test]
fn a_bay_that_loses_a_feature_or_goes_out_of_use_breaks_what_is_booked_in_it() {
    on_each_engine(|studio| {
        let (floor, owner, booked) = a_coating(studio);
        let bay = format!("/v1/bays/{}", floor.best);
        let change = |body: Value| owner.put(&bay, &owner.get(&bay).etag(), &body);
        let renamed = change(json!({ "name": "Hall 1", "features": ["cover", "dust-free", "lift"], "in_use": true }));
        assert_eq!(renamed.warnings(), [""; 0]);
        let said = broken(&change(json!({ "name": "Hall 1", "features": ["cover"], "in_use": true })), &booked);
        assert!(said.contains("Hall 1 has no dust-free, which the work needs"), "{said}");
        let said = broken(&change(json!({ "name": "Hall 1", "features": ["cover"], "in_use": false })), &booked);
        assert!(said.contains("Hall 1 is no longer in use"), "{said}");
    });
}

/// A rescheduling leaves a car with several bookings where it is, so the advice to ask for one would not help.
#[test]
fn a_booking_that_no_rescheduling_moves_is_to_be_moved_by_hand_and_named_until_it_is() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let single = studio.signed_work(&["wash"]);
        let (_, car) = owner.add_customer_with_car();
        let quotes = owner.signed_quotes(&id(&car), &[&["wash"], &["wash"]], None);
        let shared = owner.place(&quotes[0], &floor.plain, "2026-03-03T09:00:00Z", false).expect(201);
        owner.place(&quotes[1], &floor.plain, "2026-03-05T09:00:00Z", false).expect(201);
        let single = owner.place(&single, &floor.best, "2026-03-03T12:00:00Z", false).expect(201);
        let mut warnings: Vec<Value> = Vec::new();
        for person in [&floor.polisher, &floor.helper] {
            let day = json!({ "first_day": "2026-03-03", "last_day": "2026-03-03" });
            let answer = owner.post(&format!("/v1/people/{person}/absences"), &day).json();
            warnings.extend(answer["warnings"].as_array().unwrap().iter().cloned());
        }
        let about = |booking: &Value| {
            let said = |warning: &&Value| warning["detail"].as_str().unwrap().contains(&id(booking));
            warnings.iter().find(said).unwrap_or_else(|| panic!("{warnings:?}"))["detail"].as_str().unwrap().to_owned()
        };
        let by_hand = "move this booking by hand";
        assert!(about(&shared).contains(by_hand), "{warnings:?}");
        assert!(!about(&single).contains(by_hand), "{warnings:?}");
        let advised = warnings.iter().find(|warning| warning["code"] == "rescheduling-advised").unwrap();
        assert!(advised["detail"].as_str().unwrap().contains("moved by hand"), "{advised}");
        let accept = || {
            let made = owner.post("/v1/reschedulings", &json!({})).expect(201);
            (owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})), made)
        };
        let (done, made) = accept();
        let unmoved = made["week"]["unmoved"].as_array().unwrap();
        assert!(unmoved.contains(&json!({ "booking_id": shared["id"], "broken": true })), "{made}");
        assert_eq!(done.warnings(), ["booking-still-broken"], "{}", done.text);
        let said = done.json()["warnings"][0]["detail"].as_str().unwrap().to_owned();
        assert!(said.contains(&id(&shared)) && said.contains(by_hand), "{said}");
        // The other one was moved, and once this one is too, nothing is left to say.
        let now = owner.get(&format!("/v1/bookings/{}", id(&single))).expect(200);
        assert!(now["start"].as_str().unwrap() >= "2026-03-04", "{now}");
        let place = json!({ "bay_id": floor.plain, "start": "2026-03-04T14:00:00Z" });
        owner.move_booking(&shared, "move", &place).expect(200);
        assert_eq!(accept().0.warnings(), [""; 0]);
    });
}

#[test]
fn closures_and_other_hours_break_what_is_booked_in_them() {
    on_each_engine(|studio| {
        let (floor, owner, booked) = a_coating(studio);
        let close = |bay: Option<&str>, day: &str| {
            owner.post("/v1/closures", &json!({ "bay_id": bay, "first_day": day, "last_day": day, "reason": "Works" }))
        };
        assert_eq!(close(Some(&floor.plain), "2026-03-03").warnings(), [""; 0]);
        let said = broken(&close(Some(&floor.best), "2026-03-03"), &booked);
        assert!(said.contains("Bay 1 is closed then"), "{said}");
        let closure = owner.get("/v1/closures").expect(200)["items"][0].clone();
        let place = format!("/v1/closures/{}", id(&closure));
        assert_eq!(owner.send("DELETE", &place, &[("if-match", "\"1\"")], None).status, 204);
        let hours = json!({ "hours": [{ "weekday": "MONDAY", "from": "08:00", "until": "17:30" }] });
        let said = broken(&owner.put("/v1/opening-hours", &owner.get("/v1/opening-hours").etag(), &hours), &booked);
        assert!(said.contains("Bay 1 is closed then"), "{said}");
    });
}

#[test]
fn a_closure_is_named_as_the_cause_of_work_that_is_not_done_in_time() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let works = json!({ "first_day": "2026-03-02", "last_day": "2026-03-06", "reason": "Works on the roof." });
        owner.post("/v1/closures", &works).expect(201);
        let by = |by: &str| owner.get(&format!("/v1/quotes/{quote}/availability?by={by}"));
        let reasons = by("2026-03-06T18:00:00Z").expect(200)["reasons"].clone();
        assert_eq!(
            reasons,
            json!([{
                "kind": "CLOSED",
                "text": "The studio is closed from Mon 2 March 2026 to Fri 6 March 2026: Works on the roof.",
                "step": null, "bay_id": null, "until": "2026-03-07T00:00:00Z"
            }])
        );
        assert_eq!(by("2026-03-09T18:00:00Z").expect(200)["reasons"], json!([]));
        // A question whose end lies before its beginning is refused, and not answered with reasons.
        by("2026-03-02T08:00:00Z").problem(422, "invalid-value");
        let path = format!("/v1/quotes/{quote}/availability?from=2026-03-10T08:00:00Z&by=2026-03-09T18:00:00Z");
        owner.get(&path).problem(422, "invalid-value");
    });
}
