//! Bookings over HTTP.

mod broken;
mod early;
mod fit;
mod hands;
mod letter;
mod stays;
mod unsigned;
mod walls;
mod why;

use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

/// The booking as it is now.
fn again(person: &Person, booking: &Value) -> Value {
    person.get(&format!("/v1/bookings/{}", id(booking))).expect(200)
}

/// The job of a booking, as the list of jobs shows it.
fn job_of(person: &Person, booking: &Value) -> Value {
    let jobs = person.get("/v1/jobs").expect(200);
    jobs["items"].as_array().unwrap().iter().find(|job| job["booking_id"] == booking["id"]).unwrap().clone()
}

fn starts(times: &[Value]) -> Vec<&str> {
    times.iter().map(|time| time["start"].as_str().unwrap()).collect()
}

#[test]
fn the_times_offered_are_the_earliest_finishes_one_slot_apart() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let times = owner.times(&quote, 3);
        // It is Monday 8:00 in Dublin, on winter time; 75 minutes of work by either technician in either bay.
        assert_eq!(starts(&times), ["2026-03-02T08:00:00Z", "2026-03-02T08:15:00Z", "2026-03-02T08:30:00Z"]);
        assert_eq!(times[0]["finish"], "2026-03-02T09:15:00Z");
        assert_eq!(times[0]["steps"][0]["code"], "wash");
        let from = owner.get(&format!("/v1/quotes/{quote}/availability?from=2026-03-02T16:20:00Z&count=1")).expect(200);
        // The wash just fits before closing at 17:30; the final inspection is the first thing on Tuesday.
        assert_eq!(from["times"][0]["start"], "2026-03-02T16:30:00Z");
        assert_eq!(from["times"][0]["finish"], "2026-03-03T08:15:00Z");
    });
}

#[test]
fn a_list_of_times_is_that_many_questions_each_from_the_slot_after_the_last_start() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        owner.place(&studio.signed_work(&["polish"]), &floor.best, "2026-03-02T10:00:00Z", false).expect(201);
        owner.place(&studio.signed_work(&["coating"]), &floor.best, "2026-03-03T09:00:00Z", true).expect(201);
        let quote = studio.signed_work(&["coating"]);
        let list = owner.times(&quote, 12);
        let mut from = "2026-03-02T08:00:00Z".to_owned();
        let mut finish = String::new();
        for time in &list {
            let one = owner.get(&format!("/v1/quotes/{quote}/availability?from={from}&count=1")).expect(200);
            assert_eq!(one["times"][0], *time);
            // Only one bay is free of dust, and starts and finishes rise.
            assert_eq!(time["bay_id"], json!(floor.best));
            assert!(time["finish"].as_str().unwrap() > finish.as_str());
            time["finish"].as_str().unwrap().clone_into(&mut finish);
            let start = UtcTime::parse(time["start"].as_str().unwrap()).unwrap();
            from = start.plus_minutes(15).to_string();
            // What is offered can be had, and it is what the booking then says.
            let held = owner.place(&quote, &floor.best, time["start"].as_str().unwrap(), true).expect(201);
            assert_eq!((&held["start"], &held["finish"]), (&time["start"], &time["finish"]));
            owner.move_booking(&held, "cancel", &json!({ "reason": "Only tried" })).expect(200);
        }
        assert_eq!(list.len(), 12);
    });
}

/// Ninety days are looked ahead, to noon of the only day on which the shop is open by then.
#[test]
fn what_is_booked_across_the_end_of_the_days_looked_at_is_taken() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        owner.close(None, "2026-03-03", "2026-06-01");
        let asked = studio.signed_work(&["polish"]);
        let times = || {
            let path = format!("/v1/quotes/{asked}/availability?from=2026-03-03T12:00:00Z&count=5");
            owner.get(&path).expect(200)["times"].as_array().unwrap().clone()
        };
        let other = studio.signed_work(&["polish"]);
        let place = |bay: &str, start: &str| {
            let body = json!({ "quote_id": other, "bay_id": bay, "start": start, "hold": false, "note": "" });
            owner.post("/v1/bookings?confirm=far-ahead", &body).expect(201)
        };
        let call_off = |booking: &Value| {
            owner.move_booking(booking, "cancel", &json!({ "reason": "Only tried" })).expect(200);
        };
        // Opening is at 7:00 in UTC, on summer time. The one who polishes works until then in one piece, or until 9:45.
        let across = place(&floor.plain, "2026-06-01T09:45:00Z");
        assert_eq!(across["finish"], "2026-06-01T13:00:00Z");
        assert!((0..3).all(|piece| across["pieces"][piece]["person_id"] == json!(floor.polisher)), "{across}");
        assert_eq!(times(), [] as [Value; 0]);
        call_off(&across);
        owner.close(Some(&floor.plain), "2026-06-01", "2026-06-03");
        assert_eq!(times()[0]["finish"], "2026-06-01T10:15:00Z");
        // The only bay is taken a quarter of an hour too early.
        let across = place(&floor.best, "2026-06-01T10:00:00Z");
        assert_eq!(across["finish"], "2026-06-01T13:15:00Z");
        assert_eq!(times(), [] as [Value; 0]);
        // What only begins after the end takes nothing.
        call_off(&across);
        place(&floor.best, "2026-06-01T12:00:00Z");
        assert_eq!(times()[0]["finish"], "2026-06-01T10:15:00Z");
    });
}

