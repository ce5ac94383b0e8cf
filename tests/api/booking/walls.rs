//! Walls: two cars are never in one bay, one car is never in two, and nothing is taken in or booked by a slip of the finger.

use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use diesel::connection::SimpleConnection;
use serde_json::{Value, json};

use super::{again, job_of};

const ANOTHER_DAY: &str = "arrive?confirm=arrival-on-another-day";

/// Finishes all steps of a wash and declares the car ready; gives the booking.
fn ready(person: &Person, booking: &Value) -> Value {
    let job = job_of(person, booking);
    for step in ["wash", "final"] {
        let path = format!("/v1/jobs/{}/steps/{step}", id(&job));
        for (verb, body) in [("start", json!({})), ("finish", json!({ "used": [] }))] {
            let etag = person.get(&path).etag();
            person.act(&format!("{path}/{verb}"), &etag, &body).expect(200);
        }
    }
    person.move_booking(&again(person, booking), "ready", &json!({})).expect(200)
}

fn hand_over(desk: &Person, booking: &Value) -> Value {
    let said = json!({ "received_by": "Aoife Byrne", "odometer": null, "aftercare": "", "note": "", "checklist": [] });
    desk.move_booking(booking, "hand-over", &said).expect(200)
}

#[test]
fn a_car_that_comes_on_another_day_than_booked_is_asked_about() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let wash = || studio.signed_work(&["wash"]);
        let booked = desk.place(&wash(), &floor.best, "2026-03-04T09:00:00Z", false).expect(201);
        let problem = desk.move_booking(&booked, "arrive", &json!({})).problem(409, "arrival-on-another-day");
        let said = problem["detail"].as_str().unwrap();
        assert!(said.contains("Wed 4 March 2026, 09:00") && said.contains("today is Mon 2 March 2026"), "{said}");
        // Nothing has changed by the question.
        assert_eq!(again(&desk, &booked), booked);
        let came = desk.move_booking(&booked, ANOTHER_DAY, &json!({})).expect(200);
        assert_eq!((&came["state"], &came["stands_in_bay"]), (&json!("IN_BAY"), &json!(true)));
        // On its own day nobody asks, early or late.
        let today = desk.place(&wash(), &floor.plain, "2026-03-02T09:00:00Z", false).expect(201);
        desk.move_booking(&today, "arrive", &json!({})).expect(200);
    });
}

#[test]
fn a_car_that_comes_after_its_time_is_told_that_the_diary_keeps_no_bay_for_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = || studio.colleague(Role::Desk);
        let booked = desk().place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-02T09:00:00Z", false);
        let booked = booked.expect(201);
        studio.pass_minutes(26 * 60);
        let came = desk().move_booking(&booked, ANOTHER_DAY, &json!({})).json();
        let warning = &came["warnings"][0];
        assert_eq!(warning["code"], "booked-time-has-passed", "{came}");
        assert!(warning["detail"].as_str().unwrap().contains("until Mon 2 March 2026, 10:15"), "{warning}");
    });
}

