//! Tablets beside the bays and people's digits, over the API; `pages/bay.rs` signs in with them.

use baywright_core::platform::identity::Role;
use baywright_tests::on_each_engine;
use serde_json::json;

#[test]
fn the_owner_adds_lists_and_ends_tablets() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let added = owner.post("/v1/tablets", &json!({ "name": "By the sink" })).expect(200);
        assert_eq!((&added["idle_minutes"], &added["enrolled_at"]), (&json!(10), &json!(null)));
        let code = added["code"].as_str().unwrap();
        assert_eq!((code.len(), code.matches('-').count()), (14, 2), "{code}");
        owner.post("/v1/tablets", &json!({ "name": "At the door", "idle_minutes": 5 })).problem(400, "invalid-body");
        let list = owner.get("/v1/tablets").expect(200);
        assert_eq!(list["items"].as_array().map(Vec::len), Some(1));
        assert!(!list.to_string().contains(code), "the code is shown once");
        let end = format!("/v1/tablets/{}/end", added["id"].as_str().unwrap());
        owner.act(&end, "\"7\"", &json!(null)).problem(412, "changed-meanwhile");
        let ended = owner.act(&end, "\"1\"", &json!(null)).expect(200);
        assert!(ended["ended_at"].is_string() && ended["code_ends_at"].is_null(), "{ended}");
        owner.act(&end, "\"2\"", &json!(null)).problem(409, "not-active");
        assert_eq!(owner.get("/v1/tablets").expect(200)["items"], json!([]));
        // Neither the code nor the digits are kept as they are.
        assert!(studio.every_row().iter().all(|(_, row)| !row.contains(code)));
    });
}

#[test]
fn digits_are_chosen_by_their_person_or_the_owner_and_are_not_easily_guessed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let who = studio.hire(Role::Technician);
        let me = studio.person(who.as_str());
        for bad in ["1234", "7777", "407", "40711", "4o71"] {
            let problem = me.post("/v1/me/tablet-digits", &json!({ "digits": bad })).problem(422, "bad-digits");
            assert_eq!(problem["errors"][0]["pointer"], "/digits");
        }
        assert_eq!(me.post("/v1/me/tablet-digits", &json!({ "digits": "4071" })).status, 204);
        let of_person = format!("/v1/people/{who}/tablet-digits");
        me.post(&of_person, &json!({ "digits": "4072" })).problem(403, "not-allowed");
        assert_eq!(owner.post(&of_person, &json!({ "digits": "4072" })).status, 204);
        let digests = || studio.every_row().into_iter().filter(|(table, _)| table == "tablet_digits").count();
        assert_eq!(digests(), 1);
        assert_eq!(owner.post(&of_person, &json!({ "digits": null })).status, 204);
        assert_eq!(digests(), 0);
        let accountant = format!("/v1/people/{}/tablet-digits", studio.hire(Role::Accountant));
        owner.post(&accountant, &json!({ "digits": "4071" })).problem(409, "no-work-on-cars");
    });
}
