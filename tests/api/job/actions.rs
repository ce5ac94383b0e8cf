//! Moves of steps that are told later, with their times: one by one, and as lists.

use baywright_core::platform::identity::Role;
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

use super::{act, arrived};

/// A move of a list; the car came at 08:00.
fn told(key: &str, step: &str, action: &str, at: &str) -> Value {
    json!({ "key": key, "step": step, "action": action, "at": format!("2026-03-02T{at}:00Z") })
}

fn results(answer: &Value) -> Vec<(bool, bool, String)> {
    let all = answer["results"].as_array().unwrap().iter();
    let code = |one: &Value| one["refusal"]["code"].as_str().unwrap_or_default().to_owned();
    all.map(|one| (one["done"] == true, one["repeated"] == true, code(one))).collect()
}

#[test]
fn a_list_is_made_in_order_with_its_times_and_counts_once_however_often_it_is_sent() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (_, job) = arrived(studio, &["wash"]);
        studio.pass_minutes(60);
        let path = format!("/v1/jobs/{}/actions", job["id"].as_str().unwrap());
        let list = json!({ "actions": [
            told("a", "wash", "START", "08:05"),
            told("b", "wash", "STOP", "08:20"),
            told("c", "wash", "START", "08:30"),
            told("d", "wash", "FINISH", "08:40"),
            told("e", "final", "START", "08:39"),
            told("f", "final", "START", "08:41"),
        ] });
        let me = studio.person(&floor.polisher);
        let done = (true, false, String::new());
        let refused = (false, false, "times-cannot-be".to_owned());
        let first = me.post(&path, &list).expect(200);
        let wanted = [done.clone(), done.clone(), done.clone(), done.clone(), refused.clone(), done];
        assert_eq!(results(&first), wanted);
        let fault = &first["results"][4]["refusal"]["errors"][0];
        assert_eq!((&fault["pointer"], &fault["code"]), (&json!("/at"), &json!("before_last_piece")));
        // Each counts once, under whatever key the list itself is sent.
        let again = me.post(&path, &list).expect(200);
        let repeated = (true, true, String::new());
        let wanted = [repeated.clone(), repeated.clone(), repeated.clone(), repeated.clone(), refused, repeated];
        assert_eq!(results(&again), wanted);
        let wash = &again["job"]["steps"][0];
        assert_eq!((&wash["state"], &wash["actual_minutes"]), (&json!("FINISHED"), &json!(25)));
        assert_eq!(wash["finished_at"], "2026-03-02T08:40:00Z");
        let running = &again["job"]["steps"][1];
        assert_eq!(
            (&running["state"], &running["pieces"][0]["start"]),
            (&json!("RUNNING"), &json!("2026-03-02T08:41:00Z"))
        );
        // A key of another move is refused, and so is a colleague's work told by a technician.
        let other = json!({ "actions": [
            told("a", "final", "STOP", "08:50"),
            { "key": "g", "step": "final", "action": "STOP", "person_id": floor.helper },
            { "key": "h", "step": "none", "action": "STOP" },
        ] });
        let codes: Vec<String> =
            results(&me.post(&path, &other).expect(200)).into_iter().map(|(_, _, code)| code).collect();
        assert_eq!(codes, ["idempotency-key-reused", "not-allowed", "not-found"]);
        studio.colleague(Role::Technician).post(&path, &list).problem(403, "not-allowed");
        let early = json!({ "actions": [{ "key": "i", "step": "final", "action": "START",
            "used": [{ "product": "shampoo", "amount": "1" }] }] });
        let problem = me.post(&path, &early).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/actions/0/used");
    });
}

#[test]
fn one_move_is_told_with_a_time_that_can_be_right() {
    on_each_engine(|studio| {
        studio.floor();
        let (_, job) = arrived(studio, &["coating"]);
        studio.pass_minutes(60);
        let owner = studio.owner();
        let owner_at = |step: &str, verb: &str, at: &str| {
            let mut body = json!({ "at": format!("2026-03-02T{at}:00Z") });
            if verb == "finish" {
                body["used"] = json!([]);
            }
            act(&owner, &job, step, verb, &body)
        };
        for (at, code) in [("07:59", "before_arrival"), ("09:03", "in_the_future")] {
            let problem = owner_at("wash", "start", at).problem(422, "times-cannot-be");
            assert_eq!(problem["errors"][0]["code"], code, "{problem}");
        }
        owner_at("wash", "start", "08:10").expect(200);
        owner_at("wash", "stop", "08:09").problem(422, "times-cannot-be");
        owner_at("wash", "finish", "08:30").expect(200);
        owner_at("machine", "start", "08:30").expect(200);
        owner_at("machine", "finish", "08:50").expect(200);
        owner_at("coat", "start", "08:50").expect(200);
        // It cures from its true end.
        let coat = owner_at("coat", "finish", "08:55").expect(200);
        assert_eq!(coat["clear_from"], "2026-03-02T20:55:00Z");
        act(&owner, &job, "coat", "undo", &json!({})).expect(200);
        // The clock of the device is a minute ahead.
        let coat = owner_at("coat", "stop", "09:01").expect(200);
        assert_eq!(coat["pieces"][0]["finish"], "2026-03-02T09:00:00Z");
    });
}