#[test]
fn two_cars_never_stand_in_one_bay() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = || studio.colleague(Role::Desk);
        let place = |bay: &str, start: &str| {
            desk().place(&studio.signed_work(&["wash"]), bay, &format!("2026-03-02T{start}:00Z"), false).expect(201)
        };
        let (first, next) = (place(&floor.best, "08:00"), place(&floor.best, "09:15"));
        let other = place(&floor.plain, "09:15");
        let first = desk().move_booking(&first, "arrive", &json!({})).expect(200);
        // The first one is not done in its time, and the next one comes.
        studio.pass_minutes(90);
        let problem = desk().move_booking(&next, "arrive", &json!({})).problem(409, "bay-occupied");
        let said = problem["detail"].as_str().unwrap();
        assert!(
            said.starts_with("Bay 1 is occupied by ") && said.contains("move this booking to another bay"),
            "{said}"
        );
        assert_eq!(again(&desk(), &next)["state"], "BOOKED");
        // No confirmation opens that wall.
        let all = "arrive?confirm=bay-not-cleared,arrival-on-another-day";
        desk().move_booking(&next, all, &json!({})).problem(409, "bay-occupied");
        desk().move_booking(&other, "arrive", &json!({})).expect(200);
        // Once the first one is ready it may have been driven out, which a person says.
        let first = ready(&desk(), &first);
        assert_eq!(first["stands_in_bay"], true);
        desk().move_booking(&next, "arrive", &json!({})).problem(409, "bay-not-cleared");
        let came = desk().move_booking(&next, "arrive?confirm=bay-not-cleared", &json!({})).expect(200);
        assert_eq!((&came["state"], &came["stands_in_bay"]), (&json!("IN_BAY"), &json!(true)));
        let first = again(&desk(), &first);
        assert_eq!((&first["state"], &first["stands_in_bay"]), (&json!("READY"), &json!(false)));
        assert_eq!(hand_over(&desk(), &first)["state"], "HANDED_OVER");
    });
}

#[test]
fn a_bay_is_free_again_once_its_car_is_handed_over() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = || studio.colleague(Role::Desk);
        let place = |start: &str| {
            desk().place(&studio.signed_work(&["wash"]), &floor.best, &format!("2026-03-02T{start}:00Z"), false)
        };
        let (first, next) = (place("08:00").expect(201), place("09:15").expect(201));
        let first = desk().move_booking(&first, "arrive", &json!({})).expect(200);
        let first = hand_over(&desk(), &ready(&desk(), &first));
        assert_eq!(first["stands_in_bay"], false);
        let came = desk().move_booking(&next, "arrive", &json!({})).expect(200);
        // It came early into an empty bay, which is its own from now on.
        assert_eq!((&came["stands_in_bay"], &came["start"]), (&json!(true), &json!("2026-03-02T08:00:00Z")));
    });
}

#[test]
fn a_car_that_waits_beside_its_bay_takes_it_with_its_first_step() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = || studio.colleague(Role::Desk);
        let place = |start: &str| {
            desk().place(&studio.signed_work(&["wash"]), &floor.best, &format!("2026-03-02T{start}:00Z"), false)
        };
        let (first, later) = (place("09:00").expect(201), place("11:00").expect(201));
        let waits = desk().move_booking(&later, "arrive", &json!({})).expect(200);
        assert_eq!((&waits["stands_in_bay"], &waits["start"]), (&json!(false), &later["start"]));
        desk().move_booking(&first, "arrive", &json!({})).expect(200);
        let path = format!("/v1/jobs/{}/steps/wash", id(&job_of(&desk(), &waits)));
        let start = |query: &str| {
            let etag = desk().get(&path).etag();
            desk().act(&format!("{path}/start{query}"), &etag, &json!({ "person_id": floor.helper }))
        };
        start("").problem(409, "bay-occupied");
        let first = ready(&studio.owner(), &first);
        start("").problem(409, "bay-not-cleared");
        start("?confirm=bay-not-cleared").expect(200);
        let stand =
            || (again(&desk(), &waits)["stands_in_bay"].clone(), again(&desk(), &first)["stands_in_bay"].clone());
        assert_eq!(stand(), (json!(true), json!(false)));
        // It was the wrong car: after the undo the ready one is in the bay, and whoever starts next is asked again.
        let etag = desk().get(&path).etag();
        desk().act(&format!("{path}/undo"), &etag, &json!({})).expect(200);
        assert_eq!(stand(), (json!(false), json!(true)));
        start("").problem(409, "bay-not-cleared");
    });
}

