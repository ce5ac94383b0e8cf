//! Other work is signed after the place was booked: the studio hears of it at once, with new times.

use baywright_tests::answer::Answer;
use baywright_tests::make::booking::Floor;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

/// A wash, booked on Monday in the plain bay from 10:00 to 11:15; gives the quote's path and the booking.
fn a_booked_wash(studio: &Studio) -> (Floor, String, Value) {
    let floor = studio.floor();
    let quote = studio.signed_work(&["wash"]);
    let booked = studio.owner().place(&quote, &floor.plain, "2026-03-02T10:00:00Z", false).expect(201);
    (floor, format!("/v1/quotes/{quote}"), booked)
}

/// The body of an answer with its warnings.
fn warned(answer: &Answer) -> Value {
    assert_eq!(answer.status, 200, "{}", answer.text);
    answer.json()
}

/// Sends a revision of the quote; gives the quote.
fn revise(owner: &Person, path: &str, services: &[&str], by_mail: bool) -> Value {
    let now = owner.get(path).expect(200);
    let open = owner.move_quote(&now, "revisions", &json!({})).expect(200);
    let lines: Vec<Value> = services.iter().map(|code| json!({ "item": { "service": code } })).collect();
    let draft = json!({ "condition": "FAIR", "lines": lines });
    let open = owner.put(&format!("{path}/draft"), &format!("\"{}\"", open["version"]), &draft).expect(200);
    owner.move_quote(&open, "send", &json!({ "by_mail": by_mail })).expect(200)
}

fn codes(answer: &Value) -> Vec<&str> {
    answer["warnings"].as_array().unwrap().iter().map(|one| one["code"].as_str().unwrap()).collect()
}

fn said(answer: &Value) -> String {
    let all = answer["warnings"].as_array().unwrap().iter().map(|one| one["detail"].as_str().unwrap());
    all.collect::<Vec<_>>().join(" ")
}

#[test]
fn a_revision_signed_by_phone_says_at_once_that_the_booking_no_longer_fits_and_offers_new_times() {
    on_each_engine(|studio| {
        let (floor, path, booked) = a_booked_wash(studio);
        let owner = studio.owner();
        assert_eq!((&booked["fits"], &owner.get(&path).expect(200)["booking_fits"]), (&json!(true), &json!(true)));
        // The same work at another price needs no other place.
        let same = warned(&owner.note_yes(&revise(&owner, &path, &["wash"], false), &[]));
        assert_eq!((codes(&same).len(), &same["booking_fits"]), (0, &json!(true)));
        let signed = warned(&owner.note_yes(&revise(&owner, &path, &["coating"], false), &[]));
        assert_eq!(codes(&signed), ["booking-no-longer-fits", "booking-no-longer-fits"], "{signed}");
        let text = said(&signed);
        assert!(text.contains("It still has its old time, Mon 2 March 2026, 10:00"), "{text}");
        // Its own place counts as free: the person who can polish is booked for it, and would be moved.
        assert!(
            text.contains("The next times that fit are: Mon 2 March 2026, 13:30 to Tue 3 March 2026, 08:15 in Bay 1"),
            "{text}"
        );
        assert_eq!(signed["booking_fits"], false);
        let place = format!("/v1/bookings/{}", id(&booked));
        let now = owner.get(&place).expect(200);
        assert_eq!((&now["fits"], &now["start"]), (&json!(false), &booked["start"]));
        let day = owner.get("/v1/days/2026-03-02").expect(200);
        assert_eq!(day["bays"][1]["bookings"][0]["fits"], false, "{day}");
        let there = json!({ "bay_id": floor.best, "start": "2026-03-02T13:30:00Z" });
        let moved = owner.move_booking(&now, "move", &there).expect(200);
        assert_eq!((&moved["fits"], &moved["finish"]), (&json!(true), &json!("2026-03-03T08:15:00Z")));
        assert_eq!(owner.get(&path).expect(200)["booking_fits"], true);
        owner.move_booking(&moved, "arrive", &json!({})).expect(200);
    });
}

#[test]
fn the_place_that_work_has_already_counts_as_free_when_its_new_times_are_asked_for() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        // Only one person can polish, and is booked for this very work.
        let quote = studio.signed_work(&["polish"]);
        let booked = owner.place(&quote, &floor.plain, "2026-03-02T10:00:00Z", false).expect(201);
        let from = format!("/v1/quotes/{quote}/availability?from=2026-03-02T10:00:00Z&count=1");
        let first = owner.get(&from).expect(200)["times"][0].clone();
        assert_eq!((&first["start"], &first["finish"]), (&booked["start"], &booked["finish"]));
    });
}

