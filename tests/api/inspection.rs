//! Inspections over HTTP.

use baywright_core::platform::identity::Role;
use baywright_tests::make::inspection::body;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

fn car(studio: &Studio) -> String {
    let (_, vehicle) = studio.owner().add_customer_with_car();
    vehicle["id"].as_str().unwrap().to_owned()
}

#[test]
fn findings_and_readings_give_condition_and_statistics_with_their_reasons() {
    on_each_engine(|studio| {
        let technician = studio.colleague(Role::Technician);
        let vehicle = car(studio);
        let photo = technician.add_photo();
        let mut sent = body(&vehicle);
        sent["findings"][0]["photo_ids"] = json!([photo["id"]]);
        sent["photo_ids"] = json!([photo["id"]]);
        let made = technician.post("/v1/inspections", &sent);
        let location = made.header("location").to_owned();
        let view = made.expect(201);
        assert_eq!((&view["state"], &view["stage"]), (&json!("DRAFT"), &json!("BEFORE_WORK")));
        assert_eq!(view["condition"]["class"], "FAIR");
        assert_eq!(view["condition"]["factor"], "1");
        let reasons = view["condition"]["reasons"].to_string();
        assert!(reasons.contains("swirl marks on bonnet") && reasons.contains("Soil is grade 2"), "{reasons}");
        assert_eq!(view["findings"][0]["photo_ids"], json!([photo["id"]]));
        assert_eq!((&view["photo_ids"], &view["findings"][2]["adds_work"]), (&json!([photo["id"]]), &json!(false)));
        // Mean 494 / 4 = 123.5, sum of squares 101, 101 / 3 = 33.67, root 5.80; by hand.
        assert_eq!(
            view["readings"][0],
            json!({ "panel": "BONNET", "micrometres": [120, 118, 125, 131], "min": 118, "max": 131, "mean": "123.5",
                    "spread": 13, "deviation": "5.8" })
        );
        assert_eq!(technician.get(&location).expect(200), view);
        let done = technician.json("POST", &format!("{location}/complete"), &[("if-match", "\"1\"")], &json!({}));
        let done = done.expect(200);
        assert_eq!((&done["state"], &done["version"]), (&json!("COMPLETED"), &json!(2)));
        assert_eq!(done["completed_at"], "2026-03-02T08:00:00Z");
        assert_eq!(done["condition"], view["condition"]);
        technician.put(&location, "\"2\"", &sent).problem(409, "wrong-state");
        let again = technician.json("POST", &format!("{location}/complete"), &[("if-match", "\"2\"")], &json!({}));
        again.problem(409, "wrong-state");
        let list = technician.get(&format!("/v1/inspections?vehicle_id={vehicle}&state=COMPLETED")).expect(200);
        assert_eq!((&list["items"][0]["id"], &list["items"][0]["condition_class"]), (&view["id"], &json!("FAIR")));
        assert_eq!(technician.get("/v1/inspections?state=DRAFT").expect(200)["items"], json!([]));
    });
}

#[test]
fn a_draft_is_replaced_whole() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let vehicle = car(studio);
        let made = owner.post("/v1/inspections", &body(&vehicle));
        let location = made.header("location").to_owned();
        let less = json!({ "vehicle_id": vehicle, "soil_grade": 4, "contamination_grade": 0 });
        let changed = owner.put(&location, "\"1\"", &less).expect(200);
        assert_eq!((&changed["findings"], &changed["readings"]), (&json!([]), &json!([])));
        assert_eq!(changed["condition"]["class"], "SEVERE");
        assert_eq!(changed["condition"]["factor"], "1.7");
        owner.put(&location, "\"1\"", &less).problem(412, "changed-meanwhile");
        let other = car(studio);
        let moved =
            owner.put(&location, "\"2\"", &json!({ "vehicle_id": other, "soil_grade": 0, "contamination_grade": 0 }));
        assert_eq!(moved.problem(422, "invalid-value")["errors"][0]["pointer"], "/vehicle_id");
    });
}

fn says_safe(view: &Value) -> bool {
    let words = view.to_string().to_lowercase();
    ["safe", "all-clear", "no risk", "harmless"].iter().any(|word| words.contains(word))
}

