//! Variations over HTTP: what changes while the car is in its bay.

use baywright_core::agreement::usecase::agreed;
use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_core::seal::usecase::verify_seals;
use baywright_domain::id::QuoteId;
use baywright_domain::money::Money;
use baywright_tests::answer::Answer;
use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::menu::prices;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use baywright_tests::studio::Studio;
use serde_json::{Value, json};

/// A car in its bay; gives the quote's id and the booking.
fn in_the_bay(studio: &Studio, services: &[&str]) -> (String, Value) {
    studio.floor();
    let quote = studio.signed_work(services);
    let owner = studio.owner();
    let booking = owner.book_first(&quote);
    (quote, owner.move_booking(&booking, "arrive", &json!({})).expect(200))
}

/// More work, by its code.
fn more(service: &str) -> Value {
    json!({ "reason": "Deep scratches under the dirt.", "lines": [{ "item": { "service": service } }] })
}

fn write(person: &Person, quote: &str, draft: &Value) -> Answer {
    person.post(&format!("/v1/quotes/{quote}/variations"), draft)
}

fn go(person: &Person, variation: &Value, verb: &str, body: &Value) -> Answer {
    let path = format!("/v1/variations/{}/{verb}", variation["id"].as_str().unwrap());
    person.act(&path, &format!("\"{}\"", variation["version"]), body)
}

fn yes_by_phone(person: &Person, variation: &Value) -> Answer {
    let body = json!({ "digest": variation["digest"], "name": "Aoife Byrne", "agreed": true, "early_start": true });
    go(person, variation, "sign-off", &body)
}

/// Lets a noted call be enough for every change in these tests.
fn calls_are_enough(owner: &Person) {
    owner.change_terms(&json!({ "call_tolerance": { "amount": "2000.00", "currency": "EUR" } }));
}

fn states(person: &Person, booking: &Value) -> Vec<(String, String)> {
    let jobs = person.get("/v1/jobs").expect(200);
    let job = jobs["items"].as_array().unwrap().iter().find(|job| job["booking_id"] == booking["id"]).unwrap();
    let job = person.get(&format!("/v1/jobs/{}", job["id"].as_str().unwrap())).expect(200);
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    job["steps"].as_array().unwrap().iter().map(|step| (text(&step["code"]), text(&step["state"]))).collect()
}

#[test]
fn a_variation_is_written_only_while_the_car_is_in_its_bay() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        let quote = studio.signed_work(&["wash"]);
        let unsigned = studio.sent_quote("nora.quirke@example.com", &["wash"], &[]).id;
        let none = owner.get(&format!("/v1/quotes/{unsigned}/variations")).expect(200);
        assert_eq!(none["items"], json!([]));
        write(&owner, &unsigned, &more("polish")).problem(409, "quote-not-signed");
        write(&owner, &quote, &more("polish")).problem(409, "work-not-begun");
        let booking = owner.book_first(&quote);
        write(&owner, &quote, &more("polish")).problem(409, "work-not-begun");
        let booking = owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let written = write(&owner, &quote, &more("polish"));
        assert!(written.header("location").starts_with("/v1/variations/"));
        let draft = written.expect(201);
        assert_eq!((&draft["state"], &draft["number"], &draft["version"]), (&json!("DRAFT"), &json!(1), &json!(1)));
        let all = owner.get(&format!("/v1/quotes/{quote}/variations")).expect(200);
        assert_eq!(all["items"][0]["id"], draft["id"]);
        let job = owner.get("/v1/jobs").expect(200)["items"][0]["id"].as_str().unwrap().to_owned();
        for step in ["wash", "final"] {
            let path = format!("/v1/jobs/{job}/steps/{step}");
            let etag = owner.get(&path).etag();
            owner.act(&format!("{path}/remove"), &etag, &json!({ "reason": "Not wanted" })).expect(200);
        }
        owner.move_booking(&booking, "ready", &json!({})).expect(200);
        write(&owner, &quote, &more("polish")).problem(409, "work-is-over");
        go(&owner, &draft, "send", &json!({})).problem(409, "work-is-over");
    });
}

