//! Invoices: numbered without a gap, sealed, never changed, mailed whole.

mod credit;
mod of_quote;
mod tax_point;

use std::collections::BTreeSet;

use baywright_core::invoice::usecase::{draft, issue};
use baywright_core::platform::canonical::digest;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::db::Scope;
use baywright_core::platform::fail::{DbError, Fail};
use baywright_core::platform::identity::Role;
use baywright_core::platform::version::Seen;
use baywright_core::seal::usecase::verify_seals;
use baywright_domain::document::{Document, Line, Prices};
use baywright_domain::id::InvoiceId;
use baywright_domain::money::Currency;
use baywright_domain::tax::{Category, Profile, Rate, Treatment};
use baywright_tests::make::customer::trade_body;
use baywright_tests::make::invoice::{document, source};
use baywright_tests::{Studio, on_each_engine};
use diesel::{RunQueryDsl, sql_query};
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn eur(amount: &str) -> Value {
    json!({ "amount": amount, "currency": "EUR" })
}

#[test]
fn a_draft_is_issued_numbered_and_sealed() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let customer = desk.add_customer("Aoife Byrne");
        let path = studio.draft_invoice(&customer, &[(12_300, 23), (9_999, 23)]);
        let view = desk.get(&path).expect(200);
        assert_eq!((&view["state"], &view["number"], &view["digest"]), (&json!("DRAFT"), &Value::Null, &Value::Null));
        desk.get(&format!("{path}/sealed")).problem(404, "not-found");
        let issued = desk.act(&format!("{path}/issue"), "\"1\"", &json!({})).expect(200);
        assert_eq!((&issued["state"], &issued["number"]), (&json!("ISSUED"), &json!("INV-2026-0001")));
        assert_eq!((&issued["issued_on"], &issued["due_on"]), (&json!("2026-03-02"), &json!("2026-03-16")));
        assert_eq!((&issued["payable"], &issued["open"]), (&eur("222.99"), &eur("222.99")));
        let paper = &issued["document"];
        // 222.99 with 23 % in it: net 181.29, tax 41.70 (RULES of prices with tax: net = round(gross ÷ 1.23)).
        assert_eq!((&paper["totals"]["net"], &paper["totals"]["tax"]), (&eur("181.29"), &eur("41.70")));
        assert_eq!(paper["buyer"]["name"], "Aoife Byrne");
        // The worked form of ISO 11649: RF, two check digits, the number.
        assert!(paper["payment_reference"].as_str().unwrap().ends_with("INV20260001"), "{paper}");
        let sealed = desk.get(&format!("{path}/sealed"));
        assert_eq!(json!(digest(&sealed.text)), issued["digest"]);
        assert_eq!(&sealed.expect(200), paper);
        desk.act(&format!("{path}/issue"), "\"1\"", &json!({})).problem(412, "changed-meanwhile");
        desk.act(&format!("{path}/issue"), "\"2\"", &json!({})).problem(409, "wrong-state");
    });
}

#[test]
fn an_invoice_under_reverse_charge_is_only_issued_to_a_business_with_a_vat_number() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let treatment = Treatment::new(Category::ReverseCharge, Rate::ZERO).unwrap();
        let lines = vec![Line::new(Decimal::ONE, Decimal::new(10_000, 2), treatment)];
        let document = Document::new(Currency::EUR, Prices::Net, Profile::EN_16931, lines);
        let issued = |customer: &Value| {
            let mut source = source(customer, document.clone());
            source.lines[0].tax_reason = Some("Reverse charge".to_owned());
            let made = studio.in_shop(studio.shop(), |tx| draft(tx, &source));
            owner.act(&format!("/v1/invoices/{}/issue", made.id), "\"1\"", &json!({}))
        };
        let says = |refused: &Value, part: &str| {
            assert!(refused["detail"].as_str().unwrap().contains(part), "{refused}");
        };
        let private = owner.add_customer("Aoife Byrne");
        says(&issued(&private).problem(409, "reverse-charge-parties"), "private customer");
        let mut body = trade_body("Quay Motors");
        body["vat_id"] = Value::Null;
        let unknown = owner.post("/v1/customers?confirm=known-customer", &body).expect(201);
        says(&issued(&unknown).problem(409, "reverse-charge-parties"), "customer's VAT number");
        let dealer = owner.add_trade_customer("Harbour Motors");
        says(&issued(&dealer).problem(409, "reverse-charge-parties"), "shop's own VAT number");
        owner.change_shop(&json!({ "vat_id": "IE1234567FA" }));
        assert_eq!(issued(&dealer).expect(200)["number"], "INV-2026-0001");
    });
}

