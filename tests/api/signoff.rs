//! The customer's yes: sealed with exactly what was shown, once, with its evidence.

mod answers;
mod early_start;
mod page;
mod shown;

use std::sync::Barrier;

use baywright_core::platform::canonical::hex;
use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_core::schema::{link, signoff};
use baywright_core::seal::usecase::verify_seals;
use baywright_tests::make::quote::tag;
use baywright_tests::on_each_engine;
use baywright_tests::visitor::changed;
use diesel::prelude::*;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

const MAIL: &str = "aoife.byrne@example.com";

fn sha256(text: &str) -> String {
    hex(&Sha256::digest(text))
}

#[test]
fn what_is_sealed_is_what_was_shown_with_the_evidence_of_the_yes() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating", "interior"]);
        let visitor = studio.visitor(&sent.token);
        let shown = sent.view["latest"]["document"].clone();
        studio.pass_minutes(42);
        let form = changed(&visitor.form(&[2], "  Aoife Byrne "), "strokes", "[[[100,200],[300,400]],[[9999,0]]]");
        let done = visitor.post("/accept", &form, &[]);
        assert_eq!((done.status, done.header("location")), (303, format!("{}/done", visitor.path).as_str()));
        let page = visitor.get("/done");
        assert_eq!(page.status, 200);
        for said in ["</span> is accepted", "Aoife Byrne online", "EUR 355.00", MAIL] {
            assert!(page.text.contains(said), "{said}: {}", page.text);
        }

        let view = studio.owner().get(&format!("/v1/quotes/{}", sent.id)).expect(200);
        assert_eq!((&view["latest"]["state"], &view["latest"]["document"]), (&json!("SIGNED"), &shown));
        let kept = &view["latest"]["signoff"];
        assert_eq!(kept["document_digest"], sent.view["latest"]["digest"]);
        let text = kept["evidence"].as_str().unwrap();
        assert_eq!(kept["evidence_digest"], sha256(text));
        let evidence: Value = serde_json::from_str(text).unwrap();
        assert_eq!(evidence["document_digest"], kept["document_digest"]);
        assert_eq!((&evidence["choices"], &evidence["typed_name"]), (&json!([0, 2]), &json!("Aoife Byrne")));
        assert_eq!(evidence["strokes"], json!([[[100, 200], [300, 400]], [[9999, 0]]]));
        assert_eq!((&evidence["method"], &evidence["noted_by"]), (&json!("LINK"), &json!(null)));
        assert_eq!((&evidence["at"], &evidence["early_start"]), (&json!("2026-03-02T08:42:00Z"), &json!(true)));
        assert_eq!((&evidence["address"], &evidence["agent"]), (&json!("127.0.0.1"), &json!("Test Browser 1.0")));
        assert_eq!(evidence["consent"], shown["consent"]);
        assert_eq!(
            (&evidence["link"]["contact"], &evidence["link"]["sent_at"]),
            (&json!(MAIL), &json!("2026-03-02T08:00:00Z"))
        );
        assert_eq!(evidence["link"]["first_opened_at"], "2026-03-02T08:42:00Z");
        // 175 and 180 with tax.
        assert_eq!(evidence["agreed"]["payable"]["amount"], "355.00");
    });
}

#[test]
fn the_customer_gets_the_signed_copy_whose_digests_anyone_can_recompute() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating"]);
        let visitor = studio.visitor(&sent.token);
        assert_eq!(visitor.get("/copy.json").status, 404);
        assert_eq!(visitor.accept(&[1], "Aoife Byrne").status, 303);
        studio.tick();
        let mail = studio.mails_to(MAIL).pop().unwrap();
        assert_eq!(mail.subject, "Your copy: quote Q-2026-0001 accepted");
        let (name, kind, bytes) = mail.attachments.first().unwrap();
        assert_eq!((name.as_str(), kind.as_str()), ("Q-2026-0001-1-signed.json", "application/json"));
        let file: Value = serde_json::from_slice(bytes).unwrap();
        for part in ["document", "evidence"] {
            // Keys in order and no spaces: for these documents, whose numbers are small and whole, that is RFC 8785.
            let digest = sha256(&serde_json::to_string(&file[part]).unwrap());
            assert_eq!(file[format!("{part}_digest")], digest);
            assert!(
                mail.text.contains(&digest) && mail.html.contains(&digest),
                "the mail says the digest of the {part}"
            );
        }
        assert_eq!(file["document"], sent.view["latest"]["document"]);
        let again = visitor.get("/copy.json");
        assert_eq!(&again.bytes, bytes);
        assert!(again.header("content-disposition").starts_with("attachment"), "{:?}", again.headers);
        assert!(mail.text.contains("EUR 634.00"), "{}", mail.text);
    });
}