#[test]
fn it_is_priced_from_the_menu_of_the_signed_quote_and_frozen_when_it_is_sent() {
    on_each_engine(|studio| {
        let (quote, _) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        // Everything becomes dearer after the customer signed.
        let mut dearer = floor_menu();
        for service in dearer["services"].as_array_mut().unwrap() {
            service["price"]["amounts"] = prices([900, 900, 900, 900]);
        }
        owner.publish_menu(&dearer);
        let draft = write(&owner, &quote, &more("polish")).expect(201);
        assert_eq!(draft["change"], json!({ "amount": "290.00", "currency": "EUR" }));
        assert_eq!(draft["document"]["lines"][0]["unit_price"]["amount"], "290.00");
        assert!(draft["document"]["number"].as_str().unwrap().ends_with("-V1"));
        let path = format!("/v1/variations/{}", draft["id"].as_str().unwrap());
        let changed = json!({
            "reason": "Deep scratches, and the customer asked for wax.",
            "lines": [{ "item": { "service": "polish" } },
                { "item": { "custom": { "name": "Wax", "price": { "amount": "35.50", "currency": "EUR" } } } }]
        });
        let draft = owner.put(&path, "\"1\"", &changed).expect(200);
        assert_eq!(draft["change"]["amount"], "325.50");
        let sent = go(&owner, &draft, "send", &json!({})).expect(200);
        assert_eq!((&sent["state"], &sent["needs"]), (&json!("SENT"), &json!("SIGNATURE")));
        assert_eq!(sent["digest"].as_str().map(str::len), Some(64));
        owner.put(&path, "\"3\"", &changed).problem(409, "wrong-state");
        go(&owner, &sent, "send", &json!({})).problem(409, "wrong-state");
        studio.tick();
        let mail = studio.mails_to("aoife.byrne@example.com").pop().unwrap();
        assert!(mail.subject.starts_with("A change to quote Q-2026-0001"), "{}", mail.subject);
        let said = [
            "and the customer asked for wax",
            "EUR 325.50",
            "EUR 90.00",
            "EUR 415.50",
            "We will not start on this before you accept",
        ];
        for said in said {
            assert!(mail.text.contains(said) && mail.html.contains(said), "{said}: {}", mail.text);
        }
        assert!(mail.link(&format!("{}/q/", studio.base)).is_some());
    });
}

#[test]
fn a_call_is_enough_only_within_the_tolerance_of_the_shop() {
    on_each_engine(|studio| {
        let (quote, booking) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        let draft = write(&owner, &quote, &more("polish")).expect(201);
        let unseen = json!({ "digest": "0".repeat(64), "name": "Aoife Byrne", "agreed": true });
        go(&owner, &draft, "sign-off", &unseen).problem(409, "wrong-state");
        let sent = go(&owner, &draft, "send", &json!({ "by_mail": false })).expect(200);
        yes_by_phone(&owner, &sent).problem(409, "needs-signature");
        owner.change_terms(&json!({ "call_tolerance": { "amount": "289.99", "currency": "EUR" } }));
        yes_by_phone(&owner, &sent).problem(409, "needs-signature");
        assert_eq!(states(&owner, &booking).len(), 2);
        owner.change_terms(&json!({ "call_tolerance": { "amount": "290.00", "currency": "EUR" } }));
        let signed = yes_by_phone(&owner, &sent).expect(200);
        assert_eq!((&signed["state"], &signed["needs"]), (&json!("SIGNED"), &json!("NOTED_CALL")));
        assert_eq!(signed["signoff"]["method"], "PHONE");
        assert_eq!(signed["signoff"]["document_digest"], sent["digest"]);
        yes_by_phone(&owner, &signed).problem(409, "wrong-state");
        assert_eq!(studio.in_shop(studio.shop(), verify_seals), []);
    });
}