#[test]
fn thin_paint_asks_for_the_owners_recorded_decision_and_nothing_ever_says_safe() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let vehicle = car(studio);
        let mut sent = body(&vehicle);
        let plain = owner.post("/v1/inspections", &sent).expect(201);
        assert_eq!(plain["paint"]["owner_decision_needed"], false);
        assert!(plain["paint"]["note"].as_str().unwrap().contains("can't tell how much clear coat is left"));
        assert!(!says_safe(&plain), "{plain}");
        sent["readings"][0]["micrometres"] = json!([120, 60, 125]);
        let made = owner.post("/v1/inspections", &sent);
        let location = made.header("location").to_owned();
        let thin = made.expect(201);
        assert_eq!(
            (&thin["paint"]["warnings"][0]["code"], &thin["paint"]["warnings"][0]["panel"]),
            (&json!("thin"), &json!("BONNET"))
        );
        assert_eq!((&thin["paint"]["owner_decision_needed"], &thin["paint"]["decision"]), (&json!(true), &json!(null)));
        assert!(thin["cautions"].to_string().contains("ask the owner"), "{}", thin["cautions"]);
        assert!(!says_safe(&thin), "{thin}");
        let decide = format!("{location}/paint-decision");
        let yes = json!({ "go_ahead": true, "reason": "By hand, one pass." });
        for role in [Role::Desk, Role::Technician] {
            studio.colleague(role).act(&decide, "\"1\"", &yes).problem(403, "not-allowed");
        }
        owner.act(&decide, "\"1\"", &json!({ "go_ahead": true, "reason": " " })).problem(400, "invalid-body");
        let decided = owner.act(&decide, "\"1\"", &yes).expect(200);
        assert_eq!((&decided["paint"]["decision"]["go_ahead"], &decided["version"]), (&json!(true), &json!(2)));
        let no = json!({ "go_ahead": false, "reason": "Too thin after all." });
        let decided = owner.act(&decide, "\"2\"", &no).expect(200);
        assert_eq!(decided["paint"]["decision"]["reason"], "Too thin after all.");
        // Other readings ask anew; the same ones keep the decision.
        let kept = owner.put(&location, "\"3\"", &sent).expect(200);
        assert_eq!(kept["paint"]["decision"]["go_ahead"], false);
        sent["readings"][0]["micrometres"] = json!([120, 61, 125]);
        let asked = owner.put(&location, "\"4\"", &sent).expect(200);
        assert_eq!(asked["paint"]["decision"], json!(null));
        let nothing = format!("/v1/inspections/{}/paint-decision", plain["id"].as_str().unwrap());
        owner.act(&nothing, "\"1\"", &yes).problem(409, "nothing-to-decide");
    });
}

#[test]
fn bad_values_are_pointed_at() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let vehicle = car(studio);
        let nobody = "0198c0de-0000-7000-8000-000000000001";
        let reading = |micrometres: Value| json!([{ "panel": "ROOF", "micrometres": micrometres }]);
        for (field, value, status, pointer) in [
            ("vehicle_id", json!(nobody), 422, "/vehicle_id"),
            ("soil_grade", json!(5), 422, "/soil_grade"),
            ("contamination_grade", json!(-1), 400, "/contamination_grade"),
            ("odometer", json!(10_000_000), 422, "/odometer"),
            ("readings", reading(json!([0])), 422, "/readings/0/micrometres"),
            ("readings", reading(json!([])), 422, "/readings/0/micrometres"),
            ("readings", reading(json!(vec![100; 51])), 422, "/readings/0/micrometres"),
            ("readings", json!([reading(json!([100]))[0], reading(json!([100]))[0]]), 422, "/readings/1/panel"),
            ("photo_ids", json!([nobody]), 422, "/photo_ids/0"),
            (
                "findings",
                json!([{ "panel": "ROOF", "kind": "SWIRLS", "severity": "MINOR", "photo_ids": [nobody] }]),
                422,
                "/findings/0/photo_ids/0",
            ),
            ("findings", json!([{ "panel": "WING", "kind": "SWIRLS", "severity": "MINOR" }]), 400, "/findings/0/panel"),
            (
                "findings",
                json!(vec![json!({ "panel": "ROOF", "kind": "SWIRLS", "severity": "MINOR" }); 201]),
                422,
                "/findings",
            ),
        ] {
            let mut sent = body(&vehicle);
            sent[field] = value;
            let problem = owner.post("/v1/inspections", &sent).expect(status);
            assert_eq!(problem["errors"][0]["pointer"], pointer, "{problem}");
        }
    });
}

#[test]
fn another_shop_sees_nothing_and_its_photographs_cannot_be_named() {
    on_each_engine(|studio| {
        let vehicle = car(studio);
        let made = studio.owner().inspect(&vehicle);
        let location = format!("/v1/inspections/{}", made["id"].as_str().unwrap());
        let stranger = studio.stranger();
        stranger.get(&location).problem(404, "not-found");
        stranger.put(&location, "\"2\"", &body(&vehicle)).problem(404, "not-found");
        stranger.act(&format!("{location}/complete"), "\"2\"", &json!({})).problem(404, "not-found");
        stranger.post("/v1/inspections", &body(&vehicle)).problem(422, "invalid-value");
        assert_eq!(stranger.get("/v1/inspections").expect(200)["items"], json!([]));
        let theirs = stranger.add_photo();
        let mut sent = body(&vehicle);
        sent["photo_ids"] = json!([theirs["id"]]);
        studio.owner().post("/v1/inspections", &sent).problem(422, "invalid-value");
        studio.colleague(Role::Accountant).get(&location).problem(403, "not-allowed");
    });
}
