//! Jobs over HTTP: from the car in its bay to the hand-over.

mod actions;

use baywright_core::platform::identity::Role;
use baywright_tests::make::booking::drying_menu;
use baywright_tests::make::menu::with;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

/// A booking whose car has come, with its job.
pub(crate) fn arrived(studio: &Studio, services: &[&str]) -> (Value, Value) {
    let owner = studio.owner();
    let booking = owner.book_first(&studio.signed_work(services));
    // The day may have gone by, and a car that is ready was driven out.
    let confirmed = "arrive?confirm=bay-not-cleared,arrival-on-another-day";
    let booking = owner.move_booking(&booking, confirmed, &json!({})).expect(200);
    assert_eq!(booking["state"], "IN_BAY");
    let jobs = owner.get("/v1/jobs").expect(200);
    let path = format!("/v1/jobs/{}", jobs["items"][0]["id"].as_str().unwrap());
    (booking, owner.get(&path).expect(200))
}

fn step(person: &Person, job: &Value, code: &str) -> (String, Value) {
    let path = format!("/v1/jobs/{}/steps/{code}", job["id"].as_str().unwrap());
    let answer = person.get(&path);
    (answer.etag(), answer.expect(200))
}

pub(crate) fn act(
    person: &Person,
    job: &Value,
    code: &str,
    verb: &str,
    body: &Value,
) -> baywright_tests::answer::Answer {
    let (etag, _) = step(person, job, code);
    person.act(&format!("/v1/jobs/{}/steps/{code}/{verb}", job["id"].as_str().unwrap()), &etag, body)
}

pub(crate) fn pass(person: &Person, job: &Value, code: &str) {
    act(person, job, code, "start", &json!({})).expect(200);
    act(person, job, code, "finish", &json!({ "used": [] })).expect(200);
}

/// A car that was washed and given back, after more work was written down; gives the variation's id.
pub(crate) fn handed_over(studio: &Studio) -> String {
    studio.floor();
    let (booking, job) = arrived(studio, &["wash"]);
    let owner = studio.owner();
    let more = json!({ "reason": "Deep scratches.", "lines": [{ "item": { "service": "polish" } }] });
    let quote = booking["quote_id"].as_str().unwrap();
    let variation = owner.post(&format!("/v1/quotes/{quote}/variations"), &more).expect(201);
    let variation = variation["id"].as_str().unwrap().to_owned();
    for code in ["wash", "final"] {
        pass(&owner, &job, code);
    }
    let note = json!({ "step": null, "text": "Dry", "photo_ids": [] });
    owner.post(&format!("/v1/jobs/{}/notes", job["id"].as_str().unwrap()), &note).expect(201);
    let ready = owner.move_booking(&booking, "ready", &json!({})).expect(200);
    let body = json!({ "received_by": "Aoife Byrne", "odometer": 84210, "aftercare": "", "note": "", "checklist": [] });
    owner.move_booking(&ready, "hand-over", &body).expect(200);
    variation
}

#[test]
fn a_job_begins_with_the_steps_of_the_plan() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["coating"]);
        let codes: Vec<&str> =
            job["steps"].as_array().unwrap().iter().map(|step| step["code"].as_str().unwrap()).collect();
        assert_eq!(codes, ["wash", "machine", "coat", "final"]);
        assert_eq!((&job["state"], &job["booking_id"]), (&json!("WAITING"), &booking["id"]));
        assert_eq!(job["customer_first_name"], "Aoife");
        assert_eq!(job["steps"][0]["products"][0]["mix"]["ratio"], "50 ml in 10 l");
        assert_eq!(job["steps"][0]["can_start"], true);
        assert_eq!(job["steps"][1]["can_start"], false);
        let text = job.to_string();
        assert!(!text.contains("price") && !text.contains("Byrne") && !text.contains("amount\":{"), "{text}");
    });
}