#[test]
fn signed_on_the_studios_device_it_needs_no_tolerance_and_the_link_is_spent() {
    on_each_engine(|studio| {
        let (quote, booking) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        let draft = write(&owner, &quote, &more("polish")).expect(201);
        let links = format!("/v1/variations/{}/links", draft["id"].as_str().unwrap());
        owner.json("POST", &links, &[], &json!({ "method": "IN_PERSON" })).problem(409, "wrong-state");
        go(&owner, &draft, "send", &json!({ "by_mail": false })).expect(200);
        let link = owner.json("POST", &links, &[], &json!({ "method": "IN_PERSON" })).expect(200);
        let visitor = studio.visitor_at(link["url"].as_str().unwrap());
        let form = visitor.form(&[], "Aoife Byrne");
        assert_eq!(visitor.post("/accept", &form, &[]).status, 303);
        let signed = owner.get(&format!("/v1/variations/{}", draft["id"].as_str().unwrap())).expect(200);
        assert_eq!((&signed["state"], &signed["signoff"]["method"]), (&json!("SIGNED"), &json!("IN_PERSON")));
        assert!(signed["signoff"]["noted_by"].is_string());
        assert_eq!(states(&owner, &booking).len(), 3);
        assert_eq!(visitor.post("/accept", &form, &[]).status, 409);
        assert_eq!(states(&owner, &booking).len(), 3);
    });
}

#[test]
fn once_signed_its_work_joins_the_plan_and_the_job_under_way() {
    on_each_engine(|studio| {
        let (quote, booking) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        calls_are_enough(&owner);
        let draft = write(&owner, &quote, &more("coating")).expect(201);
        let sent = go(&owner, &draft, "send", &json!({ "by_mail": false })).expect(200);
        let plan = format!("/v1/quotes/{quote}/plan");
        assert_eq!(owner.get(&plan).expect(200)["version"], 1);
        let signed = yes_by_phone(&owner, &sent).expect(200);
        let plan = owner.get(&plan).expect(200);
        assert_eq!((&plan["version"], &plan["variation_ids"]), (&json!(2), &json!([signed["id"]])));
        assert_eq!(plan["work"]["attended_minutes"], 60 + 120 + 60 + 15);
        let open = |code: &str| (code.to_owned(), "OPEN".to_owned());
        assert_eq!(states(&owner, &booking), [open("wash"), open("machine"), open("coat"), open("final")]);
        // The customer has a copy with the sealed record.
        studio.tick();
        let mail = studio.mails_to("aoife.byrne@example.com").pop().unwrap();
        assert!(mail.subject.starts_with("Your copy: change Q-2026-0001-V1"), "{}", mail.subject);
        let sealed: Value = serde_json::from_slice(&mail.attachments[0].2).unwrap();
        assert_eq!(sealed["document_digest"], sent["digest"]);
        assert_eq!(sealed["document"]["variation_of"], "Q-2026-0001");
        // What was agreed twice is done once where other work shares its steps.
        let confirmed = format!("/v1/quotes/{quote}/variations?confirm=service-sold-again");
        let again = owner.post(&confirmed, &more("wash")).expect(201);
        let again = go(&owner, &again, "send?confirm=service-sold-again", &json!({ "by_mail": false })).expect(200);
        yes_by_phone(&owner, &again).expect(200);
        assert_eq!(states(&owner, &booking).len(), 4);
    });
}

