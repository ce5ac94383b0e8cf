//! The 14 days in which a consumer can withdraw: asked about only where they apply, and the answer is acted on.

use baywright_core::platform::clock::UtcTime;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use baywright_tests::visitor::changed;
use serde_json::{Value, json};

const MAIL: &str = "aoife.byrne@example.com";

fn quote(owner: &Person, id: &str) -> Value {
    owner.get(&format!("/v1/quotes/{id}")).expect(200)
}

/// A quote signed behind its link on Monday 2 March with a no to an early start; gives its id and the link's token.
fn signed_with_a_no(studio: &Studio) -> (String, String) {
    let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
    let visitor = studio.visitor(&sent.token);
    let form = changed(&visitor.form(&[], "Aoife Byrne"), "early_start", "no");
    assert_eq!(visitor.post("/accept", &form, &[]).status, 303);
    (sent.id, sent.token)
}

/// The path of the first step of the only job, with its tag.
fn first_step(owner: &Person) -> (String, String) {
    let job = owner.get("/v1/jobs").expect(200)["items"][0]["id"].as_str().unwrap().to_owned();
    let steps = owner.get(&format!("/v1/jobs/{job}")).expect(200)["steps"].clone();
    let path = format!("/v1/jobs/{job}/steps/{}", steps[0]["code"].as_str().unwrap());
    let tag = owner.get(&path).etag();
    (path, tag)
}

#[test]
fn after_a_no_nothing_is_booked_or_begun_before_the_14_days_are_over() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (id, token) = signed_with_a_no(studio);
        let owner = studio.owner();
        let view = quote(&owner, &id);
        assert_eq!(view["latest"]["signoff"]["early_start"], false);
        assert_eq!(view["latest"]["start_not_before"], "2026-03-17T00:00:00Z");
        let page = studio.visitor(&token).get("").text;
        assert!(page.contains("We will start on <strong>Tuesday 17 March 2026</strong> or later"), "{page}");
        assert!(page.contains("We will contact you to agree a time."), "{page}");
        studio.tick();
        let told = studio.mails_to("owner@example.com").pop().unwrap();
        assert!(told.text.contains("No work before") && told.text.contains("17 March 2026"), "{}", told.text);
        let refused = owner.place(&id, &floor.plain, "2026-03-16T08:00:00Z", false).problem(422, "invalid-value");
        assert_eq!(refused["errors"][0]["code"], "within_withdrawal", "{refused}");
        let booking = owner.place(&id, &floor.plain, "2026-03-17T08:00:00Z", false).expect(201);
        // The page says what is true when it is read.
        let page = studio.visitor(&token).get("").text;
        assert!(page.contains("Your car is booked in for Tuesday 17 March 2026 at 08:00."), "{page}");
        assert!(!page.contains("agree a time"), "{page}");
        // The car may come early; its work may not.
        studio.clock.set(UtcTime::parse("2026-03-16T09:00:00Z").unwrap());
        let owner = studio.owner();
        let arrived = owner.move_booking(&booking, "arrive?confirm=arrival-on-another-day", &json!({}));
        assert_eq!(arrived.warnings(), ["early-start-not-agreed"]);
        arrived.expect(200);
        let page = studio.visitor(&token).get("").text;
        assert!(page.contains("Your car is with us."), "{page}");
        let (path, tag) = first_step(&owner);
        let refused = owner.act(&format!("{path}/start"), &tag, &json!({})).problem(409, "early-start-not-agreed");
        assert!(refused["detail"].as_str().unwrap().contains("17 March 2026"), "{refused}");
        studio.clock.set(UtcTime::parse("2026-03-17T00:00:00Z").unwrap());
        studio.owner().act(&format!("{path}/start"), &tag, &json!({})).expect(200);
    });
}

#[test]
fn an_agreement_that_the_desk_records_later_lets_the_work_begin() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (id, _) = signed_with_a_no(studio);
        let owner = studio.owner();
        let view = quote(&owner, &id);
        owner.move_quote(&view, "early-start", &json!({ "agreed": false })).problem(422, "invalid-value");
        studio.pass_minutes(5);
        let agreed = owner.move_quote(&view, "early-start", &json!({ "agreed": true })).expect(200);
        let latest = &agreed["latest"];
        assert_eq!(latest["start_not_before"], json!(null));
        assert_eq!(latest["early_start_agreed_at"], studio.clock.now().to_string());
        // What was signed stays as it was.
        assert_eq!(latest["signoff"], view["latest"]["signoff"]);
        owner.move_quote(&view, "early-start", &json!({ "agreed": true })).problem(412, "changed-meanwhile");
        owner.move_quote(&agreed, "early-start", &json!({ "agreed": true })).problem(409, "start-not-held-back");
        owner.place(&id, &floor.plain, "2026-03-03T08:00:00Z", false).expect(201);
    });
}

