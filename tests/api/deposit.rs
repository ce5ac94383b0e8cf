//! Deposits: asked for, paid, deducted, reduced, and settled when the job is called off.

use baywright_core::platform::identity::Role;
use baywright_tests::make::shop::without;
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use serde_json::{Value, json};

fn eur(amount: &str) -> Value {
    json!({ "amount": amount, "currency": "EUR" })
}

fn path(invoice: &Value) -> String {
    format!("/v1/invoices/{}", invoice["id"].as_str().unwrap())
}

fn change_money(owner: &Person, changes: &Value) -> Value {
    let now = owner.get("/v1/money-terms");
    let etag = now.etag();
    let mut terms = without(&now.expect(200), &["version", "updated_at"]);
    for (name, value) in changes.as_object().unwrap() {
        terms[name] = value.clone();
    }
    owner.put("/v1/money-terms", &etag, &terms).expect(200)
}

/// A signed quote of 680.00 with an agreed deposit of 100.00; gives its id and the customer.
fn agreed(studio: &Studio) -> (String, Value) {
    studio.floor();
    let quote = studio.signed_work_with(&["wash", "coating"], Some("100.00"));
    let view = studio.owner().get(&format!("/v1/quotes/{quote}")).expect(200);
    (quote, json!({ "id": view["customer_id"] }))
}

fn paid_deposit(studio: &Studio, quote: &str, customer: &Value) -> Value {
    let owner = studio.owner();
    let asked = owner.post("/v1/deposits", &json!({ "quote_id": quote })).expect(201);
    owner.pay(customer, "100.00", &[&asked]);
    owner.get(&path(&asked)).expect(200)
}

#[test]
fn a_deposit_is_an_invoice_of_its_own_and_is_deducted_to_the_cent() {
    on_each_engine(|studio| {
        let (quote, customer) = agreed(studio);
        let desk = studio.colleague(Role::Desk);
        let booking = desk.book_first(&quote);
        let asked = desk.post("/v1/deposits", &json!({ "quote_id": quote })).expect(201);
        assert_eq!((&asked["kind"], &asked["number"]), (&json!("DEPOSIT"), &json!("DEP-2026-0001")));
        assert_eq!((&asked["payable"], &asked["due_on"]), (&eur("100.00"), &json!("2026-03-09")));
        // 100.00 with 23 % in it: 81.30 and 18.70.
        assert_eq!(asked["document"]["totals"]["tax"], eur("18.70"));
        assert_eq!(asked["document"]["tax_point"], Value::Null);
        studio.tick();
        let mail = studio.mails().into_iter().find(|mail| mail.subject.contains("DEP-2026-0001")).unwrap();
        for said in ["EUR 100.00", "Monday 9 March 2026", "DEP20260001"] {
            assert!(mail.text.contains(said), "{said}: {}", mail.text);
        }
        desk.post("/v1/deposits", &json!({ "quote_id": quote })).problem(409, "deposit-asked");
        desk.pay(&customer, "100.00", &[&asked]);
        let now = desk.get(&format!("/v1/bookings/{}", booking["id"].as_str().unwrap())).expect(200);
        assert_eq!(now["deposit_due"], false);
        // The deposit does not bill the work.
        let invoice = desk.post("/v1/invoices", &json!({ "quote_id": quote })).expect(201);
        let lines = invoice["document"]["lines"].as_array().unwrap();
        let last = lines.last().unwrap();
        assert_eq!(last["name"], "Less deposit DEP-2026-0001 of 2 March 2026");
        assert_eq!((&last["amount"], &last["deducts"]), (&eur("-100.00"), &json!("DEP-2026-0001")));
        let totals = &invoice["document"]["totals"];
        // 680.00 with 23 % in it has 127.15 of tax, of which 18.70 are on the deposit invoice.
        assert_eq!((&totals["payable"], &totals["tax"]), (&eur("580.00"), &eur("108.45")));
        assert_eq!(invoice["document"]["preceding"][0]["number"], "DEP-2026-0001");
        let issued = desk.act(&format!("{}/issue", path(&invoice)), "\"1\"", &json!({})).expect(200);
        assert_eq!((&issued["number"], &issued["open"]), (&json!("INV-2026-0001"), &eur("580.00")));
        let body = json!({ "reason": "No longer wanted" });
        let credit = desk.act(&format!("{}/credit-notes", path(&asked)), "\"4\"", &body);
        credit.problem(409, "deposit-deducted");
        let account = format!("/v1/customers/{}/account", customer["id"].as_str().unwrap());
        let view = desk.get(&account).expect(200);
        assert_eq!((&view["invoiced"], &view["paid"], &view["open"]), (&eur("680.00"), &eur("100.00"), &eur("580.00")));
    });
}

