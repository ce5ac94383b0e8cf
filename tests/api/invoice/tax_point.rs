//! Tax by the day of supply: a rate that changes between quote and hand-over.

use baywright_tests::make::customer::trade_body;
use baywright_tests::make::quote::draft;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

use super::eur;

/// Lets the standard rate be 20 % from that day on.
fn lower_rate(owner: &Person, from: &str) {
    let taxes = owner.get("/v1/tax-categories").expect(200);
    let standard = taxes["items"].as_array().unwrap().iter().find(|tax| tax["code"] == "standard").unwrap().clone();
    let path = format!("/v1/tax-categories/{}", standard["id"].as_str().unwrap());
    let mut rates = standard["rates"].as_array().unwrap().clone();
    rates.push(json!({ "from": from, "percent": "20" }));
    let body = json!({
        "code": "standard", "name": standard["name"], "category": "S", "usual": true, "reason": null, "rates": rates
    });
    owner.put(&path, &format!("\"{}\"", standard["version"]), &body).expect(200);
}

fn issue(owner: &Person, invoice: &Value) -> baywright_tests::answer::Answer {
    let path = format!("/v1/invoices/{}/issue", invoice["id"].as_str().unwrap());
    owner.act(&path, &format!("\"{}\"", invoice["version"]), &json!({}))
}

#[test]
fn a_price_with_tax_stays_and_the_tax_in_it_is_that_of_the_supply() {
    on_each_engine(|studio| {
        let quote = studio.signed_quote("aoife@example.com", &["decontamination"], &["interior"], &[1]);
        let owner = studio.owner();
        let before = owner.post("/v1/invoices", &json!({ "quote_id": quote.id })).expect(201);
        assert_eq!(before["document"]["totals"]["tax"], eur("66.38"));
        lower_rate(&owner, "2026-03-02");
        // The draft is no longer right, so no number is spent on it.
        issue(&owner, &before).problem(409, "draft-outdated");
        let path = format!("/v1/invoices/{}", before["id"].as_str().unwrap());
        let answer = owner.put(&path, "\"1\"", &json!({}));
        assert_eq!(answer.warnings(), ["tax-rate-moved"]);
        let now = answer.expect(200);
        // 355.00 with 20 % in it: 295.83 and 59.17.
        let paper = &now["document"];
        assert_eq!((&paper["totals"]["net"], &paper["totals"]["tax"]), (&eur("295.83"), &eur("59.17")));
        assert_eq!((&now["payable"], &paper["lines"][0]["agreed_rate"]), (&eur("355.00"), &json!("23")));
        let issued = issue(&owner, &now).expect(200);
        assert_eq!((&issued["number"], &issued["payable"]), (&json!("INV-2026-0001"), &eur("355.00")));
        let row = owner.get("/v1/issued-documents").expect(200)["items"][0].clone();
        assert_eq!(
            (&row["tax"], &row["tax_point"], &row["digest"]),
            (&eur("59.17"), &json!("2026-03-02"), &issued["digest"])
        );
    });
}

#[test]
fn to_a_price_without_tax_the_tax_of_the_supply_is_added() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.publish_small_menu();
        let customer = owner.post("/v1/customers?confirm=known-customer", &trade_body("Quay Cars")).expect(201);
        let vehicle = owner.add_vehicle(customer["id"].as_str().unwrap(), "231-D-10101");
        let inspection = owner.inspect(vehicle["id"].as_str().unwrap());
        let asked = draft(inspection["id"].as_str().unwrap(), &["decontamination", "interior"], &[]);
        let written = owner.write_quote(vehicle["id"].as_str().unwrap(), &asked).expect(201);
        let quote = owner.move_quote(&written, "send", &json!({})).expect(200);
        owner.note_yes(&quote, &[]).expect(200);
        lower_rate(&owner, "2026-03-02");
        let body = json!({ "quote_id": quote["id"], "purchase_order": "PO-1007" });
        let invoice = owner.post("/v1/invoices", &body).expect(201);
        let totals = &invoice["document"]["totals"];
        // 288.62 before tax, and 20 % of it.
        assert_eq!((&totals["net"], &totals["tax"], &totals["gross"]), (&eur("288.62"), &eur("57.72"), &eur("346.34")));
    });
}

#[test]
fn the_rate_of_the_hand_over_counts_also_if_the_invoice_is_written_later() {
    on_each_engine(|studio| {
        crate::job::handed_over(studio);
        let bookings = studio.owner().get("/v1/bookings?state=HANDED_OVER").expect(200);
        let (quote, at) = (bookings["items"][0]["quote_id"].clone(), bookings["items"][0]["handed_over_at"].clone());
        lower_rate(&studio.owner(), "2026-03-10");
        studio.pass_minutes(14 * 24 * 60);
        let owner = studio.owner();
        let invoice = owner.post("/v1/invoices", &json!({ "quote_id": quote })).expect(201);
        assert_eq!(invoice["document"]["lines"][0]["tax_rate"], "23");
        let issued = issue(&owner, &invoice).expect(200);
        let day = at.as_str().unwrap().split('T').next().unwrap();
        assert_eq!(issued["document"]["tax_point"], day);
        assert_ne!(issued["issued_on"], day);
    });
}