#[test]
fn a_seal_never_changes_and_one_that_was_broken_is_found() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        assert_eq!(studio.visitor(&sent.token).accept(&[], "Aoife Byrne").status, 303);
        let broken = || studio.in_shop(studio.shop(), verify_seals);
        assert_eq!(broken(), []);
        for change in ["UPDATE signoff SET typed_name = 'Somebody Else'", "DELETE FROM signoff"] {
            let tried = studio.try_in_shop(studio.shop(), |tx| {
                diesel::sql_query(change).execute(tx.conn).map_err(DbError::from)?;
                Ok(())
            });
            assert!(tried.is_err(), "{change}");
        }
        let forged = "UPDATE quote_revision SET document = replace(document, '175.00', '17.50')";
        let tried = studio.try_in_shop(studio.shop(), |tx| {
            diesel::sql_query(forged).execute(tx.conn).map_err(DbError::from)?;
            Ok(())
        });
        assert!(tried.is_err(), "what was sent is frozen in the database too");
        assert_eq!(broken(), []);
    });
}

#[test]
fn of_two_taps_at_once_one_signs_and_the_others_are_told() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating"]);
        let visitor = studio.visitor(&sent.token);
        let form = visitor.form(&[1], "Aoife Byrne");
        let start = Barrier::new(8);
        let answers: Vec<(u16, String)> = std::thread::scope(|scope| {
            let taps: Vec<_> = (0..8)
                .map(|_| {
                    scope.spawn(|| {
                        start.wait();
                        let answer = visitor.post("/accept", &form, &[]);
                        (answer.status, answer.text)
                    })
                })
                .collect();
            taps.into_iter().map(|tap| tap.join().unwrap()).collect()
        });
        assert_eq!(answers.iter().filter(|(status, _)| *status == 303).count(), 1, "{answers:?}");
        let others: Vec<_> = answers.iter().filter(|(status, _)| *status != 303).collect();
        assert!(
            others.iter().all(|(status, text)| *status == 409 && text.contains("has already been accepted")),
            "{others:?}"
        );
        let count: i64 = studio
            .in_shop(studio.shop(), |tx| Ok(signoff::table.count().get_result(tx.conn).map_err(DbError::from)?));
        assert_eq!(count, 1);
        studio.tick();
        let copies = studio.mails_to(MAIL).into_iter().filter(|mail| mail.subject.starts_with("Your copy")).count();
        assert_eq!(copies, 1);
    });
}

#[test]
fn a_link_is_kept_as_its_digest_alone() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let kept: Vec<String> = studio.in_shop(studio.shop(), |tx| {
            Ok(link::table.select(link::token_hash).load(tx.conn).map_err(DbError::from)?)
        });
        assert_eq!(kept, [sha256(&sent.token)]);
        // Neither the log's records nor the answers to the desk have the token.
        assert_eq!(sent.view.to_string().matches(&sent.token).count(), 0);
        let details: Vec<String> = studio.in_shop(studio.shop(), |tx| {
            use baywright_core::schema::record;
            Ok(record::table.select(record::detail).load(tx.conn).map_err(DbError::from)?)
        });
        assert!(details.len() > 5 && details.iter().all(|detail| !detail.contains(&sent.token)), "{details:?}");
        let metrics = studio.nobody().get("/metrics").text;
        assert_eq!(studio.visitor(&sent.token).get("").status, 200);
        assert!(!metrics.contains(&sent.token));
    });
}

