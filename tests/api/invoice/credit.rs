//! Credit notes: mirrored by line, never more than is left; corrections; drafts that are discarded.

use baywright_core::platform::canonical::digest;
use baywright_core::platform::identity::Role;
use baywright_core::seal::usecase::verify_seals;
use baywright_tests::answer::Answer;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

use super::eur;

fn path(invoice: &Value) -> String {
    format!("/v1/invoices/{}", invoice["id"].as_str().unwrap())
}

fn credit(person: &Person, invoice: &Value, lines: &Value) -> Answer {
    let etag = person.get(&path(invoice)).etag();
    let body = json!({ "reason": "The wheels were not coated", "lines": lines });
    person.act(&format!("{}/credit-notes", path(invoice)), &etag, &body)
}

#[test]
fn lines_are_credited_and_never_more_than_is_left_of_them() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let customer = desk.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(12_300, 23), (9_999, 23)]);
        desk.pay(&customer, "200.00", &[&invoice]);
        credit(&studio.colleague(Role::Accountant), &invoice, &json!([])).problem(403, "not-allowed");
        let left = desk.get(&format!("{}/creditable", path(&invoice))).expect(200);
        assert_eq!((&left["lines"][1]["left"], &left["left"]), (&eur("99.99"), &eur("222.99")));
        let too_much = json!([{ "line": 1, "amount": eur("100.00") }]);
        credit(&desk, &invoice, &too_much).problem(409, "credit-exceeds-invoice");
        credit(&desk, &invoice, &json!([{ "line": 2 }])).problem(422, "credit-line");
        credit(&desk, &invoice, &json!([{ "line": 1 }, { "line": 1 }])).problem(422, "credit-line");
        let first = credit(&desk, &invoice, &json!([{ "line": 1, "amount": eur("50.00") }])).expect(201);
        assert_eq!((&first["number"], &first["payable"]), (&json!("CRN-2026-0001"), &eur("50.00")));
        let paper = &first["document"];
        assert_eq!((&paper["kind"], &paper["lines"][0]["name"]), (&json!("CREDIT_NOTE"), &json!("Service 2")));
        assert_eq!(paper["preceding"], json!([{ "number": "INV-2026-0001", "issued_on": "2026-03-02" }]));
        let sealed = desk.get(&format!("/v1/credit-notes/{}/sealed", first["id"].as_str().unwrap()));
        assert_eq!((json!(digest(&sealed.text)), &sealed.json()), (first["digest"].clone(), paper));
        // 22.99 were open: they are covered first, and 27.01 of the payment are the customer's again.
        let now = desk.get(&path(&invoice)).expect(200);
        assert_eq!(
            (&now["state"], &now["open"], &now["credited"], &now["paid"]),
            (&json!("PAID"), &eur("0.00"), &eur("50.00"), &eur("172.99"))
        );
        let account = format!("/v1/customers/{}/account", customer["id"].as_str().unwrap());
        assert_eq!(desk.get(&account).expect(200)["credit"], eur("27.01"));
        credit(&desk, &invoice, &json!([{ "line": 1, "amount": eur("50.00") }])).problem(409, "credit-exceeds-invoice");
        let rest = credit(&desk, &invoice, &json!([])).expect(201);
        assert_eq!((&rest["payable"], &rest["takes_all"]), (&eur("172.99"), &json!(true)));
        let now = desk.get(&path(&invoice)).expect(200);
        assert_eq!((&now["state"], &now["paid"]), (&json!("CREDITED"), &eur("0.00")));
        let view = desk.get(&account).expect(200);
        assert_eq!(
            (&view["credit"], &view["invoiced"], &view["credited"]),
            (&eur("200.00"), &eur("222.99"), &eur("222.99"))
        );
        credit(&desk, &invoice, &json!([])).problem(422, "credit-nothing");
        let list = desk.get(&format!("/v1/credit-notes?invoice_id={}", invoice["id"].as_str().unwrap())).expect(200);
        assert_eq!(list["items"].as_array().unwrap().len(), 2);
        assert_eq!(studio.in_shop(studio.shop(), verify_seals), []);
        studio.stranger().get(&format!("/v1/credit-notes/{}", first["id"].as_str().unwrap())).problem(404, "not-found");
    });
}