#[test]
fn a_deposit_is_asked_for_at_signing_or_at_booking_as_the_shop_says() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        change_money(&owner, &json!({ "deposit_asked": "AT_SIGNING" }));
        let (_, customer) = agreed(studio);
        let kinds = |customer: &Value| {
            let query = format!("/v1/invoices?kind=DEPOSIT&customer_id={}", customer["id"].as_str().unwrap());
            owner.get(&query).expect(200)["items"].as_array().unwrap().len()
        };
        assert_eq!(kinds(&customer), 1);
        change_money(&owner, &json!({ "deposit_asked": "AT_BOOKING" }));
        let quote = studio.signed_work_with(&["wash"], Some("20.00"));
        let view = owner.get(&format!("/v1/quotes/{quote}")).expect(200);
        let customer = json!({ "id": view["customer_id"] });
        let before = kinds(&customer);
        owner.book_first(&quote);
        assert_eq!(kinds(&customer), before + 1);
    });
}

#[test]
fn a_deposit_of_a_job_that_is_called_off_is_given_back() {
    on_each_engine(|studio| {
        let (quote, customer) = agreed(studio);
        let deposit = paid_deposit(studio, &quote, &customer);
        let owner = studio.owner();
        let verb = format!("/v1/deposits/{}/call-off", deposit["id"].as_str().unwrap());
        let tag = format!("\"{}\"", deposit["version"]);
        let done = owner.act(&verb, &tag, &json!({ "reason": "The customer moved away" })).expect(200);
        assert_eq!((&done["way"], &done["deposit"]["state"]), (&json!("GIVE_BACK"), &json!("CREDITED")));
        assert_eq!((&done["credit_note"]["payable"], &done["compensation"]), (&eur("100.00"), &Value::Null));
        let view = owner.get(&format!("/v1/customers/{}/account", customer["id"].as_str().unwrap())).expect(200);
        assert_eq!((&view["credit"], &view["open"]), (&eur("100.00"), &eur("0.00")));
    });
}

#[test]
fn a_kept_deposit_is_a_price_with_tax_or_compensation_without() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        change_money(&owner, &json!({ "deposit_called_off": "KEEP_AS_COMPENSATION" }));
        let (quote, customer) = agreed(studio);
        let settle = |deposit: &Value, body: &Value| {
            let verb = format!("/v1/deposits/{}/call-off", deposit["id"].as_str().unwrap());
            owner.act(&verb, &format!("\"{}\"", deposit["version"]), body)
        };
        let deposit = paid_deposit(studio, &quote, &customer);
        let done = settle(&deposit, &json!({ "reason": "Called off the day before" })).expect(200);
        let kept = &done["compensation"];
        assert_eq!((&kept["state"], &kept["payable"], &kept["paid"]), (&json!("PAID"), &eur("100.00"), &eur("100.00")));
        let paper = owner.get(&path(kept)).expect(200)["document"].clone();
        assert_eq!((&paper["totals"]["tax"], &paper["lines"][0]["tax_category"]), (&eur("0.00"), &json!("O")));
        let account = format!("/v1/customers/{}/account", customer["id"].as_str().unwrap());
        assert_eq!(owner.get(&account).expect(200)["credit"], eur("0.00"));
        // The quote can be invoiced if the job is done after all, without a deposit on it.
        let second = paid_deposit(studio, &quote, &customer);
        let unpaid = json!({ "reason": "Called off", "way": "KEEP_AS_PRICE" });
        let done = settle(&second, &unpaid).expect(200);
        assert_eq!((&done["deposit"]["state"], &done["credit_note"]), (&json!("PAID"), &Value::Null));
        let invoice = owner.post("/v1/invoices", &json!({ "quote_id": quote })).expect(201);
        assert_eq!(invoice["payable"], eur("680.00"));
    });
}

