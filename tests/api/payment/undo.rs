//! Payments that are undone, and money that is given back.

use baywright_core::platform::canonical::digest;
use baywright_core::platform::identity::Role;
use baywright_tests::make::invoice::payment;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

use super::{eur, path};

fn act(person: &Person, record: &Value, kind: &str, verb: &str, body: &Value) -> baywright_tests::answer::Answer {
    let path = format!("/v1/{kind}/{}/{verb}", record["id"].as_str().unwrap());
    person.act(&path, &format!("\"{}\"", record["version"]), body)
}

fn account(person: &Person, customer: &Value) -> Value {
    person.get(&format!("/v1/customers/{}/account", customer["id"].as_str().unwrap())).expect(200)
}

#[test]
fn a_payment_that_bounced_is_undone_with_its_reason_and_stays() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let customer = desk.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        desk.pay(&customer, "40.00", &[&invoice]);
        let paid = desk.pay(&customer, "75.00", &[&invoice]);
        let bounced = json!({ "reason": "BOUNCED", "note": "Account closed" });
        studio.colleague(Role::Accountant).get("/v1/payments").expect(200);
        act(&studio.colleague(Role::Accountant), &paid, "payments", "undo", &bounced).problem(403, "not-allowed");
        let early = json!({ "reason": "BOUNCED", "on": "2026-03-01" });
        act(&desk, &paid, "payments", "undo", &early).problem(422, "invalid-value");
        let undone = act(&desk, &paid, "payments", "undo", &bounced).expect(200);
        assert_eq!((&undone["undone_on"], &undone["undo_reason"]), (&json!("2026-03-02"), &json!("BOUNCED")));
        let now = desk.get(&path(&invoice)).expect(200);
        assert_eq!((&now["state"], &now["open"], &now["paid"]), (&json!("PART_PAID"), &eur("60.00"), &eur("40.00")));
        assert_eq!(account(&desk, &customer)["credit"], eur("0.00"));
        act(&desk, &undone, "payments", "undo", &bounced).problem(409, "wrong-state");
        act(&desk, &paid, "payments", "undo", &bounced).problem(412, "changed-meanwhile");
        let list = desk.get("/v1/payments").expect(200);
        assert_eq!(list["items"].as_array().unwrap().len(), 2);
    });
}

#[test]
fn a_payment_whose_surplus_was_given_back_is_undone_after_the_refund() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        let paid = owner.pay(&customer, "120.00", &[&invoice]);
        let back = |amount: &str, method: &str| json!({ "customer_id": customer["id"], "method": method, "amount": eur(amount), "reason": "Paid too much" });
        let less = owner.post("/v1/refunds", &back("20.01", "CASH")).problem(409, "not-enough-credit");
        assert_eq!(less["detail"], "The customer's credit is EUR 20.00. Give back at most that much.");
        owner.post("/v1/refunds", &back("20.00", "CREDIT")).problem(422, "invalid-value");
        let refund = owner.post("/v1/refunds", &back("20.00", "CASH")).expect(201);
        assert_eq!(
            (&refund["number"], &refund["receipt"]["reason"]),
            (&json!("RFD-2026-0001"), &json!("Paid too much"))
        );
        let sealed = owner.get(&format!("/v1/refunds/{}/sealed", refund["id"].as_str().unwrap()));
        assert_eq!((json!(digest(&sealed.text)), &sealed.json()), (refund["digest"].clone(), &refund["receipt"]));
        let mistake = json!({ "reason": "MISTAKE" });
        act(&owner, &paid, "payments", "undo", &mistake).problem(409, "undo-first");
        let undone = act(&owner, &refund, "refunds", "undo", &json!({ "note": "The envelope came back" })).expect(200);
        assert_eq!(undone["undone_on"], "2026-03-02");
        act(&owner, &paid, "payments", "undo", &mistake).expect(200);
        let view = account(&owner, &customer);
        assert_eq!((&view["open"], &view["paid"], &view["refunded"]), (&eur("100.00"), &eur("0.00"), &eur("0.00")));
    });
}

#[test]
fn money_for_what_was_written_off_recovers_it() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        let order = json!({ "reason": "wound up", "amount": eur("70.00"), "on": "2026-03-02" });
        let part = owner.act(&format!("{}/write-off", path(&invoice)), "\"2\"", &order).expect(200);
        assert_eq!(
            (&part["state"], &part["open"], &part["written_off"]),
            (&json!("ISSUED"), &eur("30.00"), &eur("70.00"))
        );
        let late = json!({ "reason": "wound up", "on": "2026-03-03" });
        owner.act(&format!("{}/write-off", path(&invoice)), "\"3\"", &late).problem(422, "invalid-value");
        let more = json!({ "reason": "wound up", "amount": eur("30.01") });
        owner.act(&format!("{}/write-off", path(&invoice)), "\"3\"", &more).problem(422, "write-off-amount");
        let all = owner.act(&format!("{}/write-off", path(&invoice)), "\"3\"", &json!({ "reason": "wound up" }));
        assert_eq!(all.expect(200)["state"], "WRITTEN_OFF");
        // The receiver pays 40.00 after all: it is named, since nothing is open.
        owner.pay(&customer, "40.00", &[&invoice]);
        let now = owner.get(&path(&invoice)).expect(200);
        assert_eq!(
            (&now["state"], &now["paid"], &now["recovered"], &now["written_off"]),
            (&json!("PART_PAID"), &eur("40.00"), &eur("40.00"), &eur("60.00"))
        );
        let tag = format!("\"{}\"", now["version"]);
        let again = json!({ "reason": "found", "amount": eur("10.00") });
        let now = owner.act(&format!("{}/reinstate", path(&invoice)), &tag, &again).expect(200);
        assert_eq!((&now["open"], &now["written_off"]), (&eur("10.00"), &eur("50.00")));
        let list = owner.get(&format!("{}/write-offs", path(&invoice))).expect(200);
        let text = |value: &Value| value.as_str().unwrap().to_owned();
        let list: Vec<(String, String)> = list["write_offs"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| (text(&one["cause"]), text(&one["amount"]["amount"])))
            .collect();
        let expected = [("GIVEN_UP", "70.00"), ("GIVEN_UP", "30.00"), ("PAID", "-40.00"), ("REINSTATED", "-10.00")];
        assert_eq!(list, expected.map(|(cause, amount)| (cause.to_owned(), amount.to_owned())));
    });
}

#[test]
fn a_payment_from_credit_is_no_money_that_came_in() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        owner.pay(&customer, "50.00", &[]);
        let invoice = studio.issued_invoice(&customer, &[(2_000, 23)]);
        let mut body = payment(&customer, "20.00", &[&invoice]);
        body["method"] = json!("CREDIT");
        let used = owner.post("/v1/payments", &body).expect(201);
        let view = account(&owner, &customer);
        assert_eq!((&view["paid"], &view["credit"], &view["open"]), (&eur("50.00"), &eur("30.00"), &eur("0.00")));
        act(&owner, &used, "payments", "undo", &json!({ "reason": "MISTAKE" })).expect(200);
        let view = account(&owner, &customer);
        assert_eq!((&view["paid"], &view["credit"], &view["open"]), (&eur("50.00"), &eur("50.00"), &eur("20.00")));
    });
}