#[test]
fn a_wrong_invoice_is_credited_and_drafted_again_in_one_step() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let quote = studio.signed_quote("aoife@example.com", &["decontamination"], &["interior"], &[1]);
        let draft = owner.post("/v1/invoices", &json!({ "quote_id": quote.id })).expect(201);
        let issued = owner.act(&format!("{}/issue", path(&draft)), "\"1\"", &json!({})).expect(200);
        owner.post("/v1/invoices", &json!({ "quote_id": quote.id })).problem(409, "invoiced-already");
        let done = owner.act(&format!("{}/correct", path(&issued)), "\"2\"", &json!({ "reason": "Wrong name" }));
        let done = done.expect(201);
        assert_eq!(done["credit_note"]["payable"], eur("355.00"));
        let new = &done["draft"];
        assert_eq!(
            (&new["state"], &new["payable"], &new["quote_id"]),
            (&json!("DRAFT"), &eur("355.00"), &json!(quote.id))
        );
        assert_eq!(new["document"]["tax_point"], issued["document"]["tax_point"]);
        // What it bills is claimed by the draft, until that is discarded.
        owner.post("/v1/invoices", &json!({ "quote_id": quote.id })).problem(409, "invoiced-already");
        let again = owner.act(&format!("{}/issue", path(new)), "\"1\"", &json!({})).expect(200);
        assert_eq!((&again["number"], &again["open"]), (&json!("INV-2026-0002"), &eur("355.00")));
        owner
            .act(&format!("{}/correct", path(&issued)), "\"3\"", &json!({ "reason": "Again" }))
            .problem(422, "credit-nothing");
        let view = owner.get(&format!("/v1/customers/{}/account", quote.customer)).expect(200);
        assert_eq!(
            (&view["invoiced"], &view["credited"], &view["open"]),
            (&eur("710.00"), &eur("355.00"), &eur("355.00"))
        );
    });
}

#[test]
fn a_draft_can_be_discarded_and_an_issued_invoice_can_t() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let quote = studio.signed_quote("aoife@example.com", &["decontamination"], &[], &[]);
        let of = json!({ "quote_id": quote.id });
        let draft = desk.post("/v1/invoices", &of).expect(201);
        desk.post("/v1/invoices", &of).problem(409, "invoiced-already");
        let discard = |etag: &str| desk.json("DELETE", &path(&draft), &[("if-match", etag)], &json!(null));
        assert!(discard("\"7\"").status >= 400);
        assert_eq!(desk.send("DELETE", &path(&draft), &[("if-match", "\"1\"")], None).status, 204);
        desk.get(&path(&draft)).problem(404, "not-found");
        let second = desk.post("/v1/invoices", &of).expect(201);
        desk.act(&format!("{}/issue", path(&second)), "\"1\"", &json!({})).expect(200);
        desk.send("DELETE", &path(&second), &[("if-match", "\"2\"")], None).problem(409, "wrong-state");
        // No number was spent on what was discarded.
        assert_eq!(desk.get(&path(&second)).expect(200)["number"], "INV-2026-0001");
    });
}

#[test]
fn a_dispute_stops_letters_until_it_ends() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        let desk = studio.colleague(Role::Desk);
        let reason = json!({ "reason": "not what was agreed" });
        let disputed = desk.act(&format!("{}/dispute", path(&invoice)), "\"2\"", &reason).expect(200);
        assert_eq!(disputed["disputed_on"], "2026-03-02");
        desk.act(&format!("{}/dispute", path(&invoice)), "\"3\"", &reason).problem(409, "wrong-state");
        let letters = || studio.mails().iter().filter(|mail| mail.subject.contains("eminder of invoice")).count();
        // A Monday, four weeks after the due date.
        studio.pass_minutes(42 * 24 * 60);
        studio.tick();
        assert_eq!(letters(), 0);
        let owner = studio.owner();
        owner.act(&format!("{}/end-dispute", path(&invoice)), "\"3\"", &json!({})).expect(200);
        studio.pass_minutes(15);
        studio.tick();
        assert_eq!(letters(), 1);
    });
}

#[test]
fn a_credit_note_is_mailed_whole() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let customer = desk.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(12_300, 23)]);
        let note = credit(&desk, &invoice, &json!([])).expect(201);
        let send = format!("/v1/credit-notes/{}/send", note["id"].as_str().unwrap());
        assert_eq!(desk.act(&send, "\"1\"", &json!({})).expect(200)["mailed_at"], "2026-03-02T08:00:00Z");
        studio.tick();
        let mail = studio.mails_to("aoife.byrne@example.com").pop().unwrap();
        assert_eq!(mail.subject, "Credit note CRN-2026-0001");
        for said in ["INV-2026-0001", "EUR 123.00", "The wheels were not coated", "Service 1"] {
            assert!(mail.text.contains(said) && mail.html.contains(said), "{said}: {}", mail.text);
        }
    });
}
