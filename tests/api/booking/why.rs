//! Why the work is not done in time, and what would help.

use baywright_core::platform::identity::Role;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

fn asked(desk: &Person, quote: &str, by: &str) -> Value {
    desk.get(&format!("/v1/quotes/{quote}/availability?count=1&by={by}")).expect(200)
}

fn kinds(list: &Value) -> Vec<&str> {
    list.as_array().unwrap().iter().map(|one| one["kind"].as_str().unwrap()).collect()
}

#[test]
fn the_only_dust_free_bay_is_held_and_less_work_would_be_done_in_time() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let first = desk.book_first(&studio.signed_work(&["coating"]));
        assert_eq!((&first["finish"], &first["bay_id"]), (&json!("2026-03-03T08:15:00Z"), &json!(floor.best)));
        let quote = studio.signed_work(&["wash", "coating"]);
        let found = asked(&desk, &quote, "2026-03-03T18:00:00Z");
        assert_eq!(found["times"][0]["finish"], "2026-03-04T08:15:00Z");
        assert_eq!(
            found["reasons"],
            json!([{
                "kind": "BAY_HELD", "text": "Bay 1 is not free for long enough before Tue 3 March 2026, 08:15.",
                "step": null, "bay_id": floor.best, "until": "2026-03-03T08:15:00Z"
            }])
        );
        let suggestions = &found["suggestions"];
        assert_eq!(kinds(suggestions), ["LATER", "WITHOUT"]);
        assert_eq!(suggestions[0]["visits"][0], found["times"][0]);
        assert_eq!(
            (&suggestions[1]["without"], &suggestions[1]["visits"][0]["finish"]),
            (&json!("coating"), &json!("2026-03-02T09:15:00Z"))
        );
        // In time for Wednesday evening nothing need be said.
        let found = asked(&desk, &quote, "2026-03-04T18:00:00Z");
        assert_eq!((&found["reasons"], &found["suggestions"]), (&json!([]), &json!([])));
    });
}

#[test]
fn two_visits_are_offered_where_no_gap_is_long_enough_for_one() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        // Washes of 75 minutes leave gaps of 150, 135 and 135 minutes in either bay.
        for (bay, start) in
            [(&floor.best, "10:30"), (&floor.plain, "10:30"), (&floor.best, "14:00"), (&floor.plain, "14:00")]
        {
            let wash = studio.signed_work(&["wash"]);
            desk.place(&wash, bay, &format!("2026-03-02T{start}:00Z"), false).expect(201);
        }
        let polish = studio.signed_work(&["polish"]);
        let found = asked(&desk, &polish, "2026-03-02T17:30:00Z");
        assert_eq!(kinds(&found["reasons"]), ["BAY_HELD", "BAY_HELD"], "{found}");
        assert_eq!(found["reasons"][0]["until"], "2026-03-02T15:15:00Z");
        assert_eq!(kinds(&found["suggestions"]), ["LATER", "TWO_VISITS"], "{found}");
        let two = &found["suggestions"][1];
        assert_eq!(two["second_begins_with"], "machine");
        let stay = |at: usize| (two["visits"][at]["start"].clone(), two["visits"][at]["finish"].clone());
        let times =
            |from: &str, to: &str| (json!(format!("2026-03-02T{from}:00Z")), json!(format!("2026-03-02T{to}:00Z")));
        assert_eq!((stay(0), stay(1)), (times("08:00", "09:00"), times("11:45", "14:00")));
    });
}

#[test]
fn work_that_may_not_begin_within_the_withdrawal_period_waits_for_its_end() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        studio.signed_work(&["wash"]);
        let (customer, car) = owner.add_customer_with_car();
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "wash" } }] });
        let written = owner.write_quote(&id(&car), &draft).expect(201);
        let sent = owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        let yes =
            json!({ "digest": sent["latest"]["digest"], "name": "Aoife Byrne", "agreed": true, "early_start": false });
        let quote = id(&owner.move_quote(&sent, "sign-off", &yes).expect(200));
        // Signed on Monday the 2nd: fourteen days end with the 16th.
        assert_eq!(owner.times(&quote, 1)[0]["start"], "2026-03-17T08:00:00Z");
        let told = owner.place(&quote, &floor.plain, "2026-03-16T08:00:00Z", false).problem(422, "invalid-value");
        assert_eq!(told["errors"][0]["code"], "within_withdrawal", "{told}");
        owner.place(&quote, &floor.plain, "2026-03-17T08:00:00Z", true).expect(201);
        let preview = json!({ "days": 20, "quotes": [{ "quote_id": quote }] });
        assert_eq!(owner.post("/v1/rescheduling-previews", &preview).status, 422, "it is held a place already");
        assert!(customer["id"].is_string());
    });
}

#[test]
fn a_skill_that_nobody_has_and_a_feature_that_no_bay_has_are_told_at_once() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let bay = owner.add_bay("Bay 2", &[]);
        owner.add_technician("Orla Shea", &[]);
        let quote = studio.signed_work(&["coating"]);
        let found = owner.get(&format!("/v1/quotes/{quote}/availability")).expect(200);
        assert_eq!(found["times"], json!([]));
        assert_eq!(kinds(&found["reasons"]), ["NO_BAY", "NOBODY_ABLE"]);
        let said = |at: usize| found["reasons"][at]["text"].as_str().unwrap().to_owned();
        assert_eq!(said(0), "No bay in use has everything that the work needs: cover, dust-free.");
        assert_eq!((said(1).contains("correction"), &found["reasons"][1]["step"]), (true, &json!("machine")));
        assert_eq!(found["suggestions"], json!([]));
        // Somebody who can, at work from Wednesday on.
        let wash = studio.signed_work(&["wash"]);
        owner.away(
            owner.get("/v1/people").expect(200)["items"].as_array().unwrap().last().unwrap()["id"].as_str().unwrap(),
            "2026-03-02",
            "2026-03-04",
        );
        let found = asked(&owner, &wash, "2026-03-03T17:30:00Z");
        assert_eq!(kinds(&found["reasons"]), ["AWAY"], "{found}");
        assert_eq!(
            (&found["reasons"][0]["until"], kinds(&found["suggestions"])),
            (&json!("2026-03-04T08:00:00Z"), vec!["LATER"])
        );
        assert_eq!(found["times"][0]["bay_id"], id(&bay).as_str());
    });
}