#[test]
fn a_deposit_that_exceeds_the_work_is_reduced_to_it() {
    on_each_engine(|studio| {
        studio.floor();
        let owner = studio.owner();
        owner.change_terms(&json!({ "call_tolerance": eur("2000.00") }));
        let quote = studio.signed_work_with(&["wash", "coating"], Some("100.00"));
        let view = owner.get(&format!("/v1/quotes/{quote}")).expect(200);
        let customer = json!({ "id": view["customer_id"] });
        let deposit = paid_deposit(studio, &quote, &customer);
        let reduce = format!("/v1/deposits/{}/reduce", deposit["id"].as_str().unwrap());
        let (tag, body) = (format!("\"{}\"", deposit["version"]), json!({ "reason": "The coating was taken off" }));
        owner.act(&reduce, &tag, &body).problem(409, "deposit-fits");
        let booking = owner.book_first(&quote);
        owner.move_booking(&booking, "arrive", &json!({})).expect(200);
        let less = json!({ "reason": "The paint is too thin.", "dropped": [1] });
        let written = owner.post(&format!("/v1/quotes/{quote}/variations"), &less).expect(201);
        let go = |variation: &Value, verb: &str, body: &Value| {
            let path = format!("/v1/variations/{}/{verb}", variation["id"].as_str().unwrap());
            owner.act(&path, &format!("\"{}\"", variation["version"]), body).expect(200)
        };
        let sent = go(&written, "send", &json!({ "by_mail": false }));
        go(
            &sent,
            "sign-off",
            &json!({ "digest": sent["digest"], "name": "Aoife Byrne", "agreed": true, "early_start": true }),
        );
        // 90.00 of work are left, and 100.00 were paid.
        owner.post("/v1/invoices", &json!({ "quote_id": quote })).problem(409, "deposit-exceeds-invoice");
        let credit = owner.act(&reduce, &tag, &body).expect(201);
        assert_eq!(credit["payable"], eur("10.00"));
        let invoice = owner.post("/v1/invoices", &json!({ "quote_id": quote })).expect(201);
        assert_eq!(invoice["payable"], eur("0.00"));
        let issued = owner.act(&format!("{}/issue", path(&invoice)), "\"1\"", &json!({})).expect(200);
        assert_eq!(issued["state"], "PAID");
        let view = owner.get(&format!("/v1/customers/{}/account", customer["id"].as_str().unwrap())).expect(200);
        assert_eq!((&view["credit"], &view["open"]), (&eur("10.00"), &eur("0.00")));
    });
}

#[test]
fn a_deposit_noted_by_hand_is_listed_and_no_document_is_invented() {
    on_each_engine(|studio| {
        let (quote, _) = agreed(studio);
        let owner = studio.owner();
        let booking = owner.book_first(&quote);
        assert_eq!(owner.get("/v1/deposits/noted").expect(200)["deposits"], json!([]));
        owner.move_booking(&booking, "deposit", &json!({})).expect(200);
        let noted = owner.get("/v1/deposits/noted").expect(200);
        assert_eq!(
            (&noted["deposits"][0]["booking_id"], &noted["deposits"][0]["amount"]),
            (&booking["id"], &eur("100.00"))
        );
        let invoice = owner.post("/v1/invoices", &json!({ "quote_id": quote })).expect(201);
        assert_eq!(invoice["payable"], eur("680.00"));
    });
}