#[test]
fn forty_at_once_get_the_numbers_one_to_forty() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let drafts: Vec<String> = (0..40).map(|_| studio.draft_invoice(&customer, &[(10_000, 23)])).collect();
        std::thread::scope(|scope| {
            for path in &drafts {
                let owner = owner.clone();
                scope.spawn(move || {
                    let verb = format!("{path}/issue");
                    // One in three is tried in vain first: what is refused uses no number up.
                    if path.ends_with(['0', '3', '6', '9', 'c', 'f']) {
                        owner.act(&verb, "\"7\"", &json!({})).problem(412, "changed-meanwhile");
                    }
                    owner.act(&verb, "\"1\"", &json!({})).expect(200);
                });
            }
        });
        let all = owner.get("/v1/invoices?state=ISSUED&limit=200").expect(200);
        let numbers: BTreeSet<String> =
            all["items"].as_array().unwrap().iter().map(|i| i["number"].as_str().unwrap().to_owned()).collect();
        let wanted: BTreeSet<String> = (1..=40).map(|n| format!("INV-2026-{n:04}")).collect();
        assert_eq!(numbers, wanted);
    });
}

#[test]
fn an_issue_that_is_rolled_back_leaves_no_hole() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        for _ in 0..3 {
            let path = studio.draft_invoice(&customer, &[(10_000, 23)]);
            let id = InvoiceId::new(path.rsplit('/').next().unwrap());
            let done = studio.try_in_shop(studio.shop(), |tx| {
                let issued = issue(tx, &id, Seen(1))?;
                assert!(issued.number.is_some());
                Err::<(), Fail>(Fail::unexpected("the power went"))
            });
            assert!(done.is_err());
            assert_eq!(studio.owner().get(&path).expect(200)["number"], Value::Null);
        }
        assert_eq!(studio.issued_invoice(&customer, &[(10_000, 23)])["number"], "INV-2026-0001");
        assert_eq!(studio.issued_invoice(&customer, &[(10_000, 23)])["number"], "INV-2026-0002");
    });
}

#[test]
fn a_repeated_issue_is_one_issue() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let verb = format!("{}/issue", studio.draft_invoice(&customer, &[(10_000, 23)]));
        let headers = [("if-match", "\"1\""), ("idempotency-key", "one-issue")];
        let answers: Vec<_> = std::thread::scope(|scope| {
            let asked: Vec<_> =
                (0..8).map(|_| scope.spawn(|| owner.json("POST", &verb, &headers, &json!({})))).collect();
            asked.into_iter().map(|thread| thread.join().unwrap()).collect()
        });
        assert!(answers.iter().all(|answer| (answer.status, &answer.text) == (200, &answers[0].text)));
        assert_eq!(answers.iter().filter(|answer| answer.header("idempotency-replayed") == "true").count(), 7);
        owner.json("POST", &verb, &headers[..1], &json!({})).problem(400, "idempotency-key-required");
        owner.json("POST", &verb, &headers[1..], &json!({})).problem(428, "if-match-required");
        assert_eq!(studio.issued_invoice(&customer, &[(10_000, 23)])["number"], "INV-2026-0002");
    });
}

#[test]
fn another_prefix_starts_another_series_and_the_first_goes_on_where_it_was() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "INV-2026-0001");
        owner.change_terms(&json!({ "invoice_prefix": "R7" }));
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "R7-2026-0001");
        owner.change_terms(&json!({ "invoice_prefix": "INV" }));
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "INV-2026-0002");
    });
}

#[test]
fn each_year_and_each_shop_counts_from_one_and_the_day_is_the_shops_own() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "INV-2026-0001");
        // Half past eleven at night in UTC is the next day already in an Irish summer.
        studio.clock.set(UtcTime::parse("2026-06-30T23:30:00Z").unwrap());
        let summer = studio.issued_invoice(&customer, &[(100, 23)]);
        assert_eq!((&summer["number"], &summer["issued_on"]), (&json!("INV-2026-0002"), &json!("2026-07-01")));
        studio.clock.set(UtcTime::parse("2027-01-01T00:00:00Z").unwrap());
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "INV-2027-0001");
    });
}

