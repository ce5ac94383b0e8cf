//! Undoing what was done to a step, correcting its times, and ending a wait early.

use baywright_tests::answer::Answer;
use baywright_tests::make::booking::drying_menu;
use baywright_tests::make::shop::without;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

use super::{detail, text};
use crate::job::{act, arrived, pass};

fn step(studio: &Studio, job: &Value, code: &str) -> Value {
    let step = studio.owner().get(&format!("/v1/jobs/{}/steps/{code}", text(&job["id"]))).expect(200);
    without(&step, &["version"])
}

fn correct(who: &Person, job: &Value, code: &str, body: &Value) -> Answer {
    let path = format!("/v1/jobs/{}/steps/{code}", text(&job["id"]));
    let etag = who.get(&path).etag();
    let key: String = baywright_core::platform::ids::new();
    who.json("PUT", &format!("{path}/times"), &[("if-match", &etag), ("idempotency-key", &key)], body)
}

fn piece(who: &str, start: &str, finish: Option<&str>) -> Value {
    let time = |time: &str| format!("2026-03-02T{time}:00Z");
    json!({ "person_id": who, "start": time(start), "finish": finish.map(time) })
}

#[test]
fn every_move_of_a_step_is_undone_back_to_its_beginning() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        let me = json!({ "person_id": floor.polisher });
        let them = json!({ "person_id": floor.helper });
        let used = json!({ "used": [{ "product": "shampoo", "amount": "9500" }] });
        let moves =
            [("start", &me), ("start", &them), ("stop", &me), ("stop", &them), ("start", &me), ("finish", &used)];
        let words = ["START", "JOIN", "LEAVE", "STOP", "START", "FINISH"];
        let mut before = Vec::new();
        for ((verb, body), word) in moves.iter().zip(words) {
            let was = step(studio, &job, "wash");
            act(&owner, &job, "wash", verb, body).expect(200);
            before.push(was);
            assert_eq!(step(studio, &job, "wash")["last_move"], word);
        }
        assert_eq!(step(studio, &job, "wash")["used"][0]["amount"], "9500");
        for was in before.into_iter().rev() {
            act(&owner, &job, "wash", "undo", &json!({})).expect(200);
            assert_eq!(step(studio, &job, "wash"), was);
        }
        let problem = act(&owner, &job, "wash", "undo", &json!({})).problem(409, "nothing-to-undo");
        assert_eq!(detail(&problem), "The step is not begun, and there is nothing to undo.");
        let remove = json!({ "reason": "Clean already" });
        act(&owner, &job, "wash", "remove", &remove).expect(200);
        act(&owner, &job, "final", "start", &json!({})).expect(200);
        let problem = act(&owner, &job, "wash", "undo", &json!({})).problem(409, "undo-first");
        assert_eq!(detail(&problem), "Wash can't be undone: final began after it. Undo that first.");
        act(&owner, &job, "final", "undo", &json!({})).expect(200);
        let open = act(&owner, &job, "wash", "undo", &json!({})).expect(200);
        assert_eq!((&open["state"], &open["removal_reason"]), (&json!("OPEN"), &Value::Null));
    });
}

#[test]
fn a_finish_is_not_undone_while_whose_clock_ran_is_at_another_car() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, one) = arrived(studio, &["wash"]);
        let (_, two) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        let who = json!({ "person_id": floor.helper });
        act(&owner, &one, "wash", "start", &who).expect(200);
        act(&owner, &one, "wash", "finish", &json!({ "used": [] })).expect(200);
        act(&owner, &two, "wash", "start", &who).expect(200);
        let problem = act(&owner, &one, "wash", "undo", &json!({})).problem(409, "person-busy");
        assert!(detail(&problem).contains("wash on another car"), "{problem}");
        act(&owner, &two, "wash", "undo", &json!({})).expect(200);
        let running = act(&owner, &one, "wash", "undo", &json!({})).expect(200);
        assert_eq!((&running["state"], &running["pieces"][0]["finish"]), (&json!("RUNNING"), &Value::Null));
    });
}

