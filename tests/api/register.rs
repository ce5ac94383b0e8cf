//! The register of issued documents: numbers of each kind, first numbers, invoices of before, and its migration.

use baywright_core::payment::usecase::sums;
use baywright_core::platform::db::{Conn, Scope};
use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_tests::make::shop::without;
use baywright_tests::{Studio, on_each_engine};
use diesel::connection::SimpleConnection;
use diesel::{RunQueryDsl, sql_query};
use serde_json::{Value, json};

fn eur(amount: &str) -> Value {
    json!({ "amount": amount, "currency": "EUR" })
}

fn path(invoice: &Value) -> String {
    format!("/v1/invoices/{}", invoice["id"].as_str().unwrap())
}

/// Kind and number of every row, newest first.
fn rows(studio: &Studio, query: &str) -> Vec<(String, String)> {
    let list = studio.owner().get(&format!("/v1/issued-documents{query}")).expect(200);
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    list["items"].as_array().unwrap().iter().map(|row| (text(&row["kind"]), text(&row["number"]))).collect()
}

#[test]
fn every_kind_of_document_has_numbers_of_its_own_without_a_gap() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        for _ in 0..2 {
            let invoice = studio.issued_invoice(&customer, &[(10_000, 23)]);
            owner.pay(&customer, "100.00", &[&invoice]);
            let body = json!({ "reason": "Called off" });
            let credit = format!("{}/credit-notes", path(&invoice));
            owner.act(&credit, "\"7\"", &body).problem(412, "changed-meanwhile");
            owner.act(&credit, "\"3\"", &body).expect(201);
            let body = json!({
                "customer_id": customer["id"], "method": "TRANSFER", "amount": eur("100.00"), "reason": "Called off"
            });
            owner.post("/v1/refunds", &body).expect(201);
            owner.post("/v1/refunds", &body).problem(409, "not-enough-credit");
        }
        let kind = |kind: &str, number: &str| (kind.to_owned(), number.to_owned());
        let expected = [
            kind("REFUND_RECEIPT", "RFD-2026-0002"),
            kind("CREDIT_NOTE", "CRN-2026-0002"),
            kind("INVOICE", "INV-2026-0002"),
            kind("REFUND_RECEIPT", "RFD-2026-0001"),
            kind("CREDIT_NOTE", "CRN-2026-0001"),
            kind("INVOICE", "INV-2026-0001"),
        ];
        let mut found = rows(studio, "");
        found.sort();
        let mut expected = expected.to_vec();
        expected.sort();
        assert_eq!(found, expected);
        assert_eq!(rows(studio, "?kind=CREDIT_NOTE,REFUND_RECEIPT&issued_until=2026-03-02").len(), 4);
        assert_eq!(rows(studio, "?issued_from=2026-03-03"), []);
        studio.colleague(Role::Accountant).get("/v1/issued-documents").expect(200);
        for sql in ["UPDATE issued_document SET tax = 1", "DELETE FROM issued_document", "DELETE FROM issued_tax"] {
            let done = studio.db.write(Scope::Program, |conn| {
                sql_query(sql).execute(conn).map_err(DbError::from)?;
                Ok(())
            });
            assert!(done.is_err() && format!("{done:?}").contains("never"), "{sql}");
        }
    });
}

#[test]
fn a_studio_that_changes_over_in_mid_year_continues_its_numbers() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first =
            |kind: &str, first: u32| owner.post("/v1/number-series/first", &json!({ "kind": kind, "first": first }));
        let desk = studio.colleague(Role::Desk);
        desk.post("/v1/number-series/first", &json!({ "kind": "INVOICE", "first": 2 })).problem(403, "not-allowed");
        let series = first("INVOICE", 4180).expect(200);
        assert_eq!(series["series"][0]["next"], "INV-2026-4180");
        // A slip is put right as long as no number was given out.
        first("INVOICE", 418).expect(200);
        first("QUOTE", 5).problem(422, "invalid-value");
        let customer = owner.add_customer("Aoife Byrne");
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "INV-2026-0418");
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "INV-2026-0419");
        first("INVOICE", 900).problem(409, "number-series");
        let series = owner.get("/v1/number-series").expect(200);
        assert_eq!(
            (&series["series"][0]["next"], &series["series"][0]["begun"]),
            (&json!("INV-2026-0420"), &json!(true))
        );
    });
}

#[test]
fn no_two_kinds_of_documents_share_a_prefix() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.change_terms(&json!({ "invoice_prefix": "R7" }));
        let now = owner.get("/v1/money-terms");
        let etag = now.etag();
        let mut terms = without(&now.expect(200), &["version", "updated_at"]);
        for taken in ["INV", "R7", "Q", "DEP"] {
            terms["credit_prefix"] = json!(taken);
            let refused = owner.put("/v1/money-terms", &etag, &terms).problem(422, "invalid-value");
            assert_eq!(refused["errors"][0]["pointer"], "/credit_prefix", "{taken}");
        }
        terms["credit_prefix"] = json!("GS");
        owner.put("/v1/money-terms", &etag, &terms).expect(200);
        let shop = owner.get("/v1/shop");
        let etag = shop.etag();
        let mut body = without(&shop.expect(200), &["id", "version", "currency", "created_at", "updated_at"]);
        body["terms"]["invoice_prefix"] = json!("CRN");
        owner.put("/v1/shop", &etag, &body).problem(422, "invalid-value");
    });
}