#[test]
fn a_place_is_booked_once_and_the_second_is_told_what_took_it() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let (one, two) = (studio.signed_work(&["polish"]), studio.signed_work(&["polish"]));
        let made = owner.place(&one, &floor.best, "2026-03-02T08:00:00Z", false);
        assert!(made.header("location").starts_with("/v1/bookings/"));
        let booking = made.expect(201);
        assert_eq!((&booking["state"], &booking["finish"]), (&json!("BOOKED"), &json!("2026-03-02T11:15:00Z")));
        assert_eq!(booking["pieces"][1]["person_id"], json!(floor.polisher));
        let problem = owner.place(&two, &floor.best, "2026-03-02T10:00:00Z", false).problem(409, "slot-taken");
        assert!(problem["detail"].as_str().unwrap().contains("to Mon 2 March 2026, 11:15"), "{problem}");
        // The other bay is free but the one who polishes is not, so the car waits for them in it.
        let waits = owner.place(&two, &floor.plain, "2026-03-02T08:00:00Z", false).expect(201);
        // Until 11:15 they polish and inspect the first car; then two hours, and the final inspection.
        assert_eq!(waits["finish"], "2026-03-02T13:30:00Z");
        owner.place(&one, &floor.plain, "2026-03-04T08:00:00Z", false).problem(409, "already-booked");
        // In its own place there is no other car.
        owner.place(&one, &floor.best, "2026-03-02T08:00:00Z", true).problem(409, "already-booked");
    });
}

#[test]
fn what_never_fits_says_why() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["coating"]);
        let refused = |bay: &str, start: &str| {
            let problem = owner.place(&quote, bay, start, false).problem(422, "invalid-value");
            problem["errors"][0]["code"].as_str().unwrap().to_owned()
        };
        assert_eq!(refused(&floor.plain, "2026-03-02T08:00:00Z"), "lacks_feature");
        assert_eq!(refused(&floor.best, "2026-03-02T08:07:00Z"), "off_slot");
        assert_eq!(refused(&floor.best, "2026-03-02T20:00:00Z"), "closed");
        assert_eq!(refused(&floor.best, "2026-03-01T08:00:00Z"), "in_the_past");
        assert_eq!(refused(&floor.best, "2026-03-02T08:00:30Z"), "no_whole_minute");
        assert_eq!(refused(&quote, "2026-03-02T08:00:00Z"), "no_such_bay");
        let nobody = "0198c0de-0000-7000-8000-000000000001";
        owner.place(nobody, &floor.best, "2026-03-02T08:00:00Z", false).problem(404, "not-found");
        let (_, vehicle) = owner.add_customer_with_car();
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "wash" } }] });
        let unsigned = owner.write_quote(vehicle["id"].as_str().unwrap(), &draft).expect(201);
        let unsigned = unsigned["id"].as_str().unwrap();
        owner.place(unsigned, &floor.best, "2026-03-02T08:00:00Z", false).problem(409, "quote-not-signed");
    });
}