#[test]
fn a_finish_is_not_undone_over_what_somebody_whose_clock_ran_has_done_since() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        studio.owner().publish_menu_with(&drying_menu("AFTER"), &json!({}));
        let (_, one) = arrived(studio, &["valet"]);
        let (_, two) = arrived(studio, &["valet"]);
        let who = json!({ "person_id": floor.helper });
        let mistake = json!({ "reason": "Tapped by mistake" });
        let works = |job: &Value, code: &str, verb: &str, body: &Value| {
            act(&studio.owner(), job, code, verb, body).expect(200);
            studio.pass_minutes(5);
        };
        works(&one, "polish", "start", &who);
        works(&one, "polish", "finish", &json!({ "used": [] }));
        let finished = step(studio, &one, "polish");
        // Once on a step of the same car, and once on another car; both are ended.
        for (job, name) in [(&one, "extract"), (&two, "extract on another car")] {
            works(job, "extract", "start", &who);
            works(job, "extract", "stop", &who);
            let owner = studio.owner();
            let problem = act(&owner, &one, "polish", "undo", &mistake).problem(409, "undo-first");
            assert!(detail(&problem).contains(&format!("has worked on {name} since")), "{problem}");
            assert_eq!(step(studio, &one, "polish"), finished);
            works(job, "extract", "undo", &mistake);
            works(job, "extract", "undo", &mistake);
        }
        works(&one, "polish", "undo", &mistake);
        let running = step(studio, &one, "polish");
        assert_eq!((&running["state"], &running["pieces"][0]["finish"]), (&json!("RUNNING"), &Value::Null));
        // Times as they are stored are accepted, so nothing overlaps.
        let body = json!({ "reason": "As it was", "pieces": running["pieces"] });
        correct(&studio.owner(), &one, "polish", &body).expect(200);
    });
}

#[test]
fn times_are_corrected_with_a_reason_and_all_that_cannot_be_is_named() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (booking, job) = arrived(studio, &["coating"]);
        let (_, other) = arrived(studio, &["wash"]);
        let owner = studio.owner();
        let helper = json!({ "person_id": floor.helper });
        act(&owner, &other, "wash", "start", &helper).expect(200);
        act(&owner, &job, "wash", "start", &json!({ "person_id": floor.polisher })).expect(200);
        studio.pass_minutes(120);
        let owner = studio.owner();
        act(&owner, &job, "wash", "finish", &json!({ "used": [] })).expect(200);
        let before = step(studio, &job, "wash");
        let pieces = json!([
            piece(&floor.polisher, "08:00", Some("08:30")),
            piece(&floor.polisher, "08:20", Some("08:40")),
            piece(&floor.polisher, "09:30", Some("09:10")),
            piece(&floor.helper, "09:00", Some("11:00")),
        ]);
        let problem = correct(&owner, &job, "wash", &json!({ "reason": "Lunch", "pieces": pieces }))
            .problem(422, "times-cannot-be");
        let faults: Vec<(&str, &str)> = problem["errors"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| (text(&one["pointer"]), text(&one["code"])))
            .collect();
        assert_eq!(
            faults,
            [
                ("/pieces/1", "overlaps"),
                ("/pieces/2/finish", "before_start"),
                ("/pieces/3/finish", "in_the_future"),
                ("/pieces/3", "overlaps"),
            ]
        );
        assert_eq!(step(studio, &job, "wash"), before);
        let right = json!([piece(&floor.polisher, "08:00", Some("08:45"))]);
        correct(&owner, &job, "wash", &json!({ "reason": " ", "pieces": right })).problem(400, "invalid-body");
        let nobody = json!([piece("0198c0de-0000-7000-8000-000000000001", "08:00", Some("08:45"))]);
        let problem = correct(&owner, &job, "wash", &json!({ "reason": "Lunch", "pieces": nobody }))
            .problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/pieces/0/person_id");
        // A technician corrects their own times, not a colleague's.
        let me = studio.person(&floor.polisher);
        let body = json!({ "reason": "Forgot to stop it", "pieces": right });
        let right = correct(&me, &job, "wash", &body).expect(200);
        assert_eq!((&right["actual_minutes"], &right["finished_at"]), (&json!(45), &json!("2026-03-02T08:45:00Z")));
        let theirs = json!([piece(&floor.helper, "07:00", Some("07:45"))]);
        correct(&me, &job, "wash", &json!({ "reason": "No", "pieces": theirs })).problem(403, "not-allowed");
        let path = format!("/v1/bookings/{}/amendments", text(&booking["id"]));
        let kept = owner.get(&path).expect(200)["items"].clone();
        assert_eq!(
            (&kept[0]["kind"], &kept[0]["step"], &kept[0]["reason"]),
            (&json!("TIMES_CORRECTED"), &json!("wash"), &json!("Forgot to stop it"))
        );
        assert_eq!(right["last_move"], "CORRECT");
        act(&owner, &job, "wash", "undo", &json!({})).expect(200);
        assert_eq!(step(studio, &job, "wash"), before);
    });
}

