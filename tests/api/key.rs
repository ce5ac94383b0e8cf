//! Idempotency keys of changes: a request whose answer was lost can be sent again.

use baywright_core::platform::canonical::digest;
use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_core::schema::idempotency;
use baywright_tests::answer::Answer;
use baywright_tests::make::people::body;
use baywright_tests::make::quote::{draft, id, tag};
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use diesel::prelude::*;
use serde_json::{Value, json};

/// Sends the same change three times: twice with the same key and once with another; the first two get the same answer to
/// the byte, the third is told that the record has moved on.
#[track_caller]
fn sent_twice(person: &Person, method: &str, path: &str, etag: &str, body: &Value) -> Answer {
    let send = |key: &str| person.json(method, path, &[("if-match", etag), ("idempotency-key", key)], body);
    let (first, again) = (send("one"), send("one"));
    assert!((200..300).contains(&first.status), "{path}: {}", first.text);
    assert_eq!((first.status, &first.text, first.etag()), (again.status, &again.text, again.etag()), "{path}");
    assert_eq!((first.header("idempotency-replayed"), again.header("idempotency-replayed")), ("", "true"), "{path}");
    let other = send("two");
    assert!([404, 409, 412].contains(&other.status), "{path}: {} {}", other.status, other.text);
    first
}

fn written(studio: &Studio, owner: &Person) -> Value {
    owner.publish_small_menu();
    let (_, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
    assert!(studio.mails().is_empty());
    owner.write_quote(&id(&vehicle), &draft(&id(&inspection), &["decontamination"], &[])).expect(201)
}

#[test]
fn a_key_in_quotes_is_the_one_without_and_half_of_a_pair_is_none() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let body = json!({ "name": "Aoife Byrne" });
        let made = |key: &str| owner.json("POST", "/v1/customers", &[("idempotency-key", key)], &body);
        let (bare, quoted) = (made("one"), made("\"one\""));
        assert_eq!((bare.status, &bare.text), (201, &quoted.text));
        assert_eq!(quoted.header("idempotency-replayed"), "true");
        for key in ["\"one", "one\"", "\"\"", "\"o\\ne\""] {
            made(key).problem(400, "malformed-request");
        }
    });
}

#[test]
fn a_key_is_the_same_however_the_path_is_spelt() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let send =
            |path: &str| owner.json("POST", path, &[("idempotency-key", "one")], &json!({ "name": "Aoife Byrne" }));
        let (first, again) = (send("/v1/customers"), send("/v1/c%75stomers"));
        assert_eq!((first.status, again.header("idempotency-replayed")), (201, "true"), "{}", again.text);
        assert_eq!(again.text, first.text);
        assert_eq!(owner.get("/v1/customers").expect(200)["items"].as_array().map(Vec::len), Some(1));
    });
}

#[test]
fn a_change_sent_twice_under_one_key_happens_once() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let quote = written(studio, &owner);
        let path = |verb: &str| format!("/v1/quotes/{}/{verb}", id(&quote));
        let sent = sent_twice(&owner, "POST", &path("send"), &tag(&quote), &json!({})).expect(200);
        studio.tick();
        assert_eq!(studio.mails().len(), 1);
        let yes = json!({
            "digest": sent["latest"]["digest"], "name": "Aoife Byrne", "agreed": true, "early_start": true, "choices": []
        });
        let signed = sent_twice(&owner, "POST", &path("sign-off"), &tag(&sent), &yes).expect(200);
        assert_eq!(signed["latest"]["state"], "SIGNED");
        // A change of another kind of record, and one that removes it.
        let closure = owner
            .post(
                "/v1/closures",
                &json!({ "first_day": "2026-12-24", "last_day": "2026-12-27", "reason": "Winter break" }),
            )
            .expect(201);
        let path = format!("/v1/closures/{}", id(&closure));
        let longer = json!({ "first_day": "2026-12-24", "last_day": "2026-12-28", "reason": "Winter break" });
        let longer = sent_twice(&owner, "PUT", &path, &tag(&closure), &longer).expect(200);
        let gone = sent_twice(&owner, "DELETE", &path, &tag(&longer), &json!(null));
        assert_eq!((gone.status, gone.text.as_str()), (204, ""));
    });
}

