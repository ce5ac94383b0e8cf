//! Payments: in part, whole and over, out of credit, and never twice.

mod law;
mod undo;

use baywright_core::platform::db::Scope;
use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_tests::make::invoice::payment;
use baywright_tests::on_each_engine;
use diesel::{RunQueryDsl, sql_query};
use serde_json::{Value, json};

fn eur(amount: &str) -> Value {
    json!({ "amount": amount, "currency": "EUR" })
}

fn path(invoice: &Value) -> String {
    format!("/v1/invoices/{}", invoice["id"].as_str().unwrap())
}

#[test]
fn a_payment_in_part_then_over_pays_and_leaves_credit() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let customer = desk.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        let part = desk.pay(&customer, "40.00", &[&invoice]);
        assert_eq!((&part["parts"][0]["amount"], &part["surplus"]), (&eur("40.00"), &eur("0.00")));
        assert_eq!(part["received_on"], "2026-03-02");
        let now = desk.get(&path(&invoice)).expect(200);
        assert_eq!((&now["state"], &now["open"], &now["paid"]), (&json!("PART_PAID"), &eur("60.00"), &eur("40.00")));
        let over = desk.pay(&customer, "75.00", &[&invoice]);
        assert_eq!((&over["parts"][0]["amount"], &over["surplus"]), (&eur("60.00"), &eur("15.00")));
        let now = desk.get(&path(&invoice)).expect(200);
        assert_eq!((&now["state"], &now["open"], &now["paid"]), (&json!("PAID"), &eur("0.00"), &eur("100.00")));
        let account = format!("/v1/customers/{}/account", customer["id"].as_str().unwrap());
        assert_eq!(desk.get(&account).expect(200)["credit"], eur("15.00"));
        // The next invoice is paid out of it, and no more than there is.
        let next = studio.issued_invoice(&customer, &[(2_000, 23)]);
        let credit = |amount: &str| {
            let mut body = payment(&customer, amount, &[&next]);
            body["method"] = json!("CREDIT");
            body
        };
        let less = desk.post("/v1/payments", &credit("15.01")).problem(409, "not-enough-credit");
        assert_eq!(less["detail"], "The customer's credit is EUR 15.00. Use at most that much.");
        desk.post("/v1/payments", &credit("15.00")).expect(201);
        let view = desk.get(&account).expect(200);
        assert_eq!((&view["open"], &view["overdue"], &view["credit"]), (&eur("5.00"), &eur("0.00"), &eur("0.00")));
        studio.pass_minutes(15 * 24 * 60);
        let view = studio.colleague(Role::Accountant).get(&account).expect(200);
        assert_eq!((&view["open"], &view["overdue"]), (&eur("5.00"), &eur("5.00")));
    });
}

#[test]
fn a_payment_without_invoices_pays_the_one_that_is_due_first() {
    on_each_engine(|studio| {
        let customer = studio.owner().add_customer("Aoife Byrne");
        let first = studio.issued_invoice(&customer, &[(10_000, 23)]);
        studio.pass_minutes(24 * 60);
        let second = studio.issued_invoice(&customer, &[(5_000, 23)]);
        let owner = studio.owner();
        let paid = owner.pay(&customer, "120.00", &[]);
        let parts: Vec<_> =
            paid["parts"].as_array().unwrap().iter().map(|p| (&p["invoice_id"], &p["amount"])).collect();
        assert_eq!(parts, [(&first["id"], &eur("100.00")), (&second["id"], &eur("20.00"))]);
        let of = |invoice: &Value| {
            let query = format!("/v1/payments?invoice_id={}", invoice["id"].as_str().unwrap());
            owner.get(&query).expect(200)["items"].clone()
        };
        assert_eq!((of(&first), of(&second)), (json!([paid]), json!([paid])));
        let read = format!("/v1/payments/{}", paid["id"].as_str().unwrap());
        assert_eq!(owner.get(&read).expect(200), paid);
        studio.stranger().get(&read).problem(404, "not-found");
        studio.colleague(Role::Technician).get(&read).problem(403, "not-allowed");
        let account = format!("/v1/customers/{}/account", customer["id"].as_str().unwrap());
        studio.stranger().get(&account).problem(404, "not-found");
    });
}

