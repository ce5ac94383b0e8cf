//! Cars that come before their time.

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

use super::{again, job_of};
use crate::job::act;

/// A car is taken in, though it comes on another day than it was booked for.
const ANOTHER_DAY: &str = "arrive?confirm=arrival-on-another-day";

/// Asks for a place for a wash in a bay, today at that time.
fn place_today(studio: &Studio, desk: &Person, bay: &str, start: &str) -> Answer {
    desk.place(&studio.signed_work(&["wash"]), bay, &format!("2026-03-02T{start}:00Z"), false)
}

#[test]
fn a_car_that_comes_early_has_its_bay_from_then_on() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let booked = desk.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-03T13:00:00Z", false).expect(201);
        let came = desk.move_booking(&booked, ANOTHER_DAY, &json!({})).expect(200);
        assert!(came["start"].as_str().unwrap() < "2026-03-03T00:00:00Z", "{came}");
        assert_eq!((&came["finish"], &came["promised"]), (&booked["finish"], &booked["promised"]));
        let taken = desk.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-03T08:00:00Z", false);
        taken.problem(409, "slot-taken");
    });
}

#[test]
fn a_car_that_comes_while_its_bay_is_anothers_waits_for_its_time() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let place = |start: &str| desk.place(&studio.signed_work(&["wash"]), &floor.best, start, false).expect(201);
        let (booked, between) = (place("2026-03-03T13:00:00Z"), place("2026-03-03T08:00:00Z"));
        let came = desk.move_booking(&booked, ANOTHER_DAY, &json!({})).expect(200);
        assert_eq!((&came["state"], &came["start"]), (&json!("IN_BAY"), &booked["start"]));
        // Whoever overruns into it is told which car is in the way, and that it can't be moved any more.
        let first = desk.move_booking(&between, ANOTHER_DAY, &json!({})).expect(200);
        let late = json!({ "booking_id": first["id"], "finish": "2026-03-03T14:00:00Z" });
        let told = desk.post("/v1/rescheduling-previews", &json!({ "overruns": [late] })).problem(422, "invalid-value");
        let said = told["errors"][0]["detail"].as_str().unwrap();
        assert!(said.contains("which is already here. Hand that car over first"), "{said}");
    });
}

#[test]
fn a_car_that_comes_early_does_not_take_the_bay_from_one_that_is_still_in_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = || studio.colleague(Role::Desk);
        let place = |start: &str| desk().place(&studio.signed_work(&["wash"]), &floor.best, start, false).expect(201);
        let (first, next) = (place("2026-03-03T08:00:00Z"), place("2026-03-03T14:00:00Z"));
        let first = desk().move_booking(&first, ANOTHER_DAY, &json!({})).expect(200);
        // The first one's time is over, and the next one's has not come: it waits outside.
        studio.pass_minutes(26 * 60);
        let came = desk().move_booking(&next, "arrive", &json!({}));
        assert_eq!(came.warnings(), ["waits-outside-bay"]);
        let waits = came.expect(200);
        assert_eq!(
            (&waits["state"], &waits["stands_in_bay"], &waits["start"]),
            (&json!("IN_BAY"), &json!(false), &next["start"])
        );
        assert_eq!(again(&desk(), &first)["stands_in_bay"], true);
    });
}

#[test]
fn a_car_that_waits_outside_its_bay_is_never_said_to_be_in_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let place = |start: &str| desk.place(&studio.signed_work(&["wash"]), &floor.best, start, false).expect(201);
        let (booked, _) = (place("2026-03-03T13:00:00Z"), place("2026-03-03T08:00:00Z"));
        let came = desk.move_booking(&booked, ANOTHER_DAY, &json!({}));
        assert_eq!(came.warnings(), ["waits-outside-bay"]);
        let said = came.json()["warnings"][0]["detail"].as_str().unwrap().to_owned();
        assert!(said.starts_with("The car is here, but not in its bay yet: Bay 1"), "{said}");
        let waits = came.expect(200);
        let reason = json!({ "reason": "Another week" });
        for (verb, body) in [("arrive", json!({})), ("no-show", json!({})), ("cancel", reason)] {
            let problem = desk.move_booking(&waits, verb, &body).problem(409, "wrong-state");
            let said = problem["detail"].as_str().unwrap();
            assert!(said.starts_with("The car is here, but not in its bay yet, and can't be "), "{verb}: {said}");
        }
    });
}