#[test]
fn a_link_that_went_astray_is_taken_back() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let list = || desk.get("/v1/links").expect(200)["items"].clone();
        let given = list()[0].clone();
        assert_eq!(
            (&given["contact"], &given["method"], &given["revoked_at"]),
            (&json!(MAIL), &json!("LINK"), &json!(null))
        );
        let form = studio.visitor(&sent.token).form(&[], "Aoife Byrne");
        let revoke = format!("/v1/links/{}/revoke", given["id"].as_str().unwrap());
        studio.stranger().post(&revoke, &json!({})).problem(404, "not-found");
        let first = desk.post(&revoke, &json!({})).expect(200);
        assert!(first["revoked_at"].is_string(), "{first}");
        studio.pass_minutes(1);
        assert_eq!(desk.post(&revoke, &json!({})).expect(200)["revoked_at"], first["revoked_at"]);
        let page = studio.visitor(&sent.token).get("");
        assert_eq!(page.status, 410, "{}", page.text);
        assert!(page.text.contains("This link is no longer valid"), "{}", page.text);
        // Nothing can be answered on it, and the quote is as open as before.
        assert_eq!(studio.visitor(&sent.token).post("/accept", &form, &[]).status, 410);
        let quote = studio.owner().get(&format!("/v1/quotes/{}", sent.id)).expect(200);
        assert_eq!(quote["latest"]["state"], "SENT");
        let about = given["subject_id"].as_str().unwrap();
        assert_eq!(desk.get(&format!("/v1/links?subject_id={about}")).expect(200)["items"], list());
        assert_eq!(
            desk.get("/v1/links?subject_id=0198c0de-0000-7000-8000-000000000001").expect(200)["items"],
            json!([])
        );
    });
}

#[test]
fn signing_on_the_studios_device_is_the_same_record_and_names_who_handed_it_over() {
    on_each_engine(|studio| {
        // Signed in afresh each time: access ends while the clock goes on.
        let me = studio.owner().get("/v1/me").expect(200);
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating"]);
        let links = format!("/v1/quotes/{}/links", sent.id);
        let hand_over = || {
            let link = studio.owner().post(&links, &json!({ "method": "IN_PERSON" })).expect(200);
            assert_eq!(link["ends_at"], studio.clock.now().plus_minutes(30).to_string());
            studio.visitor_at(link["url"].as_str().unwrap())
        };
        let first = hand_over();
        let late = hand_over();
        let page = first.get("");
        assert_eq!(page.status, 410, "a new link ends the one before");
        studio.pass_minutes(30);
        assert_eq!(late.get("").status, 410);
        let visitor = hand_over();
        let page = visitor.check(&[1]);
        assert!(page.text.contains("You are using the studio's device"), "{}", page.text);
        assert!(!page.text.contains("early_start"), "who signs at the studio makes no contract at a distance");
        let mut form = visitor.form(&[1], "Aoife Byrne");
        form.retain(|(name, _)| name != "early_start");
        assert_eq!(visitor.post("/accept", &form, &[]).status, 303);
        assert!(visitor.get("/done").text.contains("Please hand the device back"));
        let view = studio.owner().get(&format!("/v1/quotes/{}", sent.id)).expect(200);
        let kept = &view["latest"]["signoff"];
        assert_eq!((&kept["method"], &kept["noted_by"]), (&json!("IN_PERSON"), &me["person"]));
        assert_eq!((&kept["choices"], &kept["early_start"]), (&json!([0, 1]), &json!(null)));
        studio.tick();
        assert!(studio.mails_to(MAIL).pop().unwrap().subject.starts_with("Your copy"));
        // The mailed link shows the same sign-off.
        assert!(studio.visitor(&sent.token).get("").text.contains("is accepted"));
        let moved =
            studio.owner().json("POST", &links, &[("if-match", &tag(&view))], &json!({ "method": "IN_PERSON" }));
        moved.problem(409, "wrong-state");
    });
}