#[test]
fn what_falls_away_is_taken_off_the_price_and_its_steps_are_removed() {
    on_each_engine(|studio| {
        let (quote, booking) = in_the_bay(studio, &["wash", "coating"]);
        let owner = studio.owner();
        calls_are_enough(&owner);
        let less = |places: &[u32]| json!({ "reason": "The paint is too thin to polish.", "dropped": places });
        let refused = |draft: &Value| {
            let problem = write(&owner, &quote, draft).problem(422, "invalid-value");
            problem["errors"][0]["pointer"].as_str().unwrap().to_owned()
        };
        assert_eq!(refused(&less(&[2])), "/dropped/0");
        assert_eq!(refused(&less(&[1, 1])), "/dropped/1");
        assert_eq!(refused(&less(&[])), "/lines");
        assert_eq!(refused(&json!({ "reason": " ", "dropped": [1] })), "/reason");
        let draft = write(&owner, &quote, &less(&[1])).expect(201);
        assert_eq!(draft["change"]["amount"], "-590.00");
        assert_eq!(draft["document"]["lines"][0]["quantity"], "-1");
        let rival = write(&owner, &quote, &less(&[1])).expect(201);
        let rival = go(&owner, &rival, "send", &json!({ "by_mail": false })).expect(200);
        let sent = go(&owner, &draft, "send", &json!({ "by_mail": false })).expect(200);
        yes_by_phone(&owner, &sent).expect(200);
        yes_by_phone(&owner, &rival).problem(409, "variation-outdated");
        let said = |code: &str, state: &str| (code.to_owned(), state.to_owned());
        let now = states(&owner, &booking);
        for step in [said("wash", "OPEN"), said("machine", "REMOVED"), said("coat", "REMOVED"), said("final", "OPEN")] {
            assert!(now.contains(&step), "{step:?}: {now:?}");
        }
        assert_eq!(refused(&less(&[1])), "/dropped/0");
        // What is owed is what is left.
        let agreed = studio.in_shop(studio.shop(), |tx| agreed(tx, &QuoteId::new(quote.as_str())));
        let owed: Money = std::iter::once(&agreed.quote.totals)
            .chain(agreed.variations.iter().map(|variation| &variation.totals))
            .map(baywright_domain::document::Totals::promised)
            .sum();
        assert_eq!(owed, Money::from_minor(9_000));
        assert_eq!(agreed.services().len(), 1);
    });
}

#[test]
fn what_falls_away_is_given_back_at_what_it_cost_where_the_whole_had_a_discount() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        owner.publish_menu(&floor_menu());
        calls_are_enough(&owner);
        let (_, car) = owner.add_customer_with_car();
        let line = |service: &str| json!({ "item": { "service": service } });
        let draft = json!({
            "condition": "FAIR", "lines": [line("wash"), line("polish")],
            "discounts": [{ "off": { "percent": "10" }, "reason": "A club member" }]
        });
        let written = owner.write_quote(car["id"].as_str().unwrap(), &draft).expect(201);
        let sent = owner.move_quote(&written, "send", &json!({ "by_mail": false })).expect(200);
        let quote = owner.note_yes(&sent, &[]).expect(200)["id"].as_str().unwrap().to_owned();
        // 90 and 290 less a tenth.
        assert_eq!(sent["latest"]["document"]["required_totals"]["payable"]["amount"], "342.00");
        let booking = owner.book_first(&quote);
        owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let less = |places: &[u32]| json!({ "reason": "The paint is too thin to polish.", "dropped": places });
        let one = write(&owner, &quote, &less(&[1])).expect(201);
        assert_eq!(one["change"]["amount"], "-261.00");
        let all = write(&owner, &quote, &less(&[0, 1])).expect(201);
        assert_eq!(all["change"]["amount"], "-342.00");
        let sent = go(&owner, &one, "send", &json!({ "email": "aoife@example.com" })).expect(200);
        // Less is said in one way, on the page and in the mail: the discount that went with the work is taken back.
        let page = studio.visitor(&studio.token_mailed_to("aoife@example.com")).get("").text;
        for said in [
            "discounts: <span class=\"whole\">EUR 29.00</span>",
            "−EUR 261.00",
            "<dt>VAT at 23 %</dt><dd class=\"amount\">−EUR",
        ] {
            assert!(page.contains(said), "{said}: {page}");
        }
        let mail = studio.mails_to("aoife@example.com").pop().unwrap().text;
        assert!(mail.contains("−EUR 261.00"), "{mail}");
        for other in ["EUR -", "-EUR", "− EUR"] {
            assert!(!page.contains(other) && !mail.contains(other), "{other}: {page}{mail}");
        }
        let owner = studio.owner();
        yes_by_phone(&owner, &sent).expect(200);
        let invoice = owner.post("/v1/invoices", &json!({ "quote_id": quote })).expect(201);
        assert_eq!(invoice["payable"]["amount"], "81.00");
        // Once it is issued, a change could not be charged any more.
        let path = format!("/v1/invoices/{}", invoice["id"].as_str().unwrap());
        owner.act(&format!("{path}/issue"), "\"1\"", &json!({})).expect(200);
        write(&owner, &quote, &more("wash")).problem(409, "invoiced-already");
    });
}

