//! Undoing what was done to a booking by mistake.

mod laws;
mod menu;
mod step;

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::make::shop::without;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

use crate::job::{act, arrived, pass};

fn text(value: &Value) -> &str {
    value.as_str().unwrap()
}

/// A booking as the API shows it, without what counts its changes.
fn shown(studio: &Studio, booking: &Value) -> Value {
    let now = studio.owner().get(&format!("/v1/bookings/{}", text(&booking["id"]))).expect(200);
    without(&now, &["version", "updated_at"])
}

/// Undoes the last move of a booking as it was last seen.
fn undo(who: &Person, booking: &Value, reason: Option<&str>) -> Answer {
    who.act(&format!("/v1/bookings/{}/undo", text(&booking["id"])), &tag(booking), &json!({ "reason": reason }))
}

fn tag(booking: &Value) -> String {
    format!("\"{}\"", booking["version"])
}

fn detail(problem: &Value) -> &str {
    text(&problem["detail"])
}

#[test]
fn an_arrival_is_undone_and_the_car_comes_another_time_with_its_notes() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        // It comes four hours early, so its bay is its own from then on.
        let booked =
            owner.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-02T12:00:00Z", false).expect(201);
        let before = shown(studio, &booked);
        let came = owner.move_booking(&booked, "arrive", &json!({})).expect(200);
        assert_eq!(came["start"], "2026-03-02T08:00:00Z");
        let job = owner.get("/v1/jobs").expect(200)["items"][0].clone();
        let path = format!("/v1/jobs/{}", text(&job["id"]));
        let note = json!({ "step": "wash", "text": "Scratch under the mirror", "photo_ids": [] });
        owner.post(&format!("{path}/notes"), &note).expect(201);
        let undone = undo(&owner, &came, None).expect(200);
        assert_eq!((&undone["state"], &undone["arrived_at"]), (&json!("BOOKED"), &Value::Null));
        assert_eq!(shown(studio, &booked), before);
        owner.get(&path).problem(404, "not-found");
        assert_eq!(owner.get("/v1/jobs").expect(200)["items"], json!([]));
        // The morning is free for another car again.
        let other = studio.signed_work(&["wash"]);
        owner.place(&other, &floor.best, "2026-03-02T08:00:00Z", false).expect(201);
        studio.pass_minutes(240);
        let owner = studio.owner();
        owner.move_booking(&undone, "arrive", &json!({})).expect(200);
        let again = owner.get(&path).expect(200);
        assert_eq!(again["steps"].as_array().map(Vec::len), Some(2));
        assert_eq!(again["steps"][0]["state"], "OPEN");
        let notes = owner.get(&format!("{path}/notes")).expect(200);
        assert_eq!(notes["items"][0]["text"], "Scratch under the mirror");
    });
}

#[test]
fn undoing_is_free_for_the_shops_minutes_and_takes_a_reason_after_them() {
    on_each_engine(|studio| {
        studio.floor();
        assert_eq!(studio.owner().get("/v1/shop").expect(200)["terms"]["undo_minutes"], 10);
        let (booking, _) = arrived(studio, &["wash"]);
        studio.pass_minutes(11);
        let problem = undo(&studio.owner(), &booking, None).problem(422, "undo-reason-needed");
        assert_eq!(problem["errors"][0]["pointer"], "/reason");
        assert!(detail(&problem).contains("10 min"), "{problem}");
        studio.owner().change_terms(&json!({ "undo_minutes": 30 }));
        let undone = undo(&studio.owner(), &booking, None).expect(200);
        let arrived = studio.owner().move_booking(&undone, "arrive", &json!({})).expect(200);
        studio.pass_minutes(31);
        undo(&studio.owner(), &arrived, Some("  ")).problem(400, "invalid-body");
        let undone = undo(&studio.owner(), &arrived, Some("Tapped the wrong car")).expect(200);
        let path = format!("/v1/bookings/{}/amendments", text(&booking["id"]));
        let kept = studio.owner().get(&path).expect(200)["items"].clone();
        assert_eq!(kept.as_array().map(Vec::len), Some(2));
        assert_eq!((&kept[0]["kind"], &kept[0]["undone"]), (&json!("UNDONE"), &json!("ARRIVE")));
        assert_eq!((&kept[0]["reason"], &kept[0]["step"]), (&json!("Tapped the wrong car"), &Value::Null));
        assert_eq!((&kept[1]["reason"], &kept[0]["made_at"]), (&Value::Null, &arrived["arrived_at"]));
        assert!(kept[0]["person_id"].is_string());
        undo(&studio.owner(), &undone, None).problem(409, "nothing-to-undo");
        undo(&studio.owner(), &arrived, None).problem(412, "changed-meanwhile");
        studio.stranger().get(&path).problem(404, "not-found");
        studio.colleague(Role::Technician).get(&path).problem(403, "not-allowed");
    });
}

