//! Calendar feeds: one diary behind a secret link.

use baywright_core::platform::identity::Role;
use baywright_tests::make::quote::id;
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

/// Where the feed of an answer is read.
fn path(made: &Value) -> String {
    let url = made["url"].as_str().unwrap();
    url[url.find("/feeds/").unwrap()..].to_owned()
}

/// The values of a property in a file whose lines have been joined again.
fn values(file: &str, name: &str) -> Vec<String> {
    let whole = file.replace("\r\n ", "");
    let found = whole.split("\r\n").filter_map(|line| line.strip_prefix(name)?.strip_prefix(':').map(str::to_owned));
    found.collect()
}

#[test]
fn a_bays_feed_has_what_stands_in_it_and_names_no_customer() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let booking = desk.book_first(&studio.signed_work(&["coating"]));
        assert_eq!(booking["bay_id"], floor.best.as_str());
        let made = desk.post("/v1/calendar-feeds", &json!({ "bay_id": floor.best })).expect(200);
        let file = studio.nobody().get(&path(&made));
        assert_eq!((file.status, file.header("content-type")), (200, "text/calendar; charset=utf-8"));
        assert_eq!(values(&file.text, "UID"), [id(&booking)]);
        let stamp = |at: &Value| at.as_str().unwrap().replace(['-', ':'], "");
        assert_eq!(values(&file.text, "DTSTART"), [stamp(&booking["start"])]);
        assert_eq!(values(&file.text, "DTEND"), [stamp(&booking["finish"])]);
        assert_eq!(values(&file.text, "STATUS"), ["CONFIRMED"]);
        assert!(values(&file.text, "NAME")[0].starts_with("Bay 1"), "{}", file.text);
        assert!(!file.text.contains(booking["customer_name"].as_str().unwrap()), "{}", file.text);
        // The same as long as nothing changes, and without the booking once it is called off.
        assert_eq!(studio.nobody().get(&path(&made)).text, file.text);
        desk.move_booking(&booking, "cancel", &json!({ "reason": "Ill" })).expect(200);
        assert_eq!(values(&studio.nobody().get(&path(&made)).text, "UID"), Vec::<String>::new());
    });
}

#[test]
fn a_persons_feed_has_each_piece_of_their_work() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let desk = studio.colleague(Role::Desk);
        let booking = desk.book_first(&studio.signed_work(&["polish"]));
        let mine = desk.post("/v1/calendar-feeds", &json!({ "person_id": floor.polisher })).expect(200);
        let file = studio.nobody().get(&path(&mine));
        let shown = desk.get(&format!("/v1/bookings/{}", id(&booking))).expect(200);
        let theirs =
            shown["pieces"].as_array().unwrap().iter().filter(|piece| piece["person_id"] == floor.polisher.as_str());
        let starts: Vec<String> =
            theirs.map(|piece| piece["start"].as_str().unwrap().replace(['-', ':'], "")).collect();
        assert!(!starts.is_empty());
        assert_eq!(values(&file.text, "DTSTART"), starts, "{}", file.text);
        assert!(values(&file.text, "LOCATION").iter().all(|bay| bay.starts_with("Bay ")), "{}", file.text);
        assert!(file.text.contains("SUMMARY:machine: "), "{}", file.text);
    });
}

#[test]
fn a_feed_ends_when_it_is_taken_back_and_when_its_person_leaves() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let owner = studio.owner();
        let bay = owner.post("/v1/calendar-feeds", &json!({ "bay_id": floor.plain })).expect(200);
        let person = owner.post("/v1/calendar-feeds", &json!({ "person_id": floor.helper })).expect(200);
        let listed = owner.get("/v1/calendar-feeds").expect(200);
        assert_eq!(listed["items"].as_array().unwrap().len(), 2);
        assert!(!listed.to_string().contains(path(&bay).split(['/', '.']).nth(2).unwrap()), "the secret is told once");
        let revoke = format!("/v1/calendar-feeds/{}/revoke", id(&bay));
        studio.stranger().post(&revoke, &json!({})).problem(404, "not-found");
        studio.colleague(Role::Technician).post(&revoke, &json!({})).problem(403, "not-allowed");
        assert!(owner.post(&revoke, &json!({})).expect(200)["revoked_at"].is_string());
        studio.nobody().get(&path(&bay)).problem(410, "link-ended");
        assert_eq!(studio.nobody().get(&path(&person)).status, 200);
        let account = format!("/v1/people/{}", floor.helper);
        owner.act(&format!("{account}/deactivate"), &owner.get(&account).etag(), &json!({})).expect(200);
        studio.nobody().get(&path(&person)).problem(410, "link-ended");
        for secret in ["x", &"A".repeat(43)] {
            studio.nobody().get(&format!("/feeds/{secret}.ics")).problem(404, "not-found");
        }
        for body in [json!({}), json!({ "bay_id": floor.plain, "person_id": floor.helper })] {
            owner.post("/v1/calendar-feeds", &body).problem(422, "invalid-value");
        }
        studio.stranger().post("/v1/calendar-feeds", &json!({ "bay_id": floor.plain })).problem(422, "invalid-value");
    });
}