#[test]
fn a_hold_lapses_by_itself_and_frees_its_time_at_once() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let (one, two) = (studio.signed_work(&["wash"]), studio.signed_work(&["wash"]));
        let held = owner.place(&one, &floor.best, "2026-03-02T12:00:00Z", true).expect(201);
        assert_eq!((&held["state"], &held["hold_until"]), (&json!("HELD"), &json!("2026-03-02T10:00:00Z")));
        owner.place(&two, &floor.best, "2026-03-02T12:00:00Z", false).problem(409, "slot-taken");
        studio.pass_minutes(120);
        let owner = studio.owner();
        // Nothing has written it down yet, and it counts already.
        let path = format!("/v1/bookings/{}", held["id"].as_str().unwrap());
        assert_eq!(owner.get(&path).expect(200)["state"], "CANCELLED");
        owner.move_booking(&held, "book", &json!({})).problem(410, "hold-lapsed");
        let list = owner.get("/v1/bookings?state=CANCELLED").expect(200);
        assert_eq!(list["items"].as_array().map(Vec::len), Some(1));
        assert_eq!(owner.get("/v1/bookings?state=HELD").expect(200)["items"], json!([]));
        owner.place(&two, &floor.best, "2026-03-02T12:00:00Z", false).expect(201);
        // The same quote may take another place.
        owner.place(&one, &floor.plain, "2026-03-02T12:00:00Z", true).expect(201);
        studio.pass_minutes(121);
        let owner = studio.owner();
        studio.tick();
        let list = owner.get("/v1/bookings?state=CANCELLED").expect(200);
        assert_eq!(list["items"].as_array().map(Vec::len), Some(2));
    });
}

#[test]
fn a_hold_is_agreed_moved_and_cancelled() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let held = owner.place(&quote, &floor.best, "2026-03-02T12:00:00Z", true).expect(201);
        let booked = owner.move_booking(&held, "book", &json!({})).expect(200);
        assert_eq!((&booked["state"], &booked["hold_until"]), (&json!("BOOKED"), &Value::Null));
        owner.move_booking(&held, "book", &json!({})).problem(412, "changed-meanwhile");
        studio.pass_minutes(180);
        let owner = studio.owner();
        studio.tick();
        let place = json!({ "bay_id": floor.plain, "start": "2026-03-03T09:00:00Z" });
        let moved = owner.move_booking(&booked, "move", &place).expect(200);
        assert_eq!((&moved["bay_id"], &moved["start"]), (&json!(floor.plain), &json!("2026-03-03T09:00:00Z")));
        assert_eq!(moved["pieces"][0]["start"], "2026-03-03T09:00:00Z");
        // Over its own time, half an hour later: its own place doesn't stand in its way.
        let place = json!({ "bay_id": floor.plain, "start": "2026-03-03T09:30:00Z" });
        let moved = owner.move_booking(&moved, "move", &place).expect(200);
        owner.move_booking(&moved, "no-show", &json!({})).problem(409, "not-late-yet");
        owner.move_booking(&moved, "cancel", &json!({ "reason": "" })).problem(400, "invalid-body");
        let ended = owner.move_booking(&moved, "cancel", &json!({ "reason": "Another week" })).expect(200);
        assert_eq!((&ended["state"], &ended["reason"]), (&json!("CANCELLED"), &json!("Another week")));
        owner.move_booking(&ended, "move", &place).problem(409, "wrong-state");
        assert_eq!(owner.get("/v1/days/2026-03-03").expect(200)["bays"][1]["bookings"], json!([]));
    });
}

#[test]
fn a_car_is_not_taken_in_for_other_work_than_its_place_was_made_for() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.book_first(&quote);
        let path = format!("/v1/quotes/{quote}");
        let signed = |services: &[&str]| {
            let now = owner.get(&path).expect(200);
            let open = owner.move_quote(&now, "revisions", &json!({})).expect(200);
            let lines: Vec<Value> = services.iter().map(|code| json!({ "item": { "service": code } })).collect();
            let draft = json!({ "condition": "FAIR", "lines": lines });
            let tag = format!("\"{}\"", open["version"]);
            let open = owner.put(&format!("{path}/draft"), &tag, &draft).expect(200);
            let sent = owner.move_quote(&open, "send", &json!({ "by_mail": false })).expect(200);
            owner.note_yes(&sent, &[]).expect(200);
        };
        signed(&["polish"]);
        // The signature is noted on the booking, so it is read anew.
        let place = format!("/v1/bookings/{}", booking["id"].as_str().unwrap());
        let booking = owner.get(&place).expect(200);
        owner.move_booking(&booking, "arrive", &json!({})).problem(409, "work-changed");
        let to = json!({ "bay_id": floor.best, "start": "2026-03-02T08:00:00Z" });
        let moved = owner.move_booking(&booking, "move", &to).expect(200);
        assert_eq!(moved["finish"], "2026-03-02T11:15:00Z");
        // The same work at another price needs no other place.
        signed(&["polish"]);
        owner.move_booking(&moved, "arrive", &json!({})).expect(200);
    });
}

