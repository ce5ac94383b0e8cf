//! Invoices of signed quotes, with the variations that were signed after them.

use baywright_core::platform::identity::Role;
use baywright_tests::make::customer::trade_body;
use baywright_tests::make::quote::draft;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

use super::eur;

const EMAIL: &str = "aoife@example.com";

fn of(quote: &str) -> Value {
    json!({ "quote_id": quote })
}

fn path(invoice: &Value) -> String {
    format!("/v1/invoices/{}", invoice["id"].as_str().unwrap())
}

/// The text at that place in each line.
fn column(invoice: &Value, field: &str) -> Vec<String> {
    let lines = invoice["document"]["lines"].as_array().unwrap();
    lines.iter().map(|line| line[field]["amount"].as_str().or(line[field].as_str()).unwrap().to_owned()).collect()
}

#[test]
fn an_invoice_charges_what_was_signed_at_the_prices_that_were_signed() {
    on_each_engine(|studio| {
        let signed = studio.signed_quote(EMAIL, &["decontamination"], &["interior", "coating"], &[1]);
        let desk = studio.colleague(Role::Desk);
        let made = desk.post("/v1/invoices", &of(&signed.id));
        assert_eq!(made.header("location"), path(&made.json()));
        let invoice = made.expect(201);
        assert_eq!((&invoice["state"], &invoice["quote_id"]), (&json!("DRAFT"), &json!(signed.id)));
        assert_eq!(column(&invoice, "name"), ["decontamination", "interior"]);
        assert_eq!(column(&invoice, "amount"), ["175.00", "180.00"]);
        let paper = &invoice["document"];
        assert_eq!((&paper["quote_number"], &paper["prices"]), (&json!("Q-2026-0001"), &json!("GROSS")));
        assert!(paper["vehicle"].as_str().unwrap().ends_with("231-D-10101"), "{paper}");
        // 355.00 with 23 % in it: 288.62 and 66.38 (RULES, prices including tax).
        let totals = &paper["totals"];
        assert_eq!((&totals["net"], &totals["tax"]), (&eur("288.62"), &eur("66.38")));
        assert_eq!((&totals["payable"], &invoice["payable"]), (&eur("355.00"), &eur("355.00")));
        let tax = json!({ "category": "S", "rate": "23", "taxable": eur("288.62"), "tax": eur("66.38") });
        assert_eq!(totals["taxes"], json!([tax]));
        desk.post("/v1/invoices", &of(&signed.id)).problem(409, "invoiced-already");
        let issued = desk.act(&format!("{}/issue", path(&invoice)), "\"1\"", &json!({})).expect(200);
        assert_eq!(issued["number"], "INV-2026-0001");
        let found = desk.get(&format!("/v1/invoices?quote_id={}", signed.id)).expect(200);
        assert_eq!(found["items"][0]["number"], "INV-2026-0001");
    });
}

#[test]
fn a_discount_on_the_whole_is_what_it_came_to() {
    on_each_engine(|studio| {
        let quote = studio.sent_quote_with(EMAIL, |inspection| {
            let mut asked = draft(inspection, &["decontamination"], &["interior"]);
            asked["discounts"] = json!([{ "off": { "percent": "10" }, "reason": "Opening week" }]);
            asked
        });
        let owner = studio.owner();
        owner.note_yes(&quote.view, &[1]).expect(200);
        let invoice = owner.post("/v1/invoices", &of(&quote.id)).expect(201);
        let allowance = &invoice["document"]["allowances"][0];
        assert_eq!((&allowance["amount"], &allowance["reason"]), (&eur("35.50"), &json!("Opening week")));
        assert_eq!(invoice["payable"], eur("319.50"));
        owner.act(&format!("{}/issue", path(&invoice)), "\"1\"", &json!({})).expect(200);
        owner.act(&format!("{}/send", path(&invoice)), "\"2\"", &json!({})).expect(200);
        studio.tick();
        let mail = studio.mails_to(EMAIL).pop().unwrap();
        for said in [
            "Date: Monday 2 March 2026",
            "Please pay by: Monday 16 March 2026",
            "Opening week: −EUR 35.50",
            "EUR 319.50",
            "decontamination",
        ] {
            assert!(mail.text.contains(said), "{said}: {}", mail.text);
        }
    });
}