#[test]
fn a_ready_car_is_in_its_bay_again_once_the_arrival_of_a_wrong_car_is_undone() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = || studio.colleague(Role::Desk);
        let place = |start: &str| {
            let start = format!("2026-03-02T{start}:00Z");
            desk().place(&studio.signed_work(&["wash"]), &floor.best, &start, false).expect(201)
        };
        let (first, wrong) = (place("08:00"), place("09:15"));
        let first = desk().move_booking(&first, "arrive", &json!({})).expect(200);
        studio.pass_minutes(90);
        let first = ready(&desk(), &first);
        let came = desk().move_booking(&wrong, "arrive?confirm=bay-not-cleared", &json!({})).expect(200);
        assert_eq!(again(&desk(), &first)["stands_in_bay"], false);
        let undone = desk().move_booking(&came, "undo", &json!({})).expect(200);
        assert_eq!((&undone["state"], &undone["stands_in_bay"]), (&json!("BOOKED"), &json!(false)));
        let first = again(&desk(), &first);
        assert_eq!((&first["state"], &first["stands_in_bay"]), (&json!("READY"), &json!(true)));
        // The next car is not let in unasked.
        desk().move_booking(&undone, "arrive", &json!({})).problem(409, "bay-not-cleared");
        // A car that was handed over meanwhile stays gone.
        let came = desk().move_booking(&undone, "arrive?confirm=bay-not-cleared", &json!({})).expect(200);
        let first = hand_over(&desk(), &again(&desk(), &first));
        desk().move_booking(&came, "undo", &json!({})).expect(200);
        assert_eq!(again(&desk(), &first), first);
    });
}

#[test]
fn one_car_is_never_booked_in_two_bays_at_once() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        studio.signed_work(&["wash"]);
        let (_, car) = owner.add_customer_with_car();
        let quotes = owner.signed_quotes(&id(&car), &[&["wash"], &["polish"], &["wash"]], None);
        let first = owner.place(&quotes[0], &floor.best, "2026-03-02T10:00:00Z", false).expect(201);
        let problem = owner.place(&quotes[1], &floor.plain, "2026-03-02T09:00:00Z", false);
        let problem = problem.problem(409, "car-booked-elsewhere");
        let said = problem["detail"].as_str().unwrap();
        assert!(said.contains("from Mon 2 March 2026, 10:00 to Mon 2 March 2026, 11:15"), "{said}");
        assert!(said.contains(&id(&first)), "{said}");
        // No such time is offered either: before it, or after it.
        let times = owner.times(&quotes[1], 10);
        for time in &times {
            let (start, finish) = (time["start"].as_str().unwrap(), time["finish"].as_str().unwrap());
            assert!(finish <= "2026-03-02T10:00:00Z" || start >= "2026-03-02T11:15:00Z", "{time}");
        }
        // Two visits that touch are fine, and a move is held against the other one as well.
        let next = owner.place(&quotes[1], &floor.plain, "2026-03-02T11:15:00Z", false).expect(201);
        let back = json!({ "bay_id": floor.plain, "start": "2026-03-02T10:45:00Z" });
        owner.move_booking(&next, "move", &back).problem(409, "car-booked-elsewhere");
        // Once the first one is called off its time is free for the car.
        owner.move_booking(&first, "cancel", &json!({ "reason": "Another day" })).expect(200);
        owner.move_booking(&next, "move", &back).expect(200);
        let by = format!("/v1/quotes/{}/availability?by=2026-03-02T11:30:00Z", quotes[2]);
        let found = owner.get(&by).expect(200);
        assert_eq!(found["times"][0]["finish"], "2026-03-02T09:15:00Z", "{found}");
    });
}