#[test]
fn the_mail_about_a_discount_has_lines_that_come_to_its_total() {
    on_each_engine(|studio| {
        let (quote, _) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        let off = json!({ "amount": { "amount": "9.00", "currency": "EUR" } });
        let less = json!({
            "reason": "No tyre care.", "dropped": [0],
            "lines": [{ "item": { "service": "wash" }, "discount": { "off": off, "reason": "Without tyre care" } }]
        });
        let draft = write(&owner, &quote, &less).expect(201);
        assert_eq!(draft["change"]["amount"], "-9.00");
        go(&owner, &draft, "send", &json!({ "email": "aoife@example.com" })).expect(200);
        studio.tick();
        let mail = studio.mails_to("aoife@example.com").pop().unwrap().text;
        assert!(mail.contains("  After a discount of EUR 9.00: Without tyre care"), "{mail}");
        // 81.00 for the wash as it is done now, and 90.00 less for the one that was agreed.
        for line in ["wash: EUR 81.00", "wash: −EUR 90.00", ": −EUR 9.00"] {
            assert_eq!(mail.lines().filter(|said| said.ends_with(line)).count(), 1, "{line}: {mail}");
        }
        assert!(!mail.contains("1 ×"), "{mail}");
    });
}

#[test]
fn the_invoice_has_what_was_signed_and_what_changed_and_a_stale_draft_is_not_issued() {
    on_each_engine(|studio| {
        let (quote, _) = in_the_bay(studio, &["wash", "coating"]);
        let owner = studio.owner();
        calls_are_enough(&owner);
        let early = owner.post("/v1/invoices", &json!({ "quote_id": quote })).expect(201);
        assert_eq!(early["payable"]["amount"], "680.00");
        let draft = json!({
            "reason": "Polished instead of coated.", "dropped": [1], "lines": [{ "item": { "service": "polish" } }]
        });
        let draft = write(&owner, &quote, &draft).expect(201);
        assert_eq!(draft["change"]["amount"], "-300.00");
        let sent = go(&owner, &draft, "send", &json!({ "by_mail": false })).expect(200);
        yes_by_phone(&owner, &sent).expect(200);
        let path = format!("/v1/invoices/{}", early["id"].as_str().unwrap());
        let issue = format!("{path}/issue");
        assert_eq!(owner.act(&issue, "\"1\"", &json!({})).status, 409);
        let anew = owner.put(&path, "\"1\"", &json!({})).expect(200);
        assert_eq!(anew["payable"]["amount"], "380.00");
        let lines: Vec<(&str, &str, &str)> = anew["document"]["lines"]
            .as_array()
            .unwrap()
            .iter()
            .map(|line| {
                let text = |name: &str| line[name].as_str().unwrap();
                (text("origin"), text("quantity"), line["amount"]["amount"].as_str().unwrap())
            })
            .collect();
        let (quote, variation) = ("Q-2026-0001", "Q-2026-0001-V1");
        assert_eq!(lines[..2], [(quote, "1", "90.00"), (quote, "1", "590.00")]);
        assert_eq!(lines[2..], [(variation, "1", "290.00"), (variation, "-1", "-590.00")]);
        owner.act(&issue, "\"2\"", &json!({})).expect(200);
    });
}

#[test]
fn work_that_cannot_go_together_or_is_not_on_the_menu_is_refused() {
    on_each_engine(|studio| {
        let (quote, _) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        write(&owner, &quote, &more("nothing")).problem(422, "quote-not-priceable");
        let lines = vec![json!({ "item": { "service": "wash" } }); 41];
        write(&owner, &quote, &json!({ "reason": "Much", "lines": lines })).problem(400, "invalid-body");
        write(&owner, &quote, &json!({ "reason": "x", "dropped": [60] })).problem(400, "invalid-body");
        owner
            .post("/v1/quotes/0198c0de-0000-7000-8000-000000000001/variations", &more("wash"))
            .problem(404, "not-found");
    });
}

