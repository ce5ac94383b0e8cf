//! Accounts, skills, shifts and absences over HTTP.

use baywright_core::platform::identity::Role;
use baywright_tests::make::people::body;
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

fn path(person: &Value) -> String {
    format!("/v1/people/{}", person["id"].as_str().unwrap())
}

#[test]
fn an_account_is_added_read_changed_and_listed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let niamh = owner.add_technician("Niamh", &["sanding", "machine-polishing"]);
        assert_eq!(niamh["skills"], json!(["machine-polishing", "sanding"]));
        assert_eq!((&niamh["active"], &niamh["has_password"]), (&json!(true), &json!(false)));
        assert_eq!(niamh["shifts"][4], json!({ "weekday": "FRIDAY", "from": "08:00", "until": "17:30" }));
        assert_eq!(owner.get(&path(&niamh)).expect(200), niamh);
        let mut next = body("Niamh", "DESK", &[]);
        let changed = owner.put(&path(&niamh), "\"1\"", &next).expect(200);
        assert_eq!((&changed["role"], &changed["shifts"]), (&json!("DESK"), &json!([])));
        owner.put(&path(&niamh), "\"1\"", &next).problem(412, "changed-meanwhile");
        next["email"] = json!("OWNER@example.com");
        let taken = owner.put(&path(&niamh), "\"2\"", &next).problem(422, "invalid-value");
        assert_eq!(taken["errors"][0]["pointer"], "/email");
        let list = owner.get("/v1/people").expect(200);
        assert_eq!(list["items"].as_array().map(Vec::len), Some(2));
        assert!(!list.to_string().contains("hash"), "{list}");
    });
}

#[test]
fn only_the_owner_changes_accounts() {
    on_each_engine(|studio| {
        let niamh = studio.owner().add_technician("Niamh", &[]);
        let desk = studio.colleague(Role::Desk);
        desk.get(&path(&niamh)).expect(200);
        desk.post("/v1/people", &body("Cian", "DESK", &[])).problem(403, "not-allowed");
        desk.put(&path(&niamh), "\"1\"", &body("Niamh", "OWNER", &[])).problem(403, "not-allowed");
        desk.act(&format!("{}/deactivate", path(&niamh)), "\"1\"", &json!({})).problem(403, "not-allowed");
        for role in [Role::Technician, Role::Accountant] {
            studio.colleague(role).get("/v1/people").problem(403, "not-allowed");
        }
        let stranger = studio.stranger();
        stranger.get(&path(&niamh)).problem(404, "not-found");
        stranger.put(&path(&niamh), "\"1\"", &body("Niamh", "OWNER", &[])).problem(404, "not-found");
        stranger.act(&format!("{}/deactivate", path(&niamh)), "\"1\"", &json!({})).problem(404, "not-found");
        stranger.get(&format!("{}/absences", path(&niamh))).problem(404, "not-found");
        studio.nobody().get("/v1/people").problem(401, "not-signed-in");
    });
}

#[test]
fn a_change_of_role_and_a_deactivation_count_at_once() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let cian = studio.colleague(Role::Desk);
        let found = cian.get("/v1/people").expect(200);
        let account = found["items"].as_array().unwrap().iter().find(|p| p["role"] == "DESK").unwrap().clone();
        owner.put(&path(&account), "\"1\"", &body("Cian", "TECHNICIAN", &[])).expect(200);
        cian.get("/v1/people").problem(403, "not-allowed");
        let gone = format!("{}/deactivate", path(&account));
        owner.act(&gone, "\"2\"", &json!({})).expect(200);
        cian.get("/v1/shop").problem(401, "not-signed-in");
        owner.act(&gone, "\"3\"", &json!({})).problem(409, "not-active");
        let back = format!("{}/reactivate", path(&account));
        assert_eq!(owner.act(&back, "\"3\"", &json!({})).expect(200)["active"], true);
        owner.act(&back, "\"4\"", &json!({})).problem(409, "already-active");
        cian.get("/v1/shop").problem(401, "not-signed-in");
    });
}

#[test]
fn the_shop_keeps_an_owner() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let me = owner.get("/v1/people").expect(200)["items"][0].clone();
        owner.put(&path(&me), "\"1\"", &body("Me", "DESK", &[])).problem(409, "last-owner");
        owner.act(&format!("{}/deactivate", path(&me)), "\"1\"", &json!({})).problem(409, "last-owner");
        owner.post("/v1/people", &body("Second", "OWNER", &[])).expect(201);
        owner.put(&path(&me), "\"1\"", &body("Me", "DESK", &[])).expect(200);
        owner.get("/v1/people").expect(200);
        owner.post("/v1/people", &body("Third", "OWNER", &[])).problem(403, "not-allowed");
    });
}