#[test]
fn what_can_t_be_paid_is_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (customer, other) = (owner.add_customer("Aoife Byrne"), owner.add_customer("Brendan Walsh"));
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        let draft = studio.draft_invoice(&customer, &[(10_000, 23)]);
        let draft = owner.get(&draft).expect(200);
        let post = |body: &Value| owner.post("/v1/payments", body);
        post(&payment(&customer, "0.00", &[&invoice])).problem(422, "payment-amount");
        post(&payment(&customer, "-1.00", &[&invoice])).problem(422, "invalid-value");
        post(&payment(&customer, "1.001", &[&invoice])).problem(422, "invalid-value");
        post(&payment(&customer, "1.00", &[&draft])).problem(409, "wrong-state");
        post(&payment(&customer, "1.00", &[&invoice, &invoice])).problem(422, "invoice-twice");
        let foreign = post(&payment(&other, "1.00", &[&invoice])).problem(422, "invalid-value");
        assert_eq!(foreign["errors"][0]["pointer"], "/invoice_ids/0");
        let mut early = payment(&customer, "1.00", &[&invoice]);
        early["received_on"] = json!("2026-03-03");
        assert_eq!(post(&early).problem(422, "invalid-value")["errors"][0]["pointer"], "/received_on");
        let mut dollars = payment(&customer, "1.00", &[&invoice]);
        dollars["amount"]["currency"] = json!("USD");
        post(&dollars).problem(422, "invalid-value");
        let mut many = payment(&customer, "1.00", &[]);
        many["invoice_ids"] = json!(vec![invoice["id"].clone(); 101]);
        post(&many).problem(422, "invalid-value");
        studio
            .colleague(Role::Accountant)
            .post("/v1/payments", &payment(&customer, "1.00", &[]))
            .problem(403, "not-allowed");
        studio.stranger().post("/v1/payments", &payment(&customer, "1.00", &[])).problem(404, "not-found");
        assert_eq!(owner.get("/v1/payments").expect(200)["items"], json!([]));
    });
}

#[test]
fn thirty_payments_at_once_never_pay_an_invoice_twice() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
        std::thread::scope(|scope| {
            for _ in 0..30 {
                // The same key twice is one payment.
                let (owner, body) = (owner.clone(), payment(&customer, "7.00", &[]));
                scope.spawn(move || {
                    let key: String = baywright_core::platform::ids::new();
                    let headers = [("idempotency-key", key.as_str())];
                    let first = owner.json("POST", "/v1/payments", &headers, &body).expect(201);
                    assert_eq!(owner.json("POST", "/v1/payments", &headers, &body).expect(201), first);
                });
            }
        });
        let now = owner.get(&path(&invoice)).expect(200);
        assert_eq!((&now["state"], &now["paid"], &now["open"]), (&json!("PAID"), &eur("100.00"), &eur("0.00")));
        let account = format!("/v1/customers/{}/account", customer["id"].as_str().unwrap());
        assert_eq!(owner.get(&account).expect(200)["credit"], eur("110.00"));
    });
}

#[test]
fn the_database_itself_keeps_a_payment_as_it_is() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        studio.issued_invoice(&customer, &[(10_000, 23)]);
        owner.pay(&customer, "10.00", &[]);
        for sql in [
            "UPDATE payment SET amount = 1",
            "DELETE FROM payment",
            "UPDATE payment_part SET amount = 1",
            "DELETE FROM payment_part",
        ] {
            let done = studio.db.write(Scope::Program, |conn| {
                sql_query(sql).execute(conn).map_err(DbError::from)?;
                Ok(())
            });
            assert!(done.is_err() && format!("{done:?}").contains("never"), "{sql}");
        }
    });
}
