//! Quotes over HTTP: how they are written, sent, answered and kept from others.

mod draft;
mod price;
mod quantity;

use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::identity::Role;
use baywright_tests::make::customer;
use baywright_tests::make::menu::{small_menu, with};
use baywright_tests::make::quote::{draft, id, tag};
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

const MAIL: &str = "aoife.byrne@example.com";

fn states(quote: &Value) -> Vec<&str> {
    quote["revisions"].as_array().unwrap().iter().map(|one| one["state"].as_str().unwrap()).collect()
}

#[test]
fn a_quote_that_will_make_a_wrong_invoice_is_sent_with_warnings() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        owner.add_reverse_charge();
        let (_, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", MAIL);
        let sent = |draft: &Value| {
            let written = owner.write_quote(&id(&vehicle), draft).expect(201);
            owner.move_quote(&written, "send", &json!({})).warnings()
        };
        let plain = draft(&id(&inspection), &["decontamination"], &[]);
        assert!(sent(&plain).is_empty());
        let mut reverse = plain.clone();
        reverse["lines"][0]["tax"] = json!("reverse-charge");
        assert_eq!(sent(&reverse), ["reverse-charge-parties"]);
        let gift = with(plain, json!({ "discounts": [{ "off": { "percent": "100" }, "reason": "Gift" }] }));
        assert_eq!(sent(&gift), ["nothing-to-pay"]);
    });
}

#[test]
fn a_customer_without_an_address_gets_the_quote_by_the_way_that_is_advised() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let customer = with(customer::body("Aoife Byrne"), json!({ "emails": [] }));
        let customer = owner.post("/v1/customers", &customer).expect(201);
        let vehicle = owner.add_vehicle(&id(&customer), "231-D-10101");
        let seen = owner.inspect(&id(&vehicle));
        let written = owner.write_quote(&id(&vehicle), &draft(&id(&seen), &["maintenance-wash"], &[])).expect(201);
        let links = format!("/v1/quotes/{}/links", id(&written));
        let link = json!({ "method": "LINK", "contact": "+353 20 910 0000" });
        for problem in [
            owner.move_quote(&written, "send", &json!({})).problem(422, "invalid-value"),
            owner.post(&links, &link).problem(409, "quote-not-sent"),
        ] {
            let said = problem["detail"].as_str().unwrap();
            assert!(said.contains("\"by_mail\": false"), "{said}");
        }
        owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        owner.post(&links, &link).expect(200);
    });
}

#[test]
fn a_quote_is_written_sent_signed_and_read() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (customer, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", MAIL);
        let asked = draft(&id(&inspection), &["decontamination"], &["coating"]);
        let made = owner.write_quote(&id(&vehicle), &asked);
        assert_eq!(made.etag(), "\"1\"");
        let location = made.header("location").to_owned();
        let written = made.expect(201);
        assert_eq!(written["number"], "Q-2026-0001");
        assert_eq!((&written["customer_id"], &written["vehicle_id"]), (&customer["id"], &vehicle["id"]));
        assert_eq!((&written["latest"]["state"], &written["latest"]["digest"]), (&json!("DRAFT"), &json!(null)));
        assert_eq!(owner.get(&location).expect(200), written);

        let sent = owner.move_quote(&written, "send", &json!({ "message": "As we said." })).expect(200);
        assert_eq!((&sent["latest"]["state"], &sent["version"]), (&json!("SENT"), &json!(2)));
        let document = &sent["latest"]["document"];
        assert_eq!(document["sent_at"], "2026-03-02T08:00:00Z");
        // The end of the fourteenth day after, on a wall in Dublin, which is UTC in March.
        assert_eq!(document["holds_until"], "2026-03-17T00:00:00Z");
        studio.tick();
        let mail = studio.mails_to(MAIL).pop().unwrap();
        assert_eq!(mail.subject, "Quote Q-2026-0001 from Test Studio");
        assert!(mail.text.contains("As we said.") && mail.text.contains("EUR 175.00"), "{}", mail.text);
        assert_eq!(mail.link(&format!("{}/q/", studio.base)).unwrap().len(), studio.base.len() + 3 + 43);

        let signed = owner.note_yes(&sent, &[1]).expect(200);
        assert_eq!(signed["latest"]["state"], "SIGNED");
        assert_eq!(signed["latest"]["document"], *document, "what was sent is what was signed");
        let signoff = &signed["latest"]["signoff"];
        assert_eq!((&signoff["method"], &signoff["choices"]), (&json!("PHONE"), &json!([0, 1])));
        assert_eq!(owner.get(&location).expect(200), signed);
        owner.note_yes(&signed, &[1]).problem(409, "wrong-state");
    });
}