#[test]
fn a_key_is_for_one_body_and_well_formed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let closure = owner
            .post(
                "/v1/closures",
                &json!({ "first_day": "2026-12-24", "last_day": "2026-12-27", "reason": "Winter break" }),
            )
            .expect(201);
        let path = format!("/v1/closures/{}", id(&closure));
        let put = |key: &str, etag: &str, until: &str| {
            let body = json!({ "first_day": "2026-12-24", "last_day": until, "reason": "Winter break" });
            owner.json("PUT", &path, &[("if-match", etag), ("idempotency-key", key)], &body)
        };
        put("k", "\"1\"", "2026-12-28").expect(200);
        put("k", "\"2\"", "2026-12-29").problem(422, "idempotency-key-reused");
        put("two words", "\"2\"", "2026-12-29").problem(400, "malformed-request");
        // Without a key a change is made as well.
        owner
            .put(
                &path,
                "\"2\"",
                &json!({ "first_day": "2026-12-24", "last_day": "2026-12-29", "reason": "Winter break" }),
            )
            .expect(200);
    });
}

#[test]
fn a_key_belongs_to_the_account_and_role_that_sent_it() {
    on_each_engine(|studio| {
        let (owner, desk) = (studio.owner(), studio.colleague(Role::Desk));
        let send = |person: &Person| {
            person.json("POST", "/v1/customers", &[("idempotency-key", "one")], &json!({ "name": "Aoife Byrne" }))
        };
        let made = send(&owner).expect(201);
        // The same request by another account is neither given the kept answer nor done a second time.
        let refused = send(&desk).problem(422, "idempotency-key-reused");
        assert!(!refused.to_string().contains(&id(&made)), "{refused}");
        let all = owner.get("/v1/customers").expect(200);
        assert_eq!(all["items"].as_array().map(Vec::len), Some(1));
        // Another sign-in of the same account is still the one who asked.
        let again = send(&studio.owner());
        assert_eq!((again.status, again.header("idempotency-replayed")), (201, "true"));
    });
}

#[test]
fn a_key_does_not_outlive_the_role_that_sent_it() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let cian = owner.post("/v1/people", &body("Cian", "DESK", &[])).expect(201);
        let there = studio.person(&id(&cian));
        let send = || {
            let body = json!({ "name": "Aoife Byrne" });
            there.json("POST", "/v1/customers", &[("idempotency-key", "one")], &body)
        };
        send().expect(201);
        owner.put(&format!("/v1/people/{}", id(&cian)), &tag(&cian), &body("Cian", "OWNER", &[])).expect(200);
        send().problem(422, "idempotency-key-reused");
    });
}

#[test]
fn a_key_that_was_kept_before_keys_belonged_to_an_account_is_still_known() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let send = |body: &Value| owner.json("POST", "/v1/customers", &[("idempotency-key", "one")], body);
        let body = json!({ "name": "Aoife Byrne" });
        let made = send(&body).expect(201);
        // What an older program kept: the request alone, without who sent it.
        let kept = digest(&format!("POST /v1/customers\n{body}"));
        studio.in_shop(studio.shop(), |tx| {
            let row = idempotency::table.filter(idempotency::key.eq("one"));
            let changed = diesel::update(row).set(idempotency::print.eq(&kept)).execute(tx.conn);
            assert_eq!(changed.map_err(DbError::from)?, 1);
            Ok(())
        });
        let again = send(&body);
        assert_eq!((again.status, again.header("idempotency-replayed")), (201, "true"), "{}", again.text);
        assert_eq!(again.json()["id"], made["id"]);
        send(&json!({ "name": "Cian Daly" })).problem(422, "idempotency-key-reused");
    });
}

#[test]
fn every_answer_to_a_change_has_its_warnings() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let made = owner.post(
            "/v1/closures",
            &json!({ "first_day": "2026-12-24", "last_day": "2026-12-27", "reason": "Winter break" }),
        );
        assert_eq!(made.warnings(), [] as [&str; 0]);
        let path = made.header("location").to_owned();
        let changed = owner.put(
            &path,
            "\"1\"",
            &json!({ "first_day": "2026-12-24", "last_day": "2026-12-29", "reason": "Winter break" }),
        );
        assert_eq!(changed.warnings(), [] as [&str; 0]);
        assert_eq!(owner.get(&path).json().get("warnings"), None);
        // Nothing is asked here, so nothing can be confirmed.
        owner.post("/v1/bays?confirm=anything", &json!({ "name": "Bay 1" })).problem(400, "invalid-query");
    });
}