#[test]
fn an_arrival_is_undone_only_after_the_steps_that_were_begun() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        act(&owner, &job, "wash", "start", &json!({})).expect(200);
        let problem = undo(&owner, &booking, None).problem(409, "undo-first");
        assert_eq!(detail(&problem), "Work on this car has begun: wash. Undo those steps first.");
        act(&owner, &job, "wash", "undo", &json!({})).expect(200);
        undo(&owner, &booking, None).expect(200);
    });
}

#[test]
fn an_arrival_stays_while_a_variation_is_with_the_customer_or_signed() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, _) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        let more = json!({ "reason": "Deep scratches.", "lines": [{ "item": { "service": "polish" } }] });
        let path = format!("/v1/quotes/{}/variations", text(&booking["quote_id"]));
        let written = owner.post(&path, &more).expect(201);
        let path = format!("/v1/variations/{}", text(&written["id"]));
        let sent = owner.act(&format!("{path}/send"), "\"1\"", &json!({ "by_mail": false })).expect(200);
        let problem = undo(&owner, &booking, None).problem(409, "undo-first");
        assert!(detail(&problem).contains("The customer has not answered variation 1 yet"), "{problem}");
        owner.act(&format!("{path}/decline"), &tag(&sent), &json!({ "reason": "" })).expect(200);
        undo(&owner, &booking, None).expect(200);
    });
}

/// A washed car that is ready, with its job.
fn ready(studio: &Studio) -> (Value, Value) {
    let (booking, job) = arrived(studio, &["wash"]);
    let owner = studio.owner();
    for code in ["wash", "final"] {
        pass(&owner, &job, code);
    }
    (owner.move_booking(&booking, "ready", &json!({})).expect(200), job)
}

fn lessons(studio: &Studio) -> u64 {
    let all = studio.owner().get("/v1/learning/steps").expect(200);
    all["steps"].as_array().unwrap().iter().map(|step| step["jobs"].as_u64().unwrap()).sum()
}

#[test]
fn ready_is_undone_with_what_was_learned_and_can_be_declared_again() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["wash"]);
        for code in ["wash", "final"] {
            act(&studio.owner(), &job, code, "start", &json!({})).expect(200);
            studio.pass_minutes(20);
            act(&studio.owner(), &job, code, "finish", &json!({ "used": [] })).expect(200);
        }
        let owner = studio.owner();
        let before = shown(studio, &booking);
        let is_ready = owner.move_booking(&booking, "ready", &json!({})).expect(200);
        let learned = lessons(studio);
        let problem = act(&owner, &job, "final", "undo", &json!({})).problem(409, "wrong-state");
        assert!(detail(&problem).contains("undo it first"), "{problem}");
        let undone = undo(&owner, &is_ready, None).expect(200);
        assert_eq!(shown(studio, &booking), before);
        assert_eq!((learned > 0, lessons(studio)), (true, 0));
        act(&owner, &job, "final", "undo", &json!({ "reason": "Not inspected yet" })).expect(200);
        act(&owner, &job, "final", "finish", &json!({ "used": [] })).expect(200);
        owner.move_booking(&undone, "ready", &json!({})).expect(200);
        assert_eq!(lessons(studio), learned);
    });
}

#[test]
fn ready_and_the_hand_over_stay_where_the_work_was_invoiced_since() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, _) = ready(studio);
        let owner = studio.owner();
        studio.pass_minutes(5);
        let draft = owner.post("/v1/invoices", &json!({ "quote_id": booking["quote_id"] })).expect(201);
        let path = format!("/v1/invoices/{}", text(&draft["id"]));
        let issued = owner.act(&format!("{path}/issue"), "\"1\"", &json!({})).expect(200);
        let problem = undo(&owner, &booking, None).problem(409, "undo-first");
        assert!(detail(&problem).contains(text(&issued["number"])), "{problem}");
        // The car is handed over after the invoice, so that can be undone.
        studio.pass_minutes(5);
        let gone = owner.move_booking(&booking, "hand-over", &handover()).expect(200);
        let back = undo(&owner, &gone, None).expect(200);
        assert_eq!(back["state"], "READY");
    });
}

fn handover() -> Value {
    json!({ "received_by": "Aoife Byrne", "odometer": 84210, "aftercare": "", "note": "", "checklist": [] })
}

#[test]
fn a_hand_over_is_undone_with_its_record_and_the_bay_is_the_cars_again() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, _) = ready(studio);
        let owner = studio.owner();
        let before = shown(studio, &booking);
        let gone = owner.move_booking(&booking, "hand-over", &handover()).expect(200);
        let back = undo(&owner, &gone, None).expect(200);
        assert_eq!(shown(studio, &booking), before);
        owner.get(&format!("/v1/bookings/{}/hand-over", text(&booking["id"]))).problem(404, "not-found");
        let (bay, start) = (text(&booking["bay_id"]), text(&booking["start"]));
        owner.place(&studio.signed_work(&["wash"]), bay, start, false).problem(409, "slot-taken");
        // Handed over once more, its bay goes to another car, and then it is too late.
        let gone = owner.move_booking(&back, "hand-over", &handover()).expect(200);
        let other = owner.place(&studio.signed_work(&["wash"]), bay, start, false).expect(201);
        let problem = undo(&owner, &gone, None).problem(409, "undo-first");
        assert!(detail(&problem).contains(text(&other["id"])), "{problem}");
        owner.move_booking(&other, "cancel", &json!({ "reason": "In the way" })).expect(200);
        undo(&owner, &gone, None).expect(200);
        assert_eq!(shown(studio, &booking), before);
    });
}