#[test]
fn clocks_count_the_pieces_of_work() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["wash"]);
        let me = studio.person(&floor.polisher);
        act(&me, &job, "wash", "start", &json!({})).expect(200);
        studio.pass_minutes(20);
        let me = studio.person(&floor.polisher);
        let stopped = act(&me, &job, "wash", "stop", &json!({})).expect(200);
        assert_eq!((&stopped["state"], &stopped["actual_minutes"]), (&json!("PAUSED"), &json!(20)));
        studio.pass_minutes(30);
        let owner = studio.owner();
        act(&owner, &job, "wash", "start", &json!({ "person_id": floor.helper })).expect(200);
        act(&owner, &job, "wash", "start", &json!({ "person_id": floor.polisher })).expect(200);
        studio.pass_minutes(10);
        let owner = studio.owner();
        let unknown = json!({ "used": [{ "product": "no-such", "amount": "1" }] });
        let problem = act(&owner, &job, "wash", "finish", &unknown).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["code"], "unknown_product");
        let used = json!({ "used": [{ "product": "shampoo", "amount": "9500" }] });
        let done = act(&owner, &job, "wash", "finish", &used).expect(200);
        assert_eq!(done["state"], "FINISHED");
        assert_eq!((&done["actual_minutes"], &done["hands_minutes"]), (&json!(30), &json!(40)));
        assert_eq!(done["used"], json!([{ "product": "shampoo", "amount": "9500" }]));
        assert_eq!(done["pieces"].as_array().map(Vec::len), Some(3));
        act(&owner, &job, "wash", "start", &json!({})).problem(409, "wrong-state");
    });
}

#[test]
fn no_step_begins_before_those_it_follows_are_done_and_cured() {
    on_each_engine(|studio| {
        studio.floor();
        let (_, job) = arrived(studio, &["coating"]);
        let owner = studio.owner();
        act(&owner, &job, "machine", "start", &json!({})).problem(409, "step-before-unfinished");
        pass(&owner, &job, "wash");
        pass(&owner, &job, "machine");
        pass(&owner, &job, "coat");
        let problem = act(&owner, &job, "final", "start", &json!({})).problem(409, "still-curing");
        assert!(problem["detail"].as_str().unwrap().contains("before Mon 2 March 2026, 20:00: "), "{problem}");
        studio.pass_minutes(720);
        pass(&studio.owner(), &job, "final");
    });
}

#[test]
fn nobody_is_at_two_steps_at_once() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, one) = arrived(studio, &["wash"]);
        let (_, two) = arrived(studio, &["wash"]);
        assert_ne!(one["id"], two["id"]);
        let owner = studio.owner();
        let who = json!({ "person_id": floor.helper });
        act(&owner, &one, "wash", "start", &who).expect(200);
        act(&owner, &one, "wash", "start", &who).problem(409, "person-busy");
        act(&owner, &two, "wash", "start", &who).problem(409, "person-busy");
        act(&owner, &one, "wash", "stop", &who).expect(200);
        act(&owner, &two, "wash", "start", &who).expect(200);
    });
}

#[test]
fn a_technician_sees_and_does_only_their_own_jobs() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["polish"]);
        let path = format!("/v1/jobs/{}", job["id"].as_str().unwrap());
        let mine = studio.person(&floor.polisher);
        assert_eq!(mine.get("/v1/jobs?mine=true").expect(200)["items"].as_array().map(Vec::len), Some(1));
        mine.get(&path).expect(200);
        let other = studio.colleague(Role::Technician);
        assert_eq!(other.get("/v1/jobs").expect(200)["items"], json!([]));
        other.get(&path).problem(403, "not-allowed");
        let somebody_else = json!({ "person_id": floor.helper });
        act(&mine, &job, "wash", "start", &somebody_else).problem(403, "not-allowed");
        studio.colleague(Role::Accountant).get(&path).problem(403, "not-allowed");
        studio.stranger().get(&path).problem(404, "not-found");
        assert_eq!(studio.stranger().get("/v1/jobs").expect(200)["items"], json!([]));
    });
}