#[test]
fn a_revision_signed_by_the_link_is_mailed_to_the_studio() {
    on_each_engine(|studio| {
        let (_, path, booked) = a_booked_wash(studio);
        let owner = studio.owner();
        let studios = "owner@example.com";
        revise(&owner, &path, &["polish"], true);
        let token = studio.token_mailed_to("aoife.byrne@example.com");
        let before = studio.mails_to(studios).len();
        assert_eq!(studio.visitor(&token).accept(&[], "Aoife Byrne").status, 303);
        studio.tick();
        let mails = studio.mails_to(studios).split_off(before);
        let mail = mails.iter().find(|mail| mail.subject.starts_with("A booking needs your attention: ")).unwrap();
        for part in ["old time, Mon 2 March 2026, 10:00", "The next times that fit are: ", "Aoife Byrne"] {
            assert!(mail.text.contains(part) && mail.html.contains(part), "{part}: {}", mail.text);
        }
        let now = owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200);
        assert_eq!(now["fits"], false);
    });
}

#[test]
fn a_deposit_that_has_not_come_is_the_one_that_is_agreed_now() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work_with(&["wash"], Some("50.00"));
        let booked = owner.place(&quote, &floor.plain, "2026-03-02T10:00:00Z", false).expect(201);
        assert_eq!(booked["deposit"]["amount"], "50.00");
        let path = format!("/v1/quotes/{quote}");
        let signed = warned(&owner.note_yes(&revise(&owner, &path, &["wash"], false), &[]));
        assert!(
            said(&signed).contains("The booking now asks for no deposit instead of a deposit of EUR 50.00."),
            "{signed}"
        );
        let now = owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200);
        assert_eq!((&now["deposit"], &now["deposit_due"], &now["fits"]), (&Value::Null, &json!(false), &json!(true)));
    });
}

/// A car that came at 10:07 for its wash, with a polish that is offered to its customer. Gives the booking and the
/// variation as it was sent.
fn a_wash_and_a_polish(studio: &Studio, path: &str, booked: &Value, by_mail: bool) -> (Value, Value) {
    studio.pass_minutes(127);
    let owner = studio.owner();
    let came = owner.move_booking(booked, "arrive", &json!({})).expect(200);
    let more = json!({ "reason": "Deep scratches.", "lines": [{ "item": { "service": "polish" } }] });
    let written = owner.post(&format!("{path}/variations"), &more).expect(201);
    let send = format!("/v1/variations/{}/send", id(&written));
    (came, owner.act(&send, "\"1\"", &json!({ "by_mail": by_mail })).expect(200))
}

/// The time by which the car will be ready, as the customer reads it before they sign.
fn told(sent: &Value) -> String {
    let told = sent["document"]["change"]["ready_after"].as_str().unwrap();
    assert!(["00", "15", "30", "45"].contains(&&told[14..16]), "no full quarter of an hour: {told}");
    told.to_owned()
}

/// What Today lists under cars to find a time for.
fn to_book(owner: &Person) -> Vec<Value> {
    let day = owner.get("/v1/today").expect(200);
    let list = day["lists"].as_array().unwrap().iter().find(|list| list["kind"] == "TO_BOOK").unwrap();
    list["items"].as_array().unwrap().clone()
}