#[test]
fn a_car_that_does_not_come_is_a_no_show_and_its_time_is_free() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let (one, two) = (studio.signed_work(&["coating"]), studio.signed_work(&["wash"]));
        let booking = owner.place(&one, &floor.best, "2026-03-02T09:00:00Z", false).expect(201);
        studio.pass_minutes(61);
        let owner = studio.owner();
        let no_show = owner.move_booking(&booking, "no-show", &json!({})).expect(200);
        assert_eq!(no_show["state"], "NO_SHOW");
        owner.place(&two, &floor.best, "2026-03-02T10:00:00Z", false).expect(201);
    });
}

#[test]
fn a_day_shows_each_bay_and_a_cure_overnight_on_both_days() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["coating"]);
        let booking = owner.place(&quote, &floor.best, "2026-03-02T12:00:00Z", false).expect(201);
        // 12:00 wash, 13:00 polish, 15:00 coat until 16:00, cured at 4:00, final inspection from 8:00 on.
        assert_eq!(booking["finish"], "2026-03-03T08:15:00Z");
        for (day, found) in [("2026-03-01", 0), ("2026-03-02", 1), ("2026-03-03", 1), ("2026-03-04", 0)] {
            let view = owner.get(&format!("/v1/days/{day}")).expect(200);
            assert_eq!(view["bays"][0]["bookings"].as_array().map(Vec::len), Some(found), "{day}");
        }
        let first = |person: &Person| person.get("/v1/days/2026-03-02").expect(200)["bays"][0]["bookings"][0].clone();
        assert_eq!(first(&owner)["customer_name"], "Aoife Byrne");
        assert_eq!(first(&studio.colleague(Role::Technician))["customer_name"], "Aoife");
        owner.get("/v1/days/today").problem(400, "malformed-request");
    });
}

#[test]
fn a_deposit_is_due_until_it_is_noted() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let booking = owner.book_first(&studio.signed_work_with(&["wash"], Some("50.00")));
        assert_eq!((&booking["state"], &booking["deposit_due"]), (&json!("BOOKED"), &json!(true)));
        assert_eq!(booking["deposit"], json!({ "amount": "50.00", "currency": "EUR" }));
        let paid = owner.move_booking(&booking, "deposit", &json!({})).expect(200);
        assert_eq!(paid["deposit_due"], false);
        owner.move_booking(&paid, "deposit", &json!({})).problem(409, "deposit-received");
    });
}

#[test]
fn bookings_are_listed_by_start_and_walked_both_ways() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        for start in ["2026-03-04T08:00:00Z", "2026-03-02T08:00:00Z", "2026-03-03T08:00:00Z"] {
            owner.place(&studio.signed_work(&["wash"]), &floor.best, start, false).expect(201);
        }
        let first = owner.get("/v1/bookings?limit=2").expect(200);
        let all = first["items"].as_array().unwrap().clone();
        assert_eq!(starts(&all), ["2026-03-02T08:00:00Z", "2026-03-03T08:00:00Z"]);
        let second = owner.get(first["next"].as_str().unwrap()).expect(200);
        assert_eq!(starts(second["items"].as_array().unwrap()), ["2026-03-04T08:00:00Z"]);
        let back = owner.get(second["prev"].as_str().unwrap()).expect(200);
        assert_eq!(back["items"], first["items"]);
        let some = owner.get("/v1/bookings?from=2026-03-02T09:15:00Z&until=2026-03-04T08:00:00Z").expect(200);
        assert_eq!(starts(some["items"].as_array().unwrap()), ["2026-03-03T08:00:00Z"]);
        let other = owner.get(&format!("/v1/bookings?bay_id={}", floor.plain)).expect(200);
        assert_eq!(other["items"], json!([]));
    });
}

#[test]
fn a_repeated_booking_is_one_booking() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let body = json!({ "quote_id": quote, "bay_id": floor.best, "start": "2026-03-02T08:00:00Z", "hold": false, "note": "" });
        let key = [("idempotency-key", "once")];
        let first = owner.json("POST", "/v1/bookings", &key, &body);
        let again = owner.json("POST", "/v1/bookings", &key, &body);
        assert_eq!((first.status, again.status), (201, 201));
        assert_eq!((again.header("idempotency-replayed"), &again.text), ("true", &first.text));
        owner.post("/v1/bookings", &body).problem(409, "already-booked");
    });
}