#[test]
fn the_car_is_ready_once_every_step_is_done_or_removed_and_is_handed_over_with_a_record() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["polish"]);
        let owner = studio.owner();
        pass(&owner, &job, "wash");
        owner.move_booking(&booking, "ready", &json!({})).problem(409, "job-not-ready");
        act(&owner, &job, "machine", "remove", &json!({ "reason": "" })).problem(400, "invalid-body");
        let removed = act(&owner, &job, "machine", "remove", &json!({ "reason": "Paint too thin" })).expect(200);
        assert_eq!((&removed["state"], &removed["removal_reason"]), (&json!("REMOVED"), &json!("Paint too thin")));
        pass(&owner, &job, "final");
        let handover = json!({
            "received_by": "Aoife Byrne", "odometer": 84210, "aftercare": "Keep it dry until tomorrow.", "note": "",
            "checklist": [{ "what": "Keys returned", "done": true }]
        });
        owner.move_booking(&booking, "hand-over", &handover).problem(409, "wrong-state");
        let ready = owner.move_booking(&booking, "ready", &json!({})).expect(200);
        assert_eq!(ready["state"], "READY");
        act(&owner, &job, "wash", "start", &json!({})).problem(409, "wrong-state");
        let gone = owner.move_booking(&ready, "hand-over", &handover).expect(200);
        assert_eq!(gone["state"], "HANDED_OVER");
        let kept = owner.get(&format!("/v1/bookings/{}/hand-over", booking["id"].as_str().unwrap())).expect(200);
        assert_eq!((&kept["odometer"], &kept["odometer_unit"]), (&json!(84210), &json!("KM")));
        assert_eq!(
            (&kept["aftercare"], &kept["received_by"]),
            (&json!("Keep it dry until tomorrow."), &json!("Aoife Byrne"))
        );
        // Its bay is free from then on.
        let other = studio.signed_work(&["wash"]);
        owner.place(&other, booking["bay_id"].as_str().unwrap(), "2026-03-02T08:00:00Z", false).expect(201);
    });
}

#[test]
fn a_technician_reads_the_first_name_alone_of_whoever_took_the_car() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let technician = studio.person(&floor.polisher);
        let (booking, job) = arrived(studio, &["wash"]);
        for code in ["wash", "final"] {
            pass(&studio.owner(), &job, code);
        }
        let ready = studio.owner().move_booking(&booking, "ready", &json!({})).expect(200);
        let handover = json!({
            "received_by": "Aoife Byrne", "odometer": null, "aftercare": "", "note": "", "checklist": []
        });
        studio.owner().move_booking(&ready, "hand-over", &handover).expect(200);
        let path = format!("/v1/bookings/{}/hand-over", booking["id"].as_str().unwrap());
        let told = |person: &Person| person.get(&path).expect(200)["received_by"].clone();
        assert_eq!(
            (told(&studio.owner()), told(&studio.colleague(Role::Desk))),
            (json!("Aoife Byrne"), json!("Aoife Byrne"))
        );
        assert_eq!(told(&technician), "Aoife");
    });
}

#[test]
fn something_is_noted_at_the_car_with_a_photograph() {
    on_each_engine(|studio| {
        studio.floor();
        let (_, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        let photo = owner.add_photo()["id"].clone();
        let path = format!("/v1/jobs/{}/notes", job["id"].as_str().unwrap());
        let body = json!({ "step": "wash", "text": "Scratch under the mirror", "photo_ids": [photo] });
        owner.post(&path, &body).expect(201);
        let notes = owner.get(&path).expect(200);
        assert_eq!(notes["items"][0]["photo_ids"], json!([photo]));
        owner.post(&path, &json!({ "step": null, "text": "", "photo_ids": [] })).problem(422, "invalid-value");
        owner.post(&path, &json!({ "step": "wax", "text": "a", "photo_ids": [] })).problem(422, "invalid-value");
        let nothing = json!(["0198c0de-0000-7000-8000-000000000001"]);
        owner.post(&path, &json!({ "step": null, "text": "a", "photo_ids": nothing })).problem(422, "invalid-value");
        studio.stranger().get(&path).problem(404, "not-found");
    });
}

#[test]
fn two_people_at_one_car_do_not_get_in_each_others_way() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        let (etag, _) = step(&owner, &job, "wash");
        let path = format!("/v1/jobs/{}/steps/wash/start", job["id"].as_str().unwrap());
        owner.act(&path, &etag, &json!({ "person_id": floor.helper })).expect(200);
        owner.act(&path, &etag, &json!({ "person_id": floor.polisher })).problem(412, "changed-meanwhile");
        owner.json("POST", &path, &[], &json!({})).problem(428, "if-match-required");
        // Another step has a version of its own.
        let (other, _) = step(&owner, &job, "final");
        let remove = format!("/v1/jobs/{}/steps/final/remove", job["id"].as_str().unwrap());
        owner.act(&remove, &other, &json!({ "reason": "Not wanted" })).expect(200);
    });
}