#[test]
fn the_customer_can_agree_later_on_the_page() {
    on_each_engine(|studio| {
        studio.floor();
        let (id, token) = signed_with_a_no(studio);
        let visitor = studio.visitor(&token);
        let page = visitor.get("/done").text;
        assert!(page.contains("You have 14 days to cancel"), "{page}");
        let form = baywright_tests::visitor::hidden(&page);
        assert_eq!(visitor.post("/early-start", &changed(&form, "code", "nonsense"), &[]).status, 403);
        for _ in 0..2 {
            let answer = visitor.post("/early-start", &form, &[]);
            assert_eq!((answer.status, answer.header("location").ends_with("/done")), (303, true), "{}", answer.text);
        }
        let page = visitor.get("/done").text;
        assert!(page.contains("You agreed that we may start within the 14 days"), "{page}");
        let owner = studio.owner();
        assert_eq!(quote(&owner, &id)["latest"]["start_not_before"], json!(null));
        assert!(owner.times(&id, 1)[0]["start"].as_str().unwrap() < "2026-03-04");
        studio.tick();
        let told = studio.mails_to("owner@example.com").pop().unwrap();
        assert!(told.subject.contains("agreed to an earlier start"), "{}", told.subject);
    });
}

#[test]
fn nobody_is_asked_where_the_work_is_booked_for_later_and_it_is_not_moved_forward_then() {
    on_each_engine(|studio| {
        let floor = studio.floor();
        let (id, _) = signed_with_a_no(studio);
        let owner = studio.owner();
        let booking = owner.place(&id, &floor.plain, "2026-03-25T08:00:00Z", false).expect(201);
        let revised = owner.move_quote(&quote(&owner, &id), "revisions", &json!({})).expect(200);
        owner.move_quote(&revised, "send", &json!({})).expect(200);
        let visitor = studio.visitor(&studio.token_mailed_to(MAIL));
        let check = visitor.check(&[]).text;
        assert!(!check.contains("early_start") && !check.contains("14 days"), "{check}");
        let form = changed(&visitor.form(&[], "Aoife Byrne"), "early_start", "");
        assert_eq!(visitor.post("/accept", &form, &[]).status, 303);
        let view = quote(&owner, &id);
        assert_eq!(view["latest"]["signoff"]["early_start"], json!(null));
        assert_eq!(view["latest"]["start_not_before"], "2026-03-17T00:00:00Z");
        let sooner = json!({ "bay_id": floor.plain, "start": "2026-03-10T08:00:00Z" });
        let refused = owner.move_booking(&booking, "move", &sooner).problem(422, "invalid-value");
        assert_eq!(refused["errors"][0]["code"], "within_withdrawal", "{refused}");
    });
}

#[test]
fn a_no_by_phone_to_work_that_is_booked_sooner_is_warned_of() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let id = studio.signed_work(&["wash"]);
        owner.book_first(&id);
        let revised = owner.move_quote(&quote(&owner, &id), "revisions", &json!({})).expect(200);
        let sent = owner.move_quote(&revised, "send", &json!({ "by_mail": false })).expect(200);
        let no =
            json!({ "digest": sent["latest"]["digest"], "name": "Aoife Byrne", "agreed": true, "early_start": false });
        let signed = owner.move_quote(&sent, "sign-off", &no);
        assert_eq!(signed.warnings(), ["booked-within-withdrawal"]);
        signed.expect(200);
    });
}

#[test]
fn a_change_while_the_car_is_in_its_bay_does_not_ask() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let booking = owner.book_first(&quote);
        owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let draft = json!({ "reason": "Deep scratches.", "lines": [{ "item": { "service": "polish" } }] });
        let written = owner.post(&format!("/v1/quotes/{quote}/variations"), &draft).expect(201);
        assert_eq!(written["document"]["early_start"], json!(null));
        let path = format!("/v1/variations/{}", written["id"].as_str().unwrap());
        owner.act(&format!("{path}/send"), "\"1\"", &json!({})).expect(200);
        let visitor = studio.visitor(&studio.token_mailed_to(MAIL));
        let check = visitor.check(&[]).text;
        assert!(!check.contains("early_start") && !check.contains("14 days"), "{check}");
        let form = changed(&visitor.form(&[], "Aoife Byrne"), "early_start", "");
        assert_eq!(visitor.post("/accept", &form, &[]).status, 303);
        assert_eq!(owner.get(&path).expect(200)["signoff"]["early_start"], json!(null));
        let (path, tag) = first_step(&owner);
        owner.act(&format!("{path}/start"), &tag, &json!({})).expect(200);
    });
}