#[test]
fn a_no_leaves_everything_as_it_was() {
    on_each_engine(|studio| {
        let (quote, booking) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        let draft = write(&owner, &quote, &more("polish")).expect(201);
        go(&owner, &draft, "decline", &json!({ "reason": "No" })).problem(409, "wrong-state");
        let sent = go(&owner, &draft, "send", &json!({ "by_mail": false })).expect(200);
        let body = json!({ "reason": "Too dear" });
        let no = go(&owner, &sent, "decline", &body).expect(200);
        assert_eq!((&no["state"], &no["decline_reason"]), (&json!("DECLINED"), &json!("Too dear")));
        yes_by_phone(&owner, &no).problem(409, "wrong-state");
        let link = format!("/v1/variations/{}/links", no["id"].as_str().unwrap());
        owner.json("POST", &link, &[], &json!({ "method": "IN_PERSON" })).problem(409, "wrong-state");
        assert_eq!(states(&owner, &booking).len(), 2);
        assert_eq!(owner.get(&format!("/v1/quotes/{quote}/plan")).expect(200)["version"], 1);
    });
}

#[test]
fn another_shop_and_another_role_reach_no_variation() {
    on_each_engine(|studio| {
        let (quote, _) = in_the_bay(studio, &["wash"]);
        let draft = write(&studio.owner(), &quote, &more("polish")).expect(201);
        let path = format!("/v1/variations/{}", draft["id"].as_str().unwrap());
        let stranger = studio.stranger();
        stranger.get(&path).problem(404, "not-found");
        stranger.put(&path, "\"1\"", &more("wash")).problem(404, "not-found");
        go(&stranger, &draft, "send", &json!({})).problem(404, "not-found");
        write(&stranger, &quote, &more("polish")).problem(404, "not-found");
        stranger.get(&format!("/v1/quotes/{quote}/variations")).problem(404, "not-found");
        studio.colleague(Role::Accountant).get(&path).expect(200);
        write(&studio.colleague(Role::Accountant), &quote, &more("wash")).problem(403, "not-allowed");
        studio.colleague(Role::Technician).get(&path).problem(403, "not-allowed");
        studio.nobody().get(&path).problem(401, "not-signed-in");
        studio.owner().put(&path, "\"9\"", &more("wash")).problem(412, "changed-meanwhile");
    });
}

#[test]
fn the_database_itself_keeps_what_was_sent() {
    use baywright_core::schema::variation;
    use diesel::prelude::*;
    on_each_engine(|studio| {
        let (quote, _) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        let draft = write(&owner, &quote, &more("polish")).expect(201);
        go(&owner, &draft, "send", &json!({ "by_mail": false })).expect(200);
        let tried = |sql: &str| {
            let fail = studio.try_in_shop(studio.shop(), |tx| {
                diesel::sql_query(sql).execute(tx.conn).map_err(DbError::from)?;
                Ok(())
            });
            format!("{:?}", fail.unwrap_err())
        };
        assert!(tried("UPDATE variation SET document = '{}'").contains("never changes"));
        assert!(tried("UPDATE variation SET state = 'DRAFT'").contains("no such move"));
        assert!(tried("DELETE FROM variation").contains("never removed"));
        let there: i64 = studio
            .in_shop(studio.shop(), |tx| Ok(variation::table.count().get_result(tx.conn).map_err(DbError::from)?));
        assert_eq!(there, 1);
    });
}