#[test]
fn what_was_sent_is_frozen_and_a_change_is_a_new_revision() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let path = format!("/v1/quotes/{}", sent.id);
        let other = draft(&sent.inspection, &["interior"], &[]);
        owner.put(&format!("{path}/draft"), &tag(&sent.view), &other).problem(409, "wrong-state");
        owner.move_quote(&sent.view, "send", &json!({})).problem(409, "wrong-state");

        let mut dearer = small_menu();
        dearer["services"][1]["price"]["amounts"]["medium"]["amount"] = json!("199.00");
        owner.publish_menu(&dearer);
        let shown = owner.get(&path).expect(200);
        assert_eq!(shown, sent.view, "a new menu changes no quote that was sent");

        let revised = owner.move_quote(&sent.view, "revisions", &json!({})).expect(200);
        assert_eq!(states(&revised), ["SENT", "DRAFT"]);
        assert_eq!(revised["latest"]["draft"], sent.view["latest"]["draft"]);
        assert_eq!(revised["latest"]["document"]["lines"][0]["amount"]["amount"], "199.00");
        owner.move_quote(&revised, "revisions", &json!({})).problem(409, "draft-open");
        owner.note_yes(&sent.view, &[]).problem(412, "changed-meanwhile");
        let again = owner.move_quote(&revised, "send", &json!({})).expect(200);
        assert_eq!(states(&again), ["REPLACED", "SENT"]);
        let first = owner.get(&format!("{path}/revisions/1")).expect(200);
        assert_eq!((&first["state"], &first["document"]), (&json!("REPLACED"), &sent.view["latest"]["document"]));
        owner.get(&format!("{path}/revisions/3")).problem(404, "not-found");
        assert_ne!(studio.token_mailed_to(MAIL), sent.token);

        // The yes names the digest of what was read out: the older document's is refused.
        let stale = with(again.clone(), json!({ "latest": sent.view["latest"] }));
        owner.note_yes(&stale, &[]).problem(409, "quote-not-current");
        let signed = owner.note_yes(&again, &[]).expect(200);
        // A change after signing is a new revision too; until it is signed, the signed one is what counts.
        let more = owner.move_quote(&signed, "revisions", &json!({})).expect(200);
        assert_eq!(states(&more), ["REPLACED", "SIGNED", "DRAFT"]);
        let more = owner.move_quote(&more, "send", &json!({})).expect(200);
        assert_eq!(states(&more), ["REPLACED", "SIGNED", "SENT"]);
        let more = owner.note_yes(&more, &[]).expect(200);
        assert_eq!(states(&more), ["REPLACED", "SIGNED", "SIGNED"]);
    });
}

#[test]
fn a_quote_that_nobody_answers_lapses_by_itself() {
    on_each_engine(|studio| {
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let path = format!("/v1/quotes/{}", sent.id);
        let until = UtcTime::parse("2026-03-17T00:00:00Z").unwrap();
        studio.clock.set(until.plus_minutes(-1));
        // Signed in afresh: sessions have ended meanwhile.
        let owner = studio.owner();
        let of_state = |state: &str| {
            owner.get(&format!("/v1/quotes?state={state}")).expect(200)["items"].as_array().unwrap().len()
        };
        studio.tick();
        assert_eq!((of_state("SENT"), of_state("LAPSED")), (1, 0));
        studio.clock.set(until);
        let shown = owner.get(&path).expect(200);
        assert_eq!((&shown["latest"]["state"], &shown["latest"]["decided_at"]), (&json!("LAPSED"), &json!(null)));
        assert_eq!((of_state("SENT"), of_state("LAPSED")), (0, 1));
        let lapsed = owner.note_yes(&shown, &[]).problem(410, "quote-lapsed");
        // The same day as on the customer's page.
        assert!(
            lapsed["detail"].as_str().unwrap().contains("make a new revision"),
            "the desk is told what to do: {lapsed}"
        );
        assert!(
            lapsed["detail"].as_str().unwrap().contains("valid until the end of Mon 16 March 2026 and"),
            "{lapsed}"
        );
        owner.move_quote(&shown, "decline", &json!({})).problem(410, "quote-lapsed");
        owner.move_quote(&shown, "links", &json!({ "method": "IN_PERSON" })).problem(410, "quote-lapsed");
        studio.tick();
        let shown = owner.get(&path).expect(200);
        assert_eq!(shown["latest"]["decided_at"], "2026-03-17T00:00:00Z");
        assert_eq!((of_state("SENT"), of_state("LAPSED")), (0, 1));
        studio.pass_minutes(5);
        studio.tick();
        assert_eq!(owner.get(&path).expect(200), shown, "it lapses once");
        let revised = owner.move_quote(&shown, "revisions", &json!({})).expect(200);
        let again = owner.move_quote(&revised, "send", &json!({})).expect(200);
        assert_eq!(states(&again), ["LAPSED", "SENT"]);
    });
}