#[test]
fn absences_are_days_or_hours() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let niamh = owner.add_technician("Niamh", &[]);
        let absences = format!("{}/absences", path(&niamh));
        let desk = studio.colleague(Role::Desk);
        let days = desk.post(&absences, &json!({ "first_day": "2026-07-06", "last_day": "2026-07-17" }));
        let location = days.header("location").to_owned();
        let days = days.expect(201);
        assert_eq!(
            (&days["first_day"], &days["last_day"], &days["from_at"]),
            (&json!("2026-07-06"), &json!("2026-07-17"), &Value::Null)
        );
        let hours =
            json!({ "from_at": "2026-07-06T08:00:00+01:00", "until_at": "2026-07-06T10:00:00Z", "note": "dentist" });
        let changed = desk.put(&location, "\"1\"", &hours).expect(200);
        assert_eq!((&changed["first_day"], &changed["from_at"]), (&Value::Null, &json!("2026-07-06T07:00:00Z")));
        assert_eq!(desk.get(&location).expect(200), changed);
        desk.put(&location, "\"1\"", &hours).problem(412, "changed-meanwhile");
        for wrong in [
            json!({}),
            json!({ "first_day": "2026-07-06" }),
            json!({ "first_day": "2026-07-06", "last_day": "2026-07-05" }),
            json!({ "first_day": "2026-07-06", "until_at": "2026-07-06T10:00:00Z" }),
            json!({ "from_at": "2026-07-06T10:00:00Z", "until_at": "2026-07-06T10:00:59Z" }),
        ] {
            desk.post(&absences, &wrong).problem(422, "invalid-value");
        }
        assert_eq!(desk.get(&absences).expect(200)["items"], json!([changed]));
        studio.stranger().get(&location).problem(404, "not-found");
        let other = owner.add_technician("Cian", &[]);
        let wrong_person = location.replace(niamh["id"].as_str().unwrap(), other["id"].as_str().unwrap());
        desk.get(&wrong_person).problem(404, "not-found");
        studio.colleague(Role::Technician).get(&location).problem(403, "not-allowed");
        desk.send("DELETE", &location, &[("if-match", "\"2\"")], None).expect(204);
        desk.get(&location).problem(404, "not-found");
    });
}

#[test]
fn one_day_off_names_one_day_and_the_same_absence_twice_is_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let niamh = owner.add_technician("Niamh", &[]);
        let absences = format!("{}/absences", path(&niamh));
        let day = json!({ "first_day": "2026-07-06", "last_day": "2026-07-06" });
        let off = owner.post(&absences, &day).expect(201);
        assert_eq!((&off["first_day"], &off["last_day"]), (&json!("2026-07-06"), &json!("2026-07-06")));
        let problem = owner.post(&absences, &day).problem(409, "absence-twice");
        assert!(problem["detail"].as_str().unwrap().contains(off["id"].as_str().unwrap()), "{problem}");
        // A longer one, and a doctor's visit on that day, overlap it: that may be meant.
        for overlapping in [
            json!({ "first_day": "2026-07-05", "last_day": "2026-07-06" }),
            json!({ "from_at": "2026-07-06T08:00:00Z", "until_at": "2026-07-06T09:00:00Z" }),
        ] {
            assert_eq!(
                owner.post(&absences, &overlapping).warnings().first().map(String::as_str),
                Some("absence-overlaps")
            );
        }
        let next = owner.post(&absences, &json!({ "first_day": "2026-07-07", "last_day": "2026-07-07" }));
        assert_eq!(next.warnings(), [""; 0]);
        let next = next.expect(201);
        // As itself it may stay, as another one not.
        let place = format!("{absences}/{}", next["id"].as_str().unwrap());
        owner.put(&place, "\"1\"", &json!({ "first_day": "2026-07-07", "last_day": "2026-07-07" })).expect(200);
        owner.put(&place, "\"2\"", &day).problem(409, "absence-twice");
        // A colleague may be away on the same day.
        let other = owner.add_technician("Cian", &[]);
        owner.post(&format!("{}/absences", path(&other)), &day).expect(201);
        // Words that an older client would use are refused, and not read as something else.
        owner.post(&absences, &json!({ "from": "2026-07-08", "until": "2026-07-09" })).problem(400, "invalid-body");
    });
}