#[test]
fn a_move_that_is_sent_twice_happens_once_also_after_the_next_one() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let held = owner.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-02T12:00:00Z", true).expect(201);
        let path = |verb: &str| format!("/v1/bookings/{}/{verb}", held["id"].as_str().unwrap());
        let (seen, key) = (("if-match", "\"1\""), ("idempotency-key", "tap"));
        let first = owner.json("POST", &path("book"), &[seen, key], &json!({}));
        let booked = first.clone().expect(200);
        let there = json!({ "bay_id": floor.plain, "start": "2026-03-03T09:00:00Z" });
        let moved = owner.json("POST", &path("move"), &[("if-match", "\"2\""), key], &there);
        assert_eq!((moved.etag().as_str(), moved.header("idempotency-replayed")), ("\"3\"", ""));
        // The line was bad and the tap comes again: the answer is the first one's, though the booking has moved on.
        let again = owner.json("POST", &path("book"), &[seen, key], &json!({}));
        assert_eq!((again.status, again.etag(), again.header("idempotency-replayed")), (200, "\"2\"".into(), "true"));
        assert_eq!(again.expect(200), booked);
        let again = owner.json("POST", &path("move"), &[("if-match", "\"2\""), key], &there);
        assert_eq!((again.etag(), &again.text), (moved.etag(), &moved.text));
        let elsewhere = json!({ "bay_id": floor.best, "start": "2026-03-03T09:00:00Z" });
        owner
            .json("POST", &path("move"), &[("if-match", "\"3\""), key], &elsewhere)
            .problem(422, "idempotency-key-reused");
        owner.json("POST", &path("move"), &[("if-match", "\"3\"")], &there).problem(400, "idempotency-key-required");
        let now = owner.get(&format!("/v1/bookings/{}", held["id"].as_str().unwrap())).expect(200);
        assert_eq!(now["version"], 3);
    });
}

#[test]
fn another_shop_and_another_role_reach_no_booking() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.book_first(&quote);
        let path = format!("/v1/bookings/{}", booking["id"].as_str().unwrap());
        let stranger = studio.stranger();
        stranger.get(&path).problem(404, "not-found");
        stranger.get(&format!("/v1/quotes/{quote}/availability")).problem(404, "not-found");
        stranger.move_booking(&booking, "cancel", &json!({ "reason": "Mine" })).problem(404, "not-found");
        stranger.move_booking(&booking, "arrive", &json!({})).problem(404, "not-found");
        assert_eq!(stranger.get("/v1/bookings").expect(200)["items"], json!([]));
        assert_eq!(stranger.get("/v1/days/2026-03-02").expect(200)["bays"], json!([]));
        for role in [Role::Technician, Role::Accountant] {
            let person = studio.colleague(role);
            person.get(&path).problem(403, "not-allowed");
            person.place(&quote, &floor.best, "2026-03-02T08:00:00Z", false).problem(403, "not-allowed");
        }
        studio.nobody().get(&path).problem(401, "not-signed-in");
    });
}

#[test]
fn the_database_itself_keeps_two_cars_and_two_steps_apart() {
    use baywright_core::schema::{attendance, booking_stay};
    use diesel::prelude::*;
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let (one, two) = (studio.signed_work(&["wash"]), studio.signed_work(&["wash"]));
        let first = owner.place(&one, &floor.best, "2026-03-02T08:00:00Z", false).expect(201);
        let second = owner.place(&two, &floor.plain, "2026-03-02T12:00:00Z", false).expect(201);
        let (first, second) = (first["id"].as_str().unwrap(), second["id"].as_str().unwrap());
        let nine = UtcTime::parse("2026-03-02T09:00:00Z").unwrap().minute().get();
        let refused = studio.try_in_shop(studio.shop(), |tx| {
            let mine = booking_stay::table.filter(booking_stay::booking_id.eq(second));
            let there = (booking_stay::bay_id.eq(&floor.best), booking_stay::starts.eq(nine));
            diesel::update(mine).set(there).execute(tx.conn).map_err(DbError::from)?;
            Ok(())
        });
        assert!(format!("{:?}", refused.unwrap_err()).contains("overlap"));
        let refused = studio.try_in_shop(studio.shop(), |tx| {
            let all: Vec<(String, i64, i64)> = attendance::table
                .filter(attendance::booking_id.eq(first))
                .select((attendance::person_id, attendance::starts, attendance::finishes))
                .load(tx.conn)
                .map_err(DbError::from)?;
            let (person, starts, finishes) = all[0].clone();
            let mine = attendance::table.filter(attendance::booking_id.eq(second));
            let there = (
                attendance::person_id.eq(person),
                attendance::starts.eq(starts + 1),
                attendance::finishes.eq(finishes - 1),
            );
            diesel::update(mine).set(there).execute(tx.conn).map_err(DbError::from)?;
            Ok(())
        });
        assert!(format!("{:?}", refused.unwrap_err()).contains("overlap"));
    });
}