#[test]
fn a_quote_is_taken_back_or_turned_down_with_a_reason() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (one, other) = (
            studio.sent_quote(MAIL, &["decontamination"], &[]),
            studio.sent_quote("niamh@example.com", &["interior"], &[]),
        );
        let reason = json!({ "reason": "The car was sold." });
        let declined = owner.move_quote(&one.view, "decline", &reason).expect(200);
        assert_eq!(declined["latest"]["state"], "DECLINED");
        assert_eq!(declined["latest"]["reason"], reason["reason"]);
        let withdrawn =
            owner.move_quote(&other.view, "withdraw", &json!({ "reason": "We close for good." })).expect(200);
        assert_eq!((&withdrawn["latest"]["state"], states(&withdrawn)), (&json!("WITHDRAWN"), vec!["WITHDRAWN"]));
        for quote in [&declined, &withdrawn] {
            for verb in ["decline", "withdraw"] {
                owner.move_quote(quote, verb, &reason).problem(409, "wrong-state");
            }
            owner.note_yes(quote, &[]).problem(409, "wrong-state");
        }
        let fresh = owner.write_quote(&one.vehicle, &draft(&one.inspection, &["interior"], &[])).expect(201);
        owner.move_quote(&fresh, "withdraw", &reason).problem(409, "quote-not-sent");
        owner.move_quote(&fresh, "decline", &reason).problem(409, "quote-not-sent");
    });
}

#[test]
fn a_phoned_yes_needs_a_name_the_consent_and_the_wish() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &["coating"]);
        let digest = sent.view["latest"]["digest"].clone();
        let faulty = json!({ "digest": digest, "name": "12", "agreed": false, "choices": [9] });
        let problem = owner.move_quote(&sent.view, "sign-off", &faulty).problem(422, "sign-off-incomplete");
        let pointers: Vec<&str> =
            problem["errors"].as_array().unwrap().iter().map(|one| one["pointer"].as_str().unwrap()).collect();
        assert_eq!(pointers, ["/name", "/agreed", "/early_start", "/choices/0"]);
        let body = json!({ "digest": digest, "name": "Aoife Byrne", "agreed": true, "early_start": false });
        let signed = owner.move_quote(&sent.view, "sign-off", &body).expect(200);
        assert_eq!(signed["latest"]["signoff"]["early_start"], false);
        let noted: Value = serde_json::from_str(signed["latest"]["signoff"]["evidence"].as_str().unwrap()).unwrap();
        assert!(noted["noted_by"].is_string() && noted["link"].is_null(), "{noted}");
        owner.json("POST", &format!("/v1/quotes/{}/sign-off", sent.id), &[], &body).problem(428, "if-match-required");
    });
}