#[test]
fn a_no_show_stands_again_unless_its_time_was_given_away() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["polish"]);
        let booked = owner.place(&quote, &floor.best, "2026-03-02T09:00:00Z", false).expect(201);
        let before = shown(studio, &booked);
        studio.pass_minutes(70);
        let owner = studio.owner();
        let no_show = owner.move_booking(&booked, "no-show", &json!({})).expect(200);
        let undone = undo(&owner, &no_show, None).expect(200);
        assert_eq!(shown(studio, &booked), before);
        // A no-show again. This time another car gets the bay.
        let no_show = owner.move_booking(&undone, "no-show", &json!({})).expect(200);
        let other = owner.place(&studio.signed_work(&["wash"]), &floor.best, "2026-03-02T10:00:00Z", false).expect(201);
        let problem = undo(&owner, &no_show, None).problem(409, "undo-first");
        assert!(detail(&problem).starts_with("The bay has another booking in this time now"), "{problem}");
        assert!(detail(&problem).contains(text(&other["id"])), "{problem}");
        owner.move_booking(&other, "cancel", &json!({ "reason": "In the way" })).expect(200);
        // Or the one who polishes gets other work, in the other bay.
        let polish = studio.signed_work(&["polish"]);
        let other = owner.place(&polish, &floor.plain, "2026-03-02T09:30:00Z", false);
        let other =
            if other.status == 201 { other } else { owner.place(&polish, &floor.plain, "2026-03-02T09:15:00Z", false) };
        let other = other.expect(201);
        let problem = undo(&owner, &no_show, None).problem(409, "undo-first");
        assert!(detail(&problem).starts_with("Niall Quirke has other work in this time now"), "{problem}");
        owner.move_booking(&other, "cancel", &json!({ "reason": "In the way" })).expect(200);
        // A technician can't: the desk decides on whoever doesn't come.
        undo(&studio.person(&floor.polisher), &no_show, None).problem(403, "not-allowed");
        undo(&owner, &no_show, None).expect(200);
        assert_eq!(shown(studio, &booked), before);
    });
}

#[test]
fn a_booking_whose_work_was_booked_again_does_not_stand_twice() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booked = owner.place(&quote, &floor.best, "2026-03-02T12:00:00Z", false).expect(201);
        let ended = owner.move_booking(&booked, "cancel", &json!({ "reason": "Wrong one" })).expect(200);
        owner.place(&quote, &floor.best, "2026-03-03T12:00:00Z", false).expect(201);
        let problem = undo(&owner, &ended, None).problem(409, "undo-first");
        assert!(detail(&problem).contains("Tue 3 March 2026, 12:00"), "{problem}");
    });
}

#[test]
fn a_customer_who_was_told_of_a_cancellation_is_told_that_the_booking_stands() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booked = owner.place(&quote, &floor.best, "2026-03-03T12:00:00Z", false).expect(201);
        let before = shown(studio, &booked);
        let ended = owner.move_booking(&booked, "cancel", &json!({ "reason": "Wrong one" })).expect(200);
        undo(&owner, &ended, None).expect(200);
        assert_eq!(shown(studio, &booked), before);
        studio.tick();
        let mails = studio.mails_to("aoife.byrne@example.com");
        let mail = mails.iter().find(|mail| mail.subject.contains("is not cancelled")).unwrap();
        assert_eq!(mail.subject, "Your booking on Tuesday 3 March 2026 at 12:00 is not cancelled");
        assert!(
            mail.text.contains("Our earlier email was a mistake")
                && mail.text.contains("Tuesday 3 March 2026 at 12:00"),
            "{}",
            mail.text
        );
        let file = String::from_utf8(mail.attachments[0].2.clone()).unwrap();
        assert!(file.contains("STATUS:CONFIRMED") && file.contains(text(&booked["id"])), "{file}");
        // A hold that was given up is not taken again.
        let held = owner.place(&studio.signed_work(&["wash"]), &floor.plain, "2026-03-03T12:00:00Z", true).expect(201);
        let ended = owner.move_booking(&held, "cancel", &json!({ "reason": "No" })).expect(200);
        undo(&owner, &ended, None).problem(409, "nothing-to-undo");
        studio
            .stranger()
            .act(&format!("/v1/bookings/{}/undo", text(&held["id"])), "\"1\"", &json!({}))
            .problem(404, "not-found");
    });
}