/// Runs SQL that the database must refuse, and gives what it says.
fn refused(studio: &Studio, sql: &str) -> String {
    let done = studio.db.write(Scope::Program, |conn| {
        sql_query(sql).execute(conn).map_err(DbError::from)?;
        Ok(())
    });
    assert!(done.is_err(), "{sql}");
    format!("{done:?}")
}

#[test]
fn the_database_itself_keeps_an_issued_invoice_as_it_is() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        studio.issued_invoice(&customer, &[(10_000, 23)]);
        for change in
            ["document = '{}'", "number = 'INV-2026-0009'", "payable = 1", "due_on = '2027-01-01'", "digest = NULL"]
        {
            let said = refused(studio, &format!("UPDATE invoice SET {change}"));
            assert!(said.contains("never changes"), "{change}: {said}");
        }
        assert!(refused(studio, "DELETE FROM invoice").contains("never removed"));
        assert!(refused(studio, "UPDATE invoice SET state = 'DRAFT'").contains("never changes"));
        refused(studio, "UPDATE invoice SET open = -1");
        refused(studio, "UPDATE invoice SET state = 'PAID'");
        refused(studio, "UPDATE invoice SET paid = 1");
        assert_eq!(studio.in_shop(studio.shop(), verify_seals), []);
    });
}

#[test]
fn a_seal_that_no_longer_fits_its_document_is_found() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        studio.issued_invoice(&customer, &[(20_000, 23)]);
        // Somebody with the keys to the database takes the wall down first.
        let wall = if studio.db.is_sqlite() {
            "DROP TRIGGER invoice_is_final"
        } else {
            "DROP TRIGGER invoice_is_final ON invoice"
        };
        let forge = format!(
            "UPDATE invoice SET document = replace(document, '100.00', '10.00') WHERE id = '{}'",
            invoice["id"].as_str().unwrap()
        );
        studio
            .db
            .write(Scope::Program, |conn| {
                sql_query(wall).execute(conn).map_err(DbError::from)?;
                sql_query(&forge).execute(conn).map_err(DbError::from)?;
                Ok(())
            })
            .unwrap();
        let broken = studio.in_shop(studio.shop(), verify_seals);
        let broken: Vec<_> = broken.iter().map(|seal| (seal.kind, seal.id.as_str())).collect();
        assert_eq!(broken, [("invoice", invoice["id"].as_str().unwrap())]);
    });
}

#[test]
fn an_issued_invoice_is_mailed_whole_with_its_sealed_document() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let customer = desk.add_customer("Aoife Byrne");
        let path = studio.draft_invoice(&customer, &[(12_300, 23)]);
        desk.act(&format!("{path}/send"), "\"1\"", &json!({})).problem(409, "wrong-state");
        desk.act(&format!("{path}/issue"), "\"1\"", &json!({})).expect(200);
        let sent = desk.act(&format!("{path}/send"), "\"2\"", &json!({})).expect(200);
        assert_eq!(sent["mailed_at"], "2026-03-02T08:00:00Z");
        studio.tick();
        let mails = studio.mails_to("aoife.byrne@example.com");
        assert_eq!((mails.len(), mails[0].subject.as_str()), (1, "Invoice INV-2026-0001"));
        for said in [
            "INV-2026-0001",
            "EUR 123.00",
            "EUR 100.00",
            "VAT at 23 %",
            "EUR 23.00",
            "Monday 16 March 2026",
            "Service 1",
        ] {
            assert!(mails[0].text.contains(said) && mails[0].html.contains(said), "{said}: {}", mails[0].text);
        }
        let (name, kind, bytes) = &mails[0].attachments[0];
        assert_eq!((name.as_str(), kind.as_str()), ("INV-2026-0001.json", "application/json"));
        assert_eq!(String::from_utf8_lossy(bytes), desk.get(&format!("{path}/sealed")).text);
        let mut body = baywright_tests::make::customer::body("Brendan Walsh");
        body["emails"] = json!([]);
        body["consents"] = json!([]);
        let silent = desk.post("/v1/customers?confirm=known-customer", &body).expect(201);
        let path = studio.draft_invoice(&silent, &[(12_300, 23)]);
        desk.act(&format!("{path}/issue"), "\"1\"", &json!({})).expect(200);
        desk.act(&format!("{path}/send"), "\"2\"", &json!({})).problem(409, "no-mail-address");
    });
}