#[test]
fn nobody_else_reads_or_moves_a_quote() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let path = format!("/v1/quotes/{}", sent.id);
        let stranger = studio.stranger();
        stranger.get(&path).problem(404, "not-found");
        stranger.get(&format!("{path}/revisions/1")).problem(404, "not-found");
        for verb in ["revisions", "send", "withdraw", "decline"] {
            stranger.move_quote(&sent.view, verb, &json!({})).problem(404, "not-found");
        }
        stranger.note_yes(&sent.view, &[]).problem(404, "not-found");
        stranger.post(&format!("{path}/links"), &json!({ "method": "IN_PERSON" })).problem(404, "not-found");
        let changed = draft(&sent.inspection, &["interior"], &[]);
        stranger.put(&format!("{path}/draft"), &tag(&sent.view), &changed).problem(404, "not-found");
        assert_eq!(stranger.get("/v1/quotes").expect(200)["items"], json!([]));
        stranger.publish_small_menu();
        let problem = stranger.write_quote(&sent.vehicle, &changed).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/vehicle_id");

        let technician = studio.colleague(Role::Technician);
        technician.get(&path).problem(403, "not-allowed");
        technician.get("/v1/quotes").problem(403, "not-allowed");
        let accountant = studio.colleague(Role::Accountant);
        assert_eq!(accountant.get(&path).expect(200), sent.view);
        accountant.write_quote(&sent.vehicle, &changed).problem(403, "not-allowed");
        let link = json!({ "method": "IN_PERSON" });
        for person in [&technician, &accountant] {
            for verb in ["revisions", "send", "withdraw", "decline"] {
                person.move_quote(&sent.view, verb, &json!({})).problem(403, "not-allowed");
            }
            person.move_quote(&sent.view, "links", &link).problem(403, "not-allowed");
            person.note_yes(&sent.view, &[]).problem(403, "not-allowed");
        }
        studio.nobody().get(&path).problem(401, "not-signed-in");
        studio.nobody().note_yes(&sent.view, &[]).problem(401, "not-signed-in");
        assert_eq!(owner.get(&path).expect(200), sent.view);
    });
}

#[test]
fn quotes_are_numbered_once_and_listed_by_state_customer_and_vehicle() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (customer, vehicle, inspection) = owner.add_inspected_car("Aoife Byrne", MAIL);
        let body = json!({ "vehicle_id": vehicle["id"], "draft": draft(&id(&inspection), &["decontamination"], &[]) });
        let key = [("idempotency-key", "once")];
        let first = owner.json("POST", "/v1/quotes", &key, &body);
        let again = owner.json("POST", "/v1/quotes", &key, &body);
        assert_eq!((first.status, &first.text), (201, &again.text));
        owner.json("POST", "/v1/quotes", &[], &body).problem(400, "idempotency-key-required");
        let (_, other_car, other) = owner.add_inspected_car("Niamh Daly", "niamh@example.com");
        for _ in 0..3 {
            owner.write_quote(&id(&other_car), &draft(&id(&other), &["interior"], &[])).expect(201);
        }
        let numbers = |query: &str| -> Vec<String> {
            let page = owner.get(&format!("/v1/quotes{query}")).expect(200);
            page["items"].as_array().unwrap().iter().map(|one| one["number"].as_str().unwrap().to_owned()).collect()
        };
        assert_eq!(numbers(""), ["Q-2026-0004", "Q-2026-0003", "Q-2026-0002", "Q-2026-0001"]);
        assert_eq!(numbers(&format!("?customer_id={}", id(&customer))), ["Q-2026-0001"]);
        assert_eq!(numbers(&format!("?vehicle_id={}&state=DRAFT", id(&other_car))).len(), 3);
        assert_eq!(numbers("?state=SIGNED"), [] as [&str; 0]);
        let first = owner.get("/v1/quotes?limit=3").expect(200);
        let second = owner.get(first["next"].as_str().unwrap()).expect(200);
        assert_eq!((&second["items"][0]["number"], &second["next"]), (&json!("Q-2026-0001"), &json!(null)));
        owner.get("/v1/quotes?state=EATEN").problem(400, "invalid-query");
        // A new year begins a new series.
        studio.clock.set(UtcTime::parse("2027-01-01T08:00:00Z").unwrap());
        let next = studio.owner().write_quote(&id(&vehicle), &draft(&id(&inspection), &["interior"], &[])).expect(201);
        assert_eq!(next["number"], "Q-2027-0001");
    });
}

