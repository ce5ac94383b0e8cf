//! Work that removes paint, on a car whose readings are beyond the shop's limits.

use baywright_tests::make::inspection::body;
use baywright_tests::make::menu::with;
use baywright_tests::make::quote::{draft, id, tag};
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

use crate::job::{act, pass};

/// A car whose bonnet reads 60 µm at one spot, with the completed inspection.
fn thin(studio: &Studio) -> (String, Value) {
    let owner = studio.owner();
    owner.publish_small_menu();
    let (_, vehicle, _) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
    let read = json!([{ "panel": "BONNET", "micrometres": [60, 120, 125] }]);
    let seen = owner.inspect_with(&with(body(&id(&vehicle)), json!({ "readings": read })));
    (id(&vehicle), seen)
}

fn decide(owner: &Person, inspection: &Value, go_ahead: bool) -> Value {
    let path = format!("/v1/inspections/{}", id(inspection));
    let etag = owner.get(&path).etag();
    let decision = json!({ "go_ahead": go_ahead, "reason": "Looked at it by the lamp" });
    owner.act(&format!("{path}/paint-decision"), &etag, &decision).expect(200)
}

const READS: &str = "bonnet reads 60 µm, below the studio's floor of 100 µm";

#[test]
fn work_on_thin_paint_is_offered_only_once_the_owner_has_decided() {
    on_each_engine(|studio| {
        let (vehicle, seen) = thin(studio);
        let owner = studio.owner();
        let offer = |required: &[&str], optional: &[&str]| {
            let written = owner.write_quote(&vehicle, &draft(&id(&seen), required, optional)).expect(201);
            (owner.move_quote(&written, "send", &json!({})), written)
        };
        offer(&["coating"], &[]).0.expect(200);
        for (required, optional) in
            [(&["correction-two-step"][..], &[][..]), (&["maintenance-wash"], &["correction-two-step"])]
        {
            let (refused, written) = offer(required, optional);
            let problem = refused.problem(409, "owner-decision-needed");
            let detail = problem["detail"].as_str().unwrap();
            assert!(detail.contains(READS), "{detail}");
            assert!(detail.to_lowercase().starts_with("correction two step takes paint away"), "{detail}");
            assert!(detail.contains("decision recorded on the inspection, or leave the work out"), "{detail}");
            let path = format!("/v1/quotes/{}", id(&written));
            assert_eq!(owner.get(&path).expect(200)["latest"]["state"], "DRAFT");
        }
        decide(&owner, &seen, false);
        let (refused, written) = offer(&["correction-two-step"], &[]);
        refused.problem(409, "owner-decided-against");
        // Saying the condition instead of naming the inspection doesn't lead round it.
        let unnamed = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "correction-two-step" } }] });
        let unnamed = owner.write_quote(&vehicle, &unnamed).expect(201);
        owner.move_quote(&unnamed, "send", &json!({})).problem(409, "owner-decided-against");
        // Nor does another look at the car that reads nothing, or another panel.
        for read in [json!([]), json!([{ "panel": "ROOF", "micrometres": [120, 121, 122] }])] {
            owner.inspect_with(&with(body(&vehicle), json!({ "readings": read })));
            owner.move_quote(&unnamed, "send", &json!({})).problem(409, "owner-decided-against");
        }
        decide(&owner, &seen, true);
        let sent = owner.move_quote(&written, "send", &json!({})).expect(200);
        let cautions = sent["latest"]["document"]["cautions"].to_string();
        assert!(
            cautions.contains(READS) && cautions.contains("has decided that we can still work on the paint"),
            "{cautions}"
        );
        assert!(!cautions.contains("by the lamp"), "the owner's reason is the studio's own: {cautions}");
        let token = studio.token_mailed_to("aoife@example.com");
        assert!(studio.owner().get(&format!("/q/{token}")).text.contains("bonnet reads 60 µm"));
        let plain = offer(&["coating"], &[]).0.expect(200);
        assert!(!plain["latest"]["document"]["cautions"].to_string().contains("60 µm"));
    });
}

#[test]
fn a_reading_after_the_wash_stops_the_step_and_the_variation_that_would_take_paint_away() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, vehicle, first) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let written = owner.write_quote(&id(&vehicle), &draft(&id(&first), &["correction-two-step"], &[]));
        let sent = owner.move_quote(&written.expect(201), "send", &json!({})).expect(200);
        let quote = owner.note_yes(&sent, &[]).expect(200);
        let booking = owner.book_first(&id(&quote));
        owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let jobs = owner.get("/v1/jobs").expect(200);
        let job = owner.get(&format!("/v1/jobs/{}", jobs["items"][0]["id"].as_str().unwrap())).expect(200);
        for code in ["wheels", "wash", "iron", "clay", "inspect"] {
            pass(&owner, &job, code);
        }
        let read = json!([{ "panel": "BONNET", "micrometres": [60, 120, 125] }]);
        let body = with(body(&id(&vehicle)), json!({ "stage": "AFTER_WASH", "readings": read }));
        let seen = owner.inspect_with(&body);
        let detail = act(&owner, &job, "compound", "start", &json!({})).problem(409, "owner-decision-needed");
        let detail = detail["detail"].as_str().unwrap();
        assert!(detail.contains(READS) && detail.contains("remove the step"), "{detail}");
        let more = json!({
            "reason": "Deep scratches.", "inspection_id": id(&seen), "dropped": [0],
            "lines": [{ "item": { "service": "correction-two-step" } }]
        });
        let more = owner.post(&format!("/v1/quotes/{}/variations", id(&quote)), &more).expect(201);
        let path = format!("/v1/variations/{}/send", id(&more));
        owner.act(&path, &tag(&more), &json!({})).problem(409, "owner-decision-needed");
        decide(&owner, &seen, true);
        let sent = owner.act(&path, &tag(&more), &json!({})).expect(200);
        assert!(sent["document"]["cautions"].to_string().contains(READS), "{sent}");
        act(&owner, &job, "compound", "start", &json!({})).expect(200);
    });
}

#[test]
fn a_step_that_takes_paint_away_from_a_car_without_readings_starts_with_a_warning() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, vehicle) = owner.add_customer_with_car();
        let seen = owner.inspect_with(&with(body(&id(&vehicle)), json!({ "readings": [] })));
        let written = owner.write_quote(&id(&vehicle), &draft(&id(&seen), &["correction-two-step"], &[]));
        let sent = owner.move_quote(&written.expect(201), "send", &json!({ "by_mail": false })).expect(200);
        let quote = owner.note_yes(&sent, &[]).expect(200);
        let booking = owner.book_first(&id(&quote));
        owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let jobs = owner.get("/v1/jobs").expect(200);
        let job = owner.get(&format!("/v1/jobs/{}", jobs["items"][0]["id"].as_str().unwrap())).expect(200);
        for code in ["wheels", "wash", "iron", "clay", "inspect"] {
            pass(&owner, &job, code);
        }
        let started = act(&owner, &job, "compound", "start", &json!({}));
        assert_eq!(started.warnings(), ["paint-not-measured"]);
        started.expect(200);
        // It was said once.
        act(&owner, &job, "compound", "stop", &json!({})).expect(200);
        assert_eq!(act(&owner, &job, "compound", "start", &json!({})).warnings(), [""; 0]);
    });
}