#[test]
fn only_the_owner_gives_an_invoice_up() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        studio.owner().pay(&customer, "40.00", &[&invoice]);
        let verb = format!("/v1/invoices/{}/write-off", invoice["id"].as_str().unwrap());
        let reason = json!({ "reason": "moved away" });
        studio.colleague(Role::Desk).act(&verb, "\"3\"", &reason).problem(403, "not-allowed");
        studio.owner().act(&verb, "\"2\"", &reason).problem(412, "changed-meanwhile");
        studio.owner().act(&verb, "\"3\"", &json!({ "reason": "" })).problem(400, "invalid-body");
        let gone = studio.owner().act(&verb, "\"3\"", &reason).expect(200);
        assert_eq!(
            (&gone["state"], &gone["written_off"], &gone["open"]),
            (&json!("WRITTEN_OFF"), &eur("60.00"), &eur("0.00"))
        );
        studio.owner().act(&verb, "\"4\"", &reason).problem(409, "wrong-state");
    });
}

#[test]
fn invoices_are_found_by_state_customer_number_and_lateness() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (one, other) = (owner.add_customer("Aoife Byrne"), owner.add_customer("Brendan Walsh"));
        let early = studio.issued_invoice(&one, &[(10_000, 23)]);
        studio.draft_invoice(&other, &[(100, 23)]);
        studio.pass_minutes(15 * 24 * 60);
        let owner = studio.owner();
        let late = studio.issued_invoice(&other, &[(20_000, 23)]);
        let found = |query: &str| {
            let list = owner.get(&format!("/v1/invoices?{query}")).expect(200);
            list["items"].as_array().unwrap().iter().map(|i| i["id"].clone()).collect::<Vec<_>>()
        };
        assert_eq!(found("state=ISSUED"), [late["id"].clone(), early["id"].clone()]);
        assert_eq!(found(&format!("customer_id={}", one["id"].as_str().unwrap())), [early["id"].clone()]);
        assert_eq!(found("number=INV-2026-0002"), [late["id"].clone()]);
        assert_eq!(found("due_before=2026-03-17"), [early["id"].clone()]);
        assert_eq!(found("state=DRAFT").len(), 1);
        let overdue = owner.get(&format!("/v1/invoices/{}", early["id"].as_str().unwrap())).expect(200);
        assert_eq!(overdue["overdue_days"], 1);
        owner.get("/v1/invoices?state=SOLD").problem(400, "invalid-query");
        studio.colleague(Role::Accountant).get("/v1/invoices").expect(200);
        studio.colleague(Role::Technician).get("/v1/invoices").problem(403, "not-allowed");
    });
}

#[test]
fn another_shop_and_another_role_reach_no_invoice() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        let path = studio.draft_invoice(&customer, &[(10_000, 23)]);
        let stranger = studio.stranger();
        for verb in ["issue", "send"] {
            stranger.act(&format!("{path}/{verb}"), "\"1\"", &json!({})).problem(404, "not-found");
            let accountant = studio.colleague(Role::Accountant);
            accountant.act(&format!("{path}/{verb}"), "\"1\"", &json!({})).problem(403, "not-allowed");
        }
        stranger.get(&path).problem(404, "not-found");
        stranger.get(&format!("{path}/sealed")).problem(404, "not-found");
        assert_eq!(stranger.get("/v1/invoices").expect(200)["items"], json!([]));
    });
}

#[test]
fn what_comes_to_nothing_is_paid_at_once_and_less_than_nothing_is_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        assert_eq!(studio.issued_invoice(&customer, &[(0, 23)])["state"], "PAID");
        let mut less = document(Prices::Net, &[(10_000, 23)]);
        less.prepaid = baywright_domain::money::Money::from_minor(99_999);
        let made = studio.in_shop(studio.shop(), |tx| draft(tx, &source(&customer, less.clone())));
        let verb = format!("/v1/invoices/{}/issue", made.id);
        owner.act(&verb, "\"1\"", &json!({})).problem(422, "negative-invoice");
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "INV-2026-0002");
    });
}