#[test]
fn that_the_car_has_another_booking_is_a_reason_of_its_own() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        studio.signed_work(&["wash"]);
        let (_, car) = owner.add_customer_with_car();
        let quotes = owner.signed_quotes(&id(&car), &[&["polish"], &["wash"]], None);
        let first = owner.place(&quotes[0], &floor.best, "2026-03-02T08:00:00Z", false).expect(201);
        assert_eq!(first["finish"], "2026-03-02T11:15:00Z");
        let by = |by: &str| owner.get(&format!("/v1/quotes/{}/availability?by={by}", quotes[1])).expect(200);
        let reasons = by("2026-03-02T11:00:00Z")["reasons"].clone();
        assert_eq!((&reasons[0]["kind"], reasons.as_array().unwrap().len()), (&json!("CAR_ELSEWHERE"), 1), "{reasons}");
        assert_eq!(reasons[0]["bay_id"], json!(floor.best));
        assert!(reasons[0]["text"].as_str().unwrap().starts_with("This car is in Bay 1 from "), "{reasons}");
        assert_eq!(by("2026-03-02T13:00:00Z")["reasons"], json!([]));
    });
}

/// The rules refuse it; behind them stands the database, for whoever comes at the same moment.
#[test]
fn the_database_keeps_one_car_out_of_two_bays_and_two_cars_out_of_one() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        studio.signed_work(&["wash"]);
        let (_, car) = owner.add_customer_with_car();
        let quotes = owner.signed_quotes(&id(&car), &[&["wash"], &["wash"]], None);
        let one = owner.place(&quotes[0], &floor.best, "2026-03-02T10:00:00Z", false).expect(201);
        let two = owner.place(&quotes[1], &floor.plain, "2026-03-02T12:00:00Z", false).expect(201);
        let run = |sql: String| {
            let done =
                studio.try_in_shop(studio.shop(), |tx| Ok(tx.conn.batch_execute(&sql).map_err(DbError::from)?));
            done.map_err(|fail| format!("{fail:?}"))
        };
        let of = |booking: &Value| format!("booking_id = '{}'", id(booking));
        let hours =
            format!("UPDATE booking_stay SET starts = starts - 90, finishes = finishes - 90 WHERE {}", of(&two));
        assert!(run(hours).unwrap_err().contains("overlap"));
        let other = format!("UPDATE placement SET vehicle_id = 'another' WHERE {}", of(&two));
        assert!(run(other).unwrap_err().contains("a place is for the car of its booking"));
        let stand = |booking: &Value| run(format!("UPDATE placement SET standing = TRUE WHERE {}", of(booking)));
        stand(&one).unwrap();
        stand(&two).unwrap();
        let bay = format!("UPDATE placement SET bay_id = '{}' WHERE {}", floor.best, of(&two));
        assert!(run(bay).is_err(), "two cars stand in one bay");
        // A car's places follow its booking, where two records of it become one.
        let (_, same) = owner.add_customer_with_car();
        run(format!("UPDATE booking SET vehicle_id = '{}' WHERE id = '{}'", id(&same), id(&two))).unwrap();
        run(format!("UPDATE booking_stay SET starts = starts - 90, finishes = finishes - 90 WHERE {}", of(&two)))
            .unwrap();
        let back = format!("UPDATE booking SET vehicle_id = '{}' WHERE id = '{}'", id(&car), id(&two));
        assert!(run(back).unwrap_err().contains("overlap"));
    });
}

#[test]
fn a_start_beyond_the_days_that_are_offered_is_asked_about() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let problem = owner.place(&quote, &floor.best, "2027-06-01T09:00:00Z", false).problem(409, "far-ahead");
        let said = problem["detail"].as_str().unwrap();
        assert!(said.contains("Tue 1 June 2027") && said.contains("Check the year"), "{said}");
        let booked = owner.place(&quote, &floor.best, "2026-03-03T09:00:00Z", false).expect(201);
        let far = json!({ "bay_id": floor.best, "start": "2027-06-01T09:00:00Z" });
        owner.move_booking(&booked, "move", &far).problem(409, "far-ahead");
        studio.tick();
        assert!(!studio.mails().iter().any(|mail| mail.subject.contains("2027")));
        let moved = owner.move_booking(&booked, "move?confirm=far-ahead", &far).expect(200);
        assert_eq!(moved["start"], "2027-06-01T09:00:00Z");
    });
}