#[test]
fn nobody_was_at_a_step_before_the_car_came() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["wash"]);
        act(&studio.owner(), &job, "wash", "start", &json!({ "person_id": floor.polisher })).expect(200);
        studio.pass_minutes(30);
        let owner = studio.owner();
        act(&owner, &job, "wash", "finish", &json!({ "used": [] })).expect(200);
        let early = json!({ "reason": "Lunch", "pieces": [piece(&floor.polisher, "07:30", Some("08:20"))] });
        let problem = correct(&owner, &job, "wash", &early).problem(422, "times-cannot-be");
        let fault = &problem["errors"][0];
        assert_eq!((text(&fault["pointer"]), text(&fault["code"])), ("/pieces/0/start", "before_arrival"));
        for said in [text(&fault["detail"]), text(&problem["detail"])] {
            assert!(said.contains("before the car came, at Mon 2 March 2026, 08:00"), "{said}");
        }
        let right = json!({ "reason": "Lunch", "pieces": [piece(&floor.polisher, "08:00", Some("08:20"))] });
        assert_eq!(correct(&owner, &job, "wash", &right).expect(200)["actual_minutes"], 20);
    });
}

#[test]
fn a_coat_cures_from_its_corrected_end() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["coating"]);
        let owner = studio.owner();
        pass(&owner, &job, "wash");
        pass(&owner, &job, "machine");
        act(&owner, &job, "coat", "start", &json!({ "person_id": floor.polisher })).expect(200);
        studio.pass_minutes(90);
        let owner = studio.owner();
        let coated = act(&owner, &job, "coat", "finish", &json!({ "used": [] })).expect(200);
        assert_eq!(coated["clear_from"], "2026-03-02T21:30:00Z");
        let pieces = json!([piece(&floor.polisher, "08:00", Some("09:00"))]);
        let right = correct(&owner, &job, "coat", &json!({ "reason": "Tapped late", "pieces": pieces })).expect(200);
        assert_eq!((&right["clear_from"], &right["actual_minutes"]), (&json!("2026-03-02T21:00:00Z"), &json!(60)));
    });
}

#[test]
fn a_wait_is_ended_early_with_a_reason_and_that_is_undone_too() {
    on_each_engine(|studio| {
        studio.floor();
        let (booking, job) = arrived(studio, &["coating"]);
        let owner = studio.owner();
        for code in ["wash", "machine", "coat"] {
            pass(&owner, &job, code);
        }
        let before = step(studio, &job, "coat");
        act(&owner, &job, "final", "start", &json!({})).problem(409, "still-curing");
        let late = json!({ "reason": "Infrared lamp", "from": "2026-03-02T20:00:00Z" });
        act(&owner, &job, "coat", "end-wait", &late).problem(422, "wait-not-earlier");
        act(&owner, &job, "coat", "end-wait", &json!({ "reason": "" })).problem(400, "invalid-body");
        act(&owner, &job, "wash", "end-wait", &json!({ "reason": "Dry" })).problem(409, "not-curing");
        act(&owner, &job, "final", "end-wait", &json!({ "reason": "Dry" })).problem(409, "wrong-state");
        let soon = json!({ "reason": "Infrared lamp", "from": "2026-03-02T09:00:00Z" });
        let cured = act(&owner, &job, "coat", "end-wait", &soon).expect(200);
        assert_eq!(cured["clear_from"], "2026-03-02T09:00:00Z");
        act(&owner, &job, "final", "start", &json!({})).problem(409, "still-curing");
        let forecast = owner.get(&format!("/v1/jobs/{}/forecast", text(&job["id"]))).expect(200);
        assert_eq!(forecast["expected"], "2026-03-02T09:15:00Z");
        act(&owner, &job, "coat", "undo", &json!({})).expect(200);
        assert_eq!(step(studio, &job, "coat"), before);
        act(&owner, &job, "coat", "end-wait", &json!({ "reason": "Infrared lamp" })).expect(200);
        act(&owner, &job, "final", "start", &json!({})).expect(200);
        act(&owner, &job, "coat", "undo", &json!({})).problem(409, "undo-first");
        let path = format!("/v1/bookings/{}/amendments", text(&booking["id"]));
        let kinds: Vec<Value> =
            owner.get(&path).expect(200)["items"].as_array().unwrap().iter().map(|one| one["kind"].clone()).collect();
        assert_eq!(kinds, ["WAIT_ENDED", "UNDONE", "WAIT_ENDED"]);
    });
}