#[test]
fn a_trade_customer_gets_prices_without_tax_and_their_order_number_on_it() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let customer = owner.post("/v1/customers?confirm=known-customer", &trade_body("Quay Cars")).expect(201);
        let vehicle = owner.add_vehicle(customer["id"].as_str().unwrap(), "231-D-10101");
        let inspection = owner.inspect(vehicle["id"].as_str().unwrap());
        let asked = draft(inspection["id"].as_str().unwrap(), &["decontamination", "interior"], &[]);
        let written = owner.write_quote(vehicle["id"].as_str().unwrap(), &asked).expect(201);
        let quote = owner.move_quote(&written, "send", &json!({})).expect(200);
        let id = quote["id"].as_str().unwrap();
        owner.post("/v1/invoices", &of(id)).problem(409, "quote-not-signed");
        owner.note_yes(&quote, &[]).expect(200);
        let refused = owner.post("/v1/invoices", &of(id)).problem(422, "invalid-value");
        assert_eq!(refused["errors"][0]["pointer"], "/purchase_order");
        let body = json!({ "quote_id": id, "purchase_order": "PO-1007", "note": "Keys at the gate." });
        let invoice = owner.post("/v1/invoices", &body).expect(201);
        let paper = &invoice["document"];
        assert_eq!((&paper["prices"], &paper["purchase_order"]), (&json!("NET"), &json!("PO-1007")));
        assert_eq!(paper["buyer"]["vat_id"], "IE1234567FA");
        // Prices of 175.00 and 180.00 with 23 % in them are 142.28 and 146.34 without it: 288.62, and 23 % of that.
        assert_eq!(column(&invoice, "amount"), ["142.28", "146.34"]);
        let totals = &paper["totals"];
        assert_eq!((&totals["net"], &totals["tax"], &totals["gross"]), (&eur("288.62"), &eur("66.38"), &eur("355.00")));
        let other = json!({ "purchase_order": "PO-1008" });
        let other = owner.put(&path(&invoice), "\"1\"", &other).expect(200);
        assert_eq!((&other["document"]["purchase_order"], &other["document"]["note"]), (&json!("PO-1008"), &json!("")));
        let none = owner.put(&path(&invoice), "\"2\"", &json!({})).problem(422, "invalid-value");
        assert_eq!(none["errors"][0]["pointer"], "/purchase_order");
    });
}

/// Signs a change of that quote by phone; gives its number.
fn change(studio: &Studio, quote: &str, wanted: &Value) -> String {
    let owner = studio.owner();
    let go = |variation: &Value, verb: &str, body: &Value| {
        let path = format!("/v1/variations/{}/{verb}", variation["id"].as_str().unwrap());
        owner.act(&path, &format!("\"{}\"", variation["version"]), body).expect(200)
    };
    let written = owner.post(&format!("/v1/quotes/{quote}/variations"), wanted).expect(201);
    let sent = go(&written, "send", &json!({ "by_mail": false }));
    let yes = json!({ "digest": sent["digest"], "name": "Aoife Byrne", "agreed": true, "early_start": true });
    go(&sent, "sign-off", &yes)["document"]["number"].as_str().unwrap().to_owned()
}

#[test]
fn what_was_signed_later_is_on_the_invoice_and_a_draft_from_before_is_not_issued() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        owner.change_terms(&json!({ "call_tolerance": eur("2000.00") }));
        let quote = studio.signed_work(&["wash", "coating"]);
        let booking = owner.book_first(&quote);
        owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let before = owner.post("/v1/invoices", &of(&quote)).expect(201);
        assert_eq!(before["payable"], eur("680.00"));
        let more = json!({ "reason": "Deep scratches.", "lines": [{ "item": { "service": "polish" } }] });
        let less = json!({ "reason": "The paint is too thin.", "dropped": [1] });
        let (one, two) = (change(studio, &quote, &more), change(studio, &quote, &less));
        let issue = format!("{}/issue", path(&before));
        let outdated = owner.act(&issue, "\"1\"", &json!({})).problem(409, "draft-outdated");
        assert!(outdated["detail"].as_str().unwrap().contains(&format!("PUT {}", path(&before))), "{outdated}");
        let now = owner.put(&path(&before), "\"1\"", &json!({})).expect(200);
        assert_eq!(column(&now, "origin"), ["Q-2026-0001", "Q-2026-0001", one.as_str(), two.as_str()]);
        assert_eq!(column(&now, "amount"), ["90.00", "590.00", "290.00", "-590.00"]);
        assert_eq!(now["payable"], eur("380.00"));
        let issued = owner.act(&issue, "\"2\"", &json!({})).expect(200);
        assert_eq!((&issued["number"], &issued["open"]), (&json!("INV-2026-0001"), &eur("380.00")));
        owner.put(&path(&before), "\"3\"", &json!({})).problem(409, "wrong-state");
    });
}

#[test]
fn an_invoice_of_another_shops_quote_or_by_another_role_is_refused() {
    on_each_engine(|studio| {
        let signed = studio.signed_quote(EMAIL, &["decontamination"], &[], &[]);
        studio.stranger().post("/v1/invoices", &of(&signed.id)).problem(404, "not-found");
        for role in [Role::Accountant, Role::Technician] {
            studio.colleague(role).post("/v1/invoices", &of(&signed.id)).problem(403, "not-allowed");
        }
        let owner = studio.owner();
        let invoice = owner.post("/v1/invoices", &of(&signed.id)).expect(201);
        studio.stranger().put(&path(&invoice), "\"1\"", &json!({})).problem(404, "not-found");
        owner.put(&path(&invoice), "\"7\"", &json!({})).problem(412, "changed-meanwhile");
        let long = json!({ "quote_id": signed.id, "note": "x".repeat(2001) });
        owner.post("/v1/invoices", &long).problem(400, "invalid-body");
        owner.post("/v1/invoices", &of("none")).problem(400, "invalid-body");
        owner.post("/v1/invoices", &of("0198c0de-0000-7000-8000-000000000001")).problem(404, "not-found");
    });
}