#[test]
fn the_car_is_not_ready_while_a_variation_is_with_the_customer() {
    on_each_engine(|studio| {
        let (quote, booking) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        let written = write(&owner, &quote, &more("polish")).expect(201);
        let sent = go(&owner, &written, "send", &json!({})).expect(200);
        let jobs = owner.get("/v1/jobs").expect(200);
        let job = jobs["items"][0]["id"].as_str().unwrap();
        for code in ["wash", "final"] {
            for verb in ["start", "finish"] {
                let path = format!("/v1/jobs/{job}/steps/{code}");
                let seen = owner.get(&path).etag();
                let body = if verb == "finish" { json!({ "used": [] }) } else { json!({}) };
                owner.act(&format!("{path}/{verb}"), &seen, &body).expect(200);
            }
        }
        owner.move_booking(&booking, "ready", &json!({})).problem(409, "variation-unanswered");
        go(&owner, &sent, "decline", &json!({ "reason": "Not today." })).expect(200);
        owner.move_booking(&booking, "ready", &json!({})).expect(200);
    });
}

#[test]
fn selling_a_signed_service_again_is_asked_for_and_then_both_are_planned() {
    on_each_engine(|studio| {
        let (quote, _) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        calls_are_enough(&owner);
        let refused = write(&owner, &quote, &more("wash")).problem(409, "service-sold-again");
        assert!(refused["detail"].as_str().unwrap().contains("wash"), "{refused}");
        // With its signed line taken back it is no second sale.
        let mut instead = more("wash");
        instead["lines"][0]["quantity"] = json!("2");
        instead["dropped"] = json!([0]);
        assert_eq!(write(&owner, &quote, &instead).expect(201)["change"]["amount"], "90.00");
        let mut many = instead.clone();
        many["lines"][0]["quantity"] = json!("11");
        let refused = write(&owner, &quote, &many).problem(422, "quote-not-priceable");
        assert_eq!(
            (&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]),
            (&json!("/lines/0/quantity"), &json!("too_many"))
        );

        let path = format!("/v1/quotes/{quote}/variations?confirm=service-sold-again");
        let draft = owner.post(&path, &more("wash")).expect(201);
        let path = format!("/v1/variations/{}", draft["id"].as_str().unwrap());
        owner.put(&path, "\"1\"", &more("wash")).problem(409, "service-sold-again");
        go(&owner, &draft, "send", &json!({ "by_mail": false })).problem(409, "service-sold-again");
        let sent = go(&owner, &draft, "send?confirm=service-sold-again", &json!({ "by_mail": false })).expect(200);
        yes_by_phone(&owner, &sent).expect(200);
        let plan = owner.get(&format!("/v1/quotes/{quote}/plan")).expect(200);
        let plan = &plan["work"];
        assert_eq!((&plan["attended_minutes"], &plan["steps"][0]["budget"]["quantity"]), (&json!(150), &json!("2")));
    });
}

#[test]
fn one_service_in_two_open_variations_is_asked_about_and_signed_once() {
    on_each_engine(|studio| {
        let (quote, _) = in_the_bay(studio, &["wash"]);
        let owner = studio.owner();
        calls_are_enough(&owner);
        let first = write(&owner, &quote, &more("coating")).expect(201);
        let second = write(&owner, &quote, &more("coating")).expect(201);
        let silent = json!({ "by_mail": false });
        let first = go(&owner, &first, "send", &silent).expect(200);
        let refused = go(&owner, &second, "send", &silent).problem(409, "service-offered-twice");
        let said = refused["detail"].as_str().unwrap();
        assert!(said.contains("variation 1 yet") && said.contains("Decline that one first"), "{said}");
        let second = go(&owner, &second, "send?confirm=service-offered-twice", &silent).expect(200);
        yes_by_phone(&owner, &first).expect(200);
        let refused = yes_by_phone(&owner, &second).problem(409, "variation-outdated");
        assert!(refused["detail"].as_str().unwrap().contains("already agreed by another variation"), "{refused}");
        go(&owner, &second, "decline", &json!({ "reason": "Sent twice." })).expect(200);
        // What is meant to be done twice is written anew.
        studio.pass_minutes(1);
        let path = format!("/v1/quotes/{quote}/variations?confirm=service-sold-again");
        let again = owner.post(&path, &more("coating")).expect(201);
        let again = go(&owner, &again, "send?confirm=service-sold-again", &silent).expect(200);
        yes_by_phone(&owner, &again).expect(200);
    });
}