#[test]
fn a_ready_car_is_not_driven_out_for_a_car_that_waits_outside() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let place = |start: &str| owner.place(&studio.signed_work(&["wash"]), &floor.best, start, false).expect(201);
        let (first, later, _) =
            (place("2026-03-02T08:00:00Z"), place("2026-03-03T13:00:00Z"), place("2026-03-03T08:00:00Z"));
        let first = owner.move_booking(&first, "arrive", &json!({})).expect(200);
        let remove = json!({ "reason": "Not wanted any more" });
        for step in ["wash", "final"] {
            act(&owner, &job_of(&owner, &first), step, "remove", &remove).expect(200);
        }
        let first = owner.move_booking(&again(&owner, &first), "ready", &json!({})).expect(200);
        let confirmed = "arrive?confirm=arrival-on-another-day,bay-not-cleared";
        let waits = owner.move_booking(&later, confirmed, &json!({})).expect(200);
        assert_eq!(waits["stands_in_bay"], false);
        assert_eq!(again(&owner, &first)["stands_in_bay"], true, "it was not driven out");
    });
}

#[test]
fn a_car_that_comes_before_its_deposit_is_taken_in_with_a_warning() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.owner();
        let quote = studio.signed_work_with(&["wash"], Some("20.00"));
        let booked = desk.place(&quote, &floor.best, "2026-03-02T09:00:00Z", false).expect(201);
        let came = desk.move_booking(&booked, "arrive", &json!({}));
        assert_eq!(came.warnings(), ["deposit-unpaid"]);
        let said = came.json()["warnings"][0]["detail"].as_str().unwrap().to_owned();
        assert!(said.contains("The agreed deposit of EUR 20.00 is not recorded as received"), "{said}");
        let paid = studio.signed_work_with(&["wash"], Some("20.00"));
        let booked = desk.place(&paid, &floor.plain, "2026-03-02T09:00:00Z", false).expect(201);
        let booked = desk.move_booking(&booked, "deposit", &json!({})).expect(200);
        assert_eq!(desk.move_booking(&booked, "arrive", &json!({})).warnings(), [""; 0]);
    });
}

#[test]
fn a_car_that_waited_has_its_bay_from_its_first_step_on() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let place = |start: &str| place_today(studio, &desk, &floor.best, start);
        let (booked, between) = (place("15:00").expect(201), place("10:30").expect(201));
        let waits = desk.move_booking(&booked, "arrive", &json!({})).expect(200);
        assert_eq!((&waits["stands_in_bay"], &waits["start"]), (&json!(false), &booked["start"]));
        desk.move_booking(&between, "cancel", &json!({ "reason": "Another week" })).expect(200);
        let job = job_of(&desk, &waits);
        act(&desk, &job, "wash", "start", &json!({ "person_id": floor.helper })).expect(200);
        let stands = again(&desk, &waits);
        assert_eq!(
            (&stands["stands_in_bay"], &stands["start"], &stands["finish"]),
            (&json!(true), &json!("2026-03-02T08:00:00Z"), &booked["finish"])
        );
        place("10:15").problem(409, "slot-taken");
        let offered = desk.times(&studio.signed_work(&["wash"]), 20);
        let best: Vec<&Value> = offered.iter().filter(|time| time["bay_id"] == json!(floor.best)).collect();
        assert!(best.iter().all(|time| time["start"].as_str() >= booked["finish"].as_str()), "{best:?}");
        // The start was a slip: the bay is free until the car's own time again.
        act(&desk, &job, "wash", "undo", &json!({})).expect(200);
        let waits = again(&desk, &waits);
        assert_eq!((&waits["stands_in_bay"], &waits["start"]), (&json!(false), &booked["start"]));
        place("10:15").expect(201);
    });
}