#[test]
fn a_quote_goes_to_another_address_or_without_mail() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let customer = owner.post("/v1/customers?confirm=known-customer", &json!({ "name": "Dara Quinn" })).expect(201);
        let vehicle = owner.add_vehicle(&id(&customer), "231-D-20202");
        let asked = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "decontamination" } }] });
        let written = owner.write_quote(&id(&vehicle), &asked).expect(201);
        let problem = owner.move_quote(&written, "send", &json!({})).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/email");
        let sent = owner.move_quote(&written, "send", &json!({ "email": "dara@example.com" })).expect(200);
        studio.tick();
        assert_eq!(studio.mails_to("dara@example.com").len(), 1);
        let revised = owner.move_quote(&sent, "revisions", &json!({})).expect(200);
        let sent = owner.move_quote(&revised, "send", &json!({ "email": "second@example.com" })).expect(200);
        let agreed = owner.note_yes(&sent, &[]).expect(200);
        let revised = owner.move_quote(&agreed, "revisions", &json!({})).expect(200);
        let sent = owner.move_quote(&revised, "send", &json!({ "email": "third@example.com" })).expect(200);
        studio.tick();
        for (to, name, said) in [
            ("second@example.com", "revision 2", "It replaces the earlier one, which is no longer valid."),
            (
                "third@example.com",
                "revision 3",
                "Revision 2, which you accepted, stays valid until you accept this one.",
            ),
        ] {
            let mail = studio.mails_to(to).pop().unwrap();
            assert_eq!(mail.subject, format!("Quote Q-2026-0001, {name} from Test Studio"));
            let text = mail.text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(
                text.contains(&format!("Here is {name} of our quote Q-2026-0001")) && text.contains(said),
                "{text}"
            );
        }
        let before = studio.mails().len();
        let revised = owner.move_quote(&sent, "revisions", &json!({})).expect(200);
        let sent = owner.move_quote(&revised, "send", &json!({ "by_mail": false })).expect(200);
        studio.tick();
        assert_eq!(studio.mails().len(), before);
        let links = format!("/v1/quotes/{}/links", id(&sent));
        let problem = owner.post(&links, &json!({ "method": "LINK" })).problem(422, "invalid-value");
        assert_eq!(problem["errors"][0]["pointer"], "/contact");
        let link = owner.post(&links, &json!({ "method": "LINK", "contact": "+353 20 910 0000" })).expect(200);
        assert!(link["url"].as_str().unwrap().starts_with(&format!("{}/q/", studio.base)), "{link}");
        let signed = owner.note_yes(&sent, &[]).expect(200);
        studio.tick();
        assert_eq!(studio.mails().len(), before, "there is no address for a copy");
        assert_eq!(signed["latest"]["state"], "SIGNED");
    });
}

#[test]
fn quotes_are_numbered_under_the_shops_prefix_each_series_without_a_gap() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let (_, car, inspection) = owner.add_inspected_car("Aoife Byrne", "aoife@example.com");
        let number = || {
            let asked = draft(&id(&inspection), &["decontamination"], &[]);
            owner.write_quote(&id(&car), &asked).expect(201)["number"].as_str().unwrap().to_owned()
        };
        assert_eq!([number(), number()], ["Q-2026-0001", "Q-2026-0002"]);
        owner.change_terms(&json!({ "quote_prefix": "KV7" }));
        assert_eq!([number(), number()], ["KV7-2026-0001", "KV7-2026-0002"]);
        owner.change_terms(&json!({ "quote_prefix": "Q" }));
        assert_eq!(number(), "Q-2026-0003");
    });
}

#[test]
fn a_quote_whose_mail_was_lost_is_sent_once_more_as_it_was() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let sent = studio.sent_quote(MAIL, &["decontamination"], &[]);
        let again = json!({ "email": "aoife@other.example", "message": "Here it is again." });
        let after = owner.move_quote(&sent.view, "send-again", &again).expect(200);
        for kept in ["state", "digest", "document"] {
            assert_eq!(after["latest"][kept], sent.view["latest"][kept], "{kept}");
        }
        let token = studio.token_mailed_to("aoife@other.example");
        assert!(studio.mails_to("aoife@other.example")[0].text.contains("Here it is again."));
        assert_ne!(token, sent.token);
        // The first link goes on opening it.
        assert_eq!(studio.visitor(&sent.token).get("").status, 200);
        owner.move_quote(&sent.view, "send-again", &json!({})).problem(412, "changed-meanwhile");
        assert_eq!(studio.visitor(&token).accept(&[], "Aoife Byrne").status, 303);
        let signed = owner.get(&format!("/v1/quotes/{}", sent.id)).expect(200);
        owner.move_quote(&signed, "send-again", &json!({})).problem(409, "wrong-state");
    });
}