#[test]
fn other_work_goes_on_beside_a_wait_only_where_the_menu_says_so() {
    for (holds, goes_on, done) in [("CAR", false, "2026-03-02T15:20:00Z"), ("AFTER", true, "2026-03-02T12:20:00Z")] {
        on_each_engine(|studio| {
            studio.floor();
            let owner = studio.owner();
            owner.publish_menu_with(&drying_menu(holds), &json!({}));
            let (_, job) = arrived(studio, &["valet"]);
            // It dries from 8:00 to 12:00; trim and polishing take 200 minutes.
            pass(&owner, &job, "extract");
            let can_start = |code: &str| step(&owner, &job, code).1["can_start"].clone();
            assert_eq!((can_start("trim"), can_start("polish")), (json!(false), json!(goes_on)), "{holds}");
            assert_eq!(step(&owner, &job, "extract").1["holds"], holds);
            let seen = forecast(&owner, &job);
            assert_eq!((&seen["left_minutes"], &seen["expected"]), (&json!(200), &json!(done)), "{holds}");
            let started = act(&owner, &job, "polish", "start", &json!({}));
            if goes_on {
                started.expect(200);
            } else {
                started.problem(409, "still-curing");
            }
        });
    }
}

fn forecast(person: &Person, job: &Value) -> Value {
    person.get(&format!("/v1/jobs/{}/forecast", job["id"].as_str().unwrap())).expect(200)
}

#[test]
fn when_a_car_will_be_done_follows_from_what_is_left_of_its_steps() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        // 60 minutes of washing and a quarter of an hour's inspection, from 8:00 on.
        let seen = forecast(&owner, &job);
        assert_eq!((&seen["promised"], &seen["expected"]), (&booking["promised"], &booking["finish"]));
        assert_eq!(booking["finish"], "2026-03-02T09:15:00Z");
        // A promise has a margin for what nobody knows yet of the steps' times.
        assert_eq!(booking["promised"], "2026-03-02T09:45:00Z");
        assert_eq!((&seen["left_minutes"], &seen["late_minutes"]), (&json!(75), &json!(0)));
        // Nobody begins for half an hour; then half of the washing is done. No slot is waited for.
        studio.pass_minutes(5);
        assert_eq!(forecast(&owner, &job)["expected"], "2026-03-02T09:20:00Z");
        studio.pass_minutes(25);
        let owner = studio.owner();
        act(&owner, &job, "wash", "start", &json!({})).expect(200);
        studio.pass_minutes(30);
        let seen = forecast(&studio.owner(), &job);
        assert_eq!((&seen["left_minutes"], &seen["late_minutes"]), (&json!(45), &json!(0)));
        assert_eq!(seen["over_minutes"], 30);
        // More than the budget: the inspection is left.
        studio.pass_minutes(45);
        let owner = studio.owner();
        let seen = forecast(&owner, &job);
        assert_eq!((&seen["left_minutes"], &seen["expected"]), (&json!(15), &json!("2026-03-02T10:00:00Z")));
        // More work is agreed: two hours of polishing.
        owner.change_terms(&json!({ "call_tolerance": { "amount": "2000.00", "currency": "EUR" } }));
        let more = json!({ "reason": "Deep scratches.", "lines": [{ "item": { "service": "polish" } }] });
        let quote = booking["quote_id"].as_str().unwrap();
        let written = owner.post(&format!("/v1/quotes/{quote}/variations"), &more).expect(201);
        let path = format!("/v1/variations/{}", written["id"].as_str().unwrap());
        let yes = json!({ "digest": written["digest"], "name": "Aoife Byrne", "agreed": true, "early_start": true });
        let sent = owner.act(&format!("{path}/send"), "\"1\"", &json!({ "by_mail": false })).expect(200);
        let yes = with(yes, json!({ "digest": sent["digest"] }));
        owner.act(&format!("{path}/sign-off"), &format!("\"{}\"", sent["version"]), &yes).expect(200);
        assert_eq!(forecast(&owner, &job)["left_minutes"], 135);
        studio.stranger().get(&format!("/v1/jobs/{}/forecast", job["id"].as_str().unwrap())).problem(404, "not-found");
    });
}