#[test]
fn a_bay_in_which_a_car_stands_before_anothers_time_is_not_sold_and_the_desk_is_warned() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let place = |start: &str| place_today(studio, &desk, &floor.best, start);
        let (booked, between) = (place("15:00").expect(201), place("10:30").expect(201));
        let waits = desk.move_booking(&booked, "arrive", &json!({})).expect(200);
        let started = act(&desk, &job_of(&desk, &waits), "wash", "start", &json!({ "person_id": floor.helper }));
        assert_eq!(started.status, 200, "{}", started.text);
        let warnings = started.json()["warnings"].clone();
        let warned = warnings.as_array().unwrap().iter().find(|one| one["code"] == "bay-booked-before");
        let said = warned.unwrap()["detail"].as_str().unwrap().to_owned();
        assert!(said.contains(&id(&between)) && said.contains("Mon 2 March 2026, 10:30"), "{said}");
        let stands = again(&desk, &waits);
        assert_eq!((&stands["stands_in_bay"], &stands["start"]), (&json!(true), &booked["start"]));
        // Before the other car's time and after it.
        place("08:30").problem(409, "slot-taken");
        place("12:00").problem(409, "slot-taken");
    });
}

#[test]
fn a_day_lists_a_car_that_came_before_its_day_and_waits() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let place = |start: &str| desk.place(&studio.signed_work(&["wash"]), &floor.best, start, false).expect(201);
        let (booked, _) = (place("2026-03-03T13:00:00Z"), place("2026-03-03T08:00:00Z"));
        let listed = |day: &str| {
            let day = desk.get(&format!("/v1/days/{day}")).expect(200);
            let all = day["bays"][0]["bookings"].as_array().unwrap().clone();
            all.iter().filter(|one| one["id"] == booked["id"]).count()
        };
        assert_eq!([listed("2026-03-02"), listed("2026-03-03")], [0, 1]);
        let came = desk.move_booking(&booked, ANOTHER_DAY, &json!({})).expect(200);
        assert_eq!(came["stands_in_bay"], false);
        let days = ["2026-03-01", "2026-03-02", "2026-03-03", "2026-03-04"];
        assert_eq!(days.map(listed), [0, 1, 1, 0]);
    });
}

#[test]
fn a_car_that_waits_beside_its_bay_goes_to_another_one() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let place = |start: &str| {
            desk.place(&studio.signed_work(&["wash"]), &floor.best, &format!("2026-03-02T{start}:00Z"), false)
        };
        let (booked, _) = (place("15:00").expect(201), place("10:30").expect(201));
        let waits = desk.move_booking(&booked, "arrive", &json!({})).expect(200);
        let mut there = json!({ "bay_id": floor.plain, "start": "2026-03-02T08:00:00Z", "hands": "TWO" });
        desk.move_booking(&waits, "move", &there).problem(422, "invalid-value");
        there["hands"] = Value::Null;
        let moved = desk.move_booking(&waits, "move", &there).expect(200);
        assert_eq!(
            (&moved["state"], &moved["stands_in_bay"], &moved["bay_id"], &moved["start"]),
            (&json!("IN_BAY"), &json!(false), &json!(floor.plain), &json!("2026-03-02T08:00:00Z"))
        );
        // Its old place is free.
        place("15:00").expect(201);
        act(&desk, &job_of(&desk, &moved), "wash", "start", &json!({ "person_id": floor.helper })).expect(200);
        let stands = again(&desk, &moved);
        assert_eq!((&stands["stands_in_bay"], &stands["bay_id"]), (&json!(true), &json!(floor.plain)));
        let back = json!({ "bay_id": floor.best, "start": "2026-03-02T12:00:00Z" });
        desk.move_booking(&stands, "move", &back).problem(409, "wrong-state");
    });
}