#[test]
fn an_unpaid_invoice_of_before_is_taken_over_and_paid() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let body = |number: &str| {
            json!({
                "customer_id": customer["id"], "number": number, "issued_on": "2026-01-20", "due_on": "2026-02-03",
                "open": eur("150.00")
            })
        };
        studio.colleague(Role::Desk).post("/v1/opening-invoices", &body("2026/17")).problem(403, "not-allowed");
        let taken = owner.post("/v1/opening-invoices", &body("2026/17")).expect(201);
        assert_eq!((&taken["kind"], &taken["state"]), (&json!("OPENING"), &json!("ISSUED")));
        assert_eq!((&taken["open"], &taken["overdue_days"]), (&eur("150.00"), &json!(27)));
        owner.post("/v1/opening-invoices", &body("2026/17")).problem(409, "number-taken");
        // It is no document of this program.
        assert_eq!(rows(studio, ""), []);
        let credit = format!("{}/credit-notes", path(&taken));
        owner.act(&credit, "\"1\"", &json!({ "reason": "Wrong" })).problem(409, "opening-invoice");
        owner.pay(&customer, "150.00", &[]);
        assert_eq!(owner.get(&path(&taken)).expect(200)["state"], "PAID");
        // A number that stands in the way of the own series costs none.
        owner.post("/v1/opening-invoices", &body("INV-2026-0001")).expect(201);
        let draft = studio.draft_invoice(&customer, &[(100, 23)]);
        owner.act(&format!("{draft}/issue"), "\"1\"", &json!({})).problem(409, "number-taken");
        owner.post("/v1/number-series/first", &json!({ "kind": "INVOICE", "first": 2 })).expect(200);
        let issued = owner.act(&format!("{draft}/issue"), "\"1\"", &json!({})).expect(200);
        assert_eq!(issued["number"], "INV-2026-0002");
    });
}

/// The ways down of the migrations that made the register, the last one first.
const DOWN: [[&str; 2]; 2] = [
    [
        include_str!("../../migrations/sqlite/2026-11-30-61_payment_credits/down.sql"),
        include_str!("../../migrations/sqlite/2026-11-30-60_invoice_register/down.sql"),
    ],
    [
        include_str!("../../migrations/postgres/2026-11-30-61_payment_credits/down.sql"),
        include_str!("../../migrations/postgres/2026-11-30-60_invoice_register/down.sql"),
    ],
];

#[test]
fn a_database_that_was_filled_before_migrates_with_equal_totals() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let quote = studio.signed_quote("aoife@example.com", &["decontamination"], &["interior"], &[1]);
        let draft = owner.post("/v1/invoices", &json!({ "quote_id": quote.id })).expect(201);
        owner.act(&format!("{}/issue", path(&draft)), "\"1\"", &json!({})).expect(200);
        let customer = owner.add_customer("Brendan Walsh");
        let paid = studio.issued_invoice(&customer, &[(12_300, 23), (9_999, 10)]);
        owner.pay(&customer, "250.00", &[&paid]);
        let lost = studio.issued_invoice(&customer, &[(10_000, 23)]);
        owner.act(&format!("{}/write-off", path(&lost)), "\"2\"", &json!({ "reason": "moved away" })).expect(200);
        studio.draft_invoice(&customer, &[(100, 23)]);
        let seen = || {
            let owner = studio.owner();
            let of = |path: &str| owner.get(path).expect(200)["items"].clone();
            let given_up = owner.get(&format!("{}/write-offs", path(&lost))).expect(200)["write_offs"][0].clone();
            (
                [of("/v1/issued-documents"), of("/v1/invoices"), of("/v1/payments")],
                without(&given_up, &["id", "reason", "created_at"]),
                taxes(studio),
                studio.in_shop(studio.shop(), |tx| sums(tx, None)),
            )
        };
        let before = seen();
        assert!(before.3.hold() && before.2.len() == 4);
        let down = DOWN[usize::from(!studio.db.is_sqlite())];
        for text in down {
            studio.db.write(Scope::Program, |conn| Ok(conn.batch_execute(text).map_err(DbError::from)?)).unwrap();
        }
        let gone = "DELETE FROM __diesel_schema_migrations WHERE version IN ('2026113060', '2026113061')";
        studio.db.write(Scope::Program, |conn| Ok(conn.batch_execute(gone).map_err(DbError::from)?)).unwrap();
        assert_eq!(studio.db.migrate().unwrap().len(), 2);
        assert_eq!(seen(), before);
        owner.post("/v1/invoices", &json!({ "quote_id": quote.id })).problem(409, "invoiced-already");
        assert_eq!(studio.issued_invoice(&customer, &[(100, 23)])["number"], "INV-2026-0004");
    });
}

#[derive(diesel::QueryableByName, Debug, PartialEq, Eq)]
struct Tax {
    #[diesel(sql_type = diesel::sql_types::Text)]
    category: String,
    #[diesel(sql_type = diesel::sql_types::Text)]
    rate: String,
    #[diesel(sql_type = diesel::sql_types::BigInt)]
    taxable: i64,
    #[diesel(sql_type = diesel::sql_types::BigInt)]
    amount: i64,
}

/// The taxes of every document in the register.
fn taxes(studio: &Studio) -> Vec<Tax> {
    let query = "SELECT category, rate, taxable, tax AS amount FROM issued_tax ORDER BY document_id, place";
    let load = |conn: &mut Conn| -> Result<Vec<Tax>, DbError> {
        Ok(match conn {
            Conn::Sqlite(inner) => sql_query(query).load(inner)?,
            Conn::Pg(inner) => sql_query(query).load(inner)?,
        })
    };
    studio.db.read(|conn| Ok(load(conn)?)).unwrap()
}