#[test]
fn what_a_signed_variation_tells_is_promised_and_its_bay_is_kept() {
    on_each_engine(|studio| {
        let (floor, path, booked) = a_booked_wash(studio);
        let other = studio.signed_work(&["wash"]);
        let (came, sent) = a_wash_and_a_polish(studio, &path, &booked, true);
        let told = told(&sent);
        assert!(told.as_str() > came["promised"].as_str().unwrap(), "{told}: {came}");
        let visitor = studio.visitor(&studio.token_mailed_to("aoife.byrne@example.com"));
        let clock = format!("Monday 2 March 2026 at {}", &told[11..16]);
        let page = visitor.get("").text;
        assert!(page.contains(&format!("With this change your car will be ready by {clock}")), "{page}");
        assert_eq!(visitor.accept(&[], "Aoife Byrne").status, 303);
        studio.tick();
        let copy = studio.mails_to("aoife.byrne@example.com").pop().unwrap();
        assert!(copy.subject.starts_with("Your copy: change") && copy.text.contains(&clock), "{}", copy.text);
        let needs_attention = |subject: &str| subject.starts_with("A booking needs your attention");
        assert!(!studio.mails_to("owner@example.com").iter().any(|mail| needs_attention(&mail.subject)));
        // From 10:07 on: a wash of 60 minutes, a polish of 120 and the inspection of 15.
        let owner = studio.owner();
        let now = owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200);
        assert_eq!((&now["promised"], &now["finish"]), (&json!(told), &json!("2026-03-02T13:22:00Z")));
        assert_eq!((&now["fits"], &owner.get(&path).expect(200)["booking_fits"]), (&json!(true), &json!(true)));
        let job = owner.get("/v1/jobs").expect(200)["items"][0].clone();
        let forecast = owner.get(&format!("/v1/jobs/{}/forecast", id(&job))).expect(200);
        assert_eq!((&forecast["promised"], &forecast["finish"]), (&json!(told), &now["finish"]));
        assert_eq!(owner.get("/v1/today").expect(200)["cars"][0]["promised"], told.as_str());
        // Nobody else gets the bay, or the person who finishes the work, until then.
        let pieces = now["pieces"].as_array().unwrap();
        assert!(pieces.iter().any(|piece| piece["finish"] == now["finish"]), "{now}");
        assert_eq!(owner.place(&other, &floor.plain, "2026-03-02T12:00:00Z", false).status, 409);
        owner.place(&other, &floor.plain, "2026-03-02T13:30:00Z", false).expect(201);
    });
}

#[test]
fn a_variation_for_which_the_diary_has_no_time_says_so_when_it_is_signed() {
    on_each_engine(|studio| {
        let (floor, path, booked) = a_booked_wash(studio);
        let owner = studio.owner();
        owner.change_terms(&json!({ "call_tolerance": { "amount": "2000.00", "currency": "EUR" } }));
        let next = studio.signed_work(&["wash"]);
        let next = owner.place(&next, &floor.plain, "2026-03-02T11:30:00Z", false).expect(201);
        let (came, sent) = a_wash_and_a_polish(studio, &path, &booked, false);
        let told = told(&sent);
        let owner = studio.owner();
        let yes = json!({ "digest": sent["digest"], "name": "Aoife Byrne", "agreed": true, "early_start": true });
        let sign = format!("/v1/variations/{}/sign-off", id(&sent));
        let signed = warned(&owner.act(&sign, &format!("\"{}\"", sent["version"]), &yes));
        assert_eq!(codes(&signed), ["booking-no-longer-fits"], "{signed}");
        let text = said(&signed);
        assert!(text.contains("goes on until Mon 2 March 2026, "), "{text}");
        assert!(text.contains("bay is booked only until Mon 2 March 2026, 11:15"), "{text}");
        // What the customer was told is promised all the same.
        assert!(text.contains(&format!("was promised Mon 2 March 2026, {}.", &told[11..16])), "{text}");
        let now = owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200);
        assert_eq!((&now["promised"], &now["finish"]), (&json!(told), &came["finish"]));
        assert_eq!((&now["fits"], &owner.get(&path).expect(200)["booking_fits"]), (&json!(false), &json!(false)));
        let waiting = to_book(&owner);
        let seen: Vec<(&Value, &Value)> = waiting.iter().map(|entry| (&entry["about_id"], &entry["act"])).collect();
        assert_eq!(seen, [(&booked["quote_id"], &json!("MOVE_BOOKING"))]);
        // With the next car out of the way the car stays longer, as the diary then says.
        owner.move_booking(&next, "cancel", &json!({ "reason": "Ill" })).expect(200);
        let job = owner.get("/v1/jobs").expect(200)["items"][0].clone();
        let expected = owner.get(&format!("/v1/jobs/{}/forecast", id(&job))).expect(200)["expected"].clone();
        let late = json!({ "booking_id": came["id"], "finish": expected });
        let made = owner.post("/v1/reschedulings", &json!({ "overruns": [late] })).expect(201);
        owner.act(&format!("/v1/reschedulings/{}/accept", id(&made)), "\"1\"", &json!({})).expect(200);
        assert_eq!(owner.get(&path).expect(200)["booking_fits"], true);
        let now = owner.get(&format!("/v1/bookings/{}", id(&booked))).expect(200);
        assert_eq!((&now["promised"], &now["finish"]), (&json!(told), &expected));
        assert!(to_book(&owner).is_empty());
    });
}
