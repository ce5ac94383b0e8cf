//! Customers over HTTP.

use baywright_core::platform::identity::Role;
use baywright_tests::make::customer;
use baywright_tests::on_each_engine;
use serde_json::json;

#[test]
fn a_customer_is_added_read_changed_and_listed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let made = owner.post("/v1/customers", &json!({ "name": "Aoife Byrne" }));
        let location = made.header("location").to_owned();
        let view = made.clone().expect(201);
        assert_eq!(view["name"], "Aoife Byrne");
        let read = owner.get(&location);
        assert_eq!(read.etag(), "\"1\"");
        assert_eq!(read.expect(200), view);
        let unchanged = owner.send("GET", &location, &[("if-none-match", "\"1\"")], None);
        assert_eq!((unchanged.status, unchanged.text.as_str()), (304, ""));
        // What is no tag doesn't hold (RFC 9110, section 13.1.2), and a list may be as long as the API document says.
        let known = |tags: &str| owner.send("GET", &location, &[("if-none-match", tags)], None);
        known("\u{e4}").expect(200);
        known(&"x".repeat(200)).expect(200);
        known(&"x".repeat(201)).problem(400, "malformed-request");
        let changed = owner.put(&location, "\"1\"", &json!({ "name": "Aoife Nolan" })).expect(200);
        assert_eq!((&changed["name"], &changed["version"]), (&json!("Aoife Nolan"), &json!(2)));
        owner.put(&location, "\"1\"", &json!({ "name": "Late" })).problem(412, "changed-meanwhile");
        owner.json("PUT", &location, &[], &json!({ "name": "Bold" })).problem(428, "if-match-required");
        let list = owner.get("/v1/customers").expect(200);
        assert_eq!(list["items"][0], changed);
    });
}

#[test]
fn pages_are_walked_both_ways() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for number in 0..7 {
            owner.post("/v1/customers", &json!({ "name": format!("Customer {number}") })).expect(201);
        }
        let first = owner.get("/v1/customers?limit=3").expect(200);
        assert_eq!((first["items"].as_array().map(Vec::len), &first["prev"]), (Some(3), &json!(null)));
        let second = owner.get(first["next"].as_str().unwrap()).expect(200);
        let third = owner.get(second["next"].as_str().unwrap()).expect(200);
        assert_eq!((third["items"].as_array().map(Vec::len), &third["next"]), (Some(1), &json!(null)));
        let back = owner.get(third["prev"].as_str().unwrap()).expect(200);
        assert_eq!(back["items"], second["items"]);
        owner.get("/v1/customers?cursor=AAAA").problem(400, "invalid-query");
        owner.get("/v1/customers?limit=0").problem(400, "invalid-query");
        owner.get("/v1/customers?colour=red").problem(400, "invalid-query");
    });
}

#[test]
fn another_shop_and_another_role_see_nothing() {
    on_each_engine(|studio| {
        let made = studio.owner().post("/v1/customers", &json!({ "name": "Aoife Byrne" }));
        let location = made.header("location").to_owned();
        studio.stranger().get(&location).problem(404, "not-found");
        studio.stranger().put(&location, "\"1\"", &json!({ "name": "Stolen" })).problem(404, "not-found");
        assert_eq!(studio.stranger().get("/v1/customers").expect(200)["items"], json!([]));
        studio.colleague(Role::Technician).get(&location).problem(403, "not-allowed");
        studio.nobody().get(&location).problem(401, "not-signed-in");
    });
}

#[test]
fn a_repeated_creation_makes_one_customer() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let key = [("idempotency-key", "once")];
        let body = json!({ "name": "Aoife Byrne" });
        let first = owner.json("POST", "/v1/customers", &key, &body);
        let again = owner.json("POST", "/v1/customers", &key, &body);
        assert_eq!(again.header("idempotency-replayed"), "true");
        assert_eq!(first.text, again.text);
        let other = json!({ "name": "Another" });
        owner.json("POST", "/v1/customers", &key, &other).problem(422, "idempotency-key-reused");
        owner.json("POST", "/v1/customers", &[], &body).problem(400, "idempotency-key-required");
        assert_eq!(owner.get("/v1/customers").expect(200)["items"].as_array().map(Vec::len), Some(1));
    });
}

#[test]
fn a_bad_body_is_pointed_at() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let problem = owner.post("/v1/customers", &json!({ "name": "" })).problem(400, "invalid-body");
        assert_eq!(problem["errors"][0]["pointer"], "/name");
        owner.post("/v1/customers", &json!({ "name": "A", "colour": "red" })).problem(400, "invalid-body");
        owner
            .send("POST", "/v1/customers", &[("idempotency-key", "k")], Some(b"x".to_vec()))
            .problem(415, "unsupported-media-type");
        owner.json("DELETE", "/v1/customers", &[], &json!({})).problem(405, "method-not-allowed");
        owner.get("/v1/nothing").problem(404, "not-found");
    });
}

#[test]
fn what_is_known_of_a_customer_comes_back_as_it_was_sent() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut body = customer::trade_body("Quay Cars");
        body["reference"] = json!("C-1042");
        body["prices"] = json!("GROSS");
        body["vat_id"] = json!("ie 1234567-fa");
        body["notes"] = json!("Rings before nine.\nKeys in the box.");
        let view = owner.post("/v1/customers", &body).expect(201);
        assert_eq!(view["vat_id"], "IE1234567FA");
        for field in [
            "kind",
            "reference",
            "name",
            "contact_name",
            "emails",
            "phones",
            "purchase_order_required",
            "prices",
            "notes",
        ] {
            assert_eq!(view[field], body[field], "{field}");
        }
        assert_eq!(
            view["address"],
            json!({ "lines": ["Unit 9", "Quay Road"], "city": "Galway", "postcode": null, "region": null, "country": "IE" })
        );
        let taken = owner.post("/v1/customers", &body).problem(422, "invalid-value");
        assert_eq!(taken["errors"][0]["pointer"], "/reference");
        studio.stranger().post("/v1/customers", &body).expect(201);
        let only = owner.get("/v1/customers?reference=C-1042&kind=TRADE&email=ACCOUNTS@dealer.example").expect(200);
        assert_eq!(only["items"], json!([view]));
        assert_eq!(owner.get("/v1/customers?email=nobody@dealer.example").expect(200)["items"], json!([]));
        assert_eq!(owner.get("/v1/customers?kind=PRIVATE").expect(200)["items"], json!([]));
    });
}

#[test]
fn a_consent_is_kept_with_when_and_how_and_when_it_was_taken_back() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let view = owner.add_customer("Aoife Byrne");
        let location = format!("/v1/customers/{}", view["id"].as_str().unwrap());
        let now = "2026-03-02T08:00:00Z";
        assert_eq!(
            view["consents"][0],
            json!({ "kind": "MAIL", "how": "at the desk", "given_at": now, "withdrawn_at": null })
        );
        let mut body = customer::body("Aoife Byrne");
        let marketing = json!({ "kind": "MARKETING", "how": "paper form", "given_at": "2026-02-01T10:00:00Z" });
        body["consents"] = json!([{ "kind": "MAIL", "how": "again" }, marketing]);
        let changed = owner.put(&location, "\"1\"", &body).expect(200);
        let consents = changed["consents"].as_array().unwrap();
        assert_eq!(consents.len(), 3, "{changed}");
        assert_eq!((&consents[0]["how"], &consents[0]["withdrawn_at"]), (&json!("at the desk"), &json!(null)));
        assert_eq!((&consents[1]["kind"], &consents[1]["withdrawn_at"]), (&json!("PHONE"), &json!(now)));
        assert_eq!(
            (&consents[2]["kind"], &consents[2]["given_at"]),
            (&json!("MARKETING"), &json!("2026-02-01T10:00:00Z"))
        );
        for bad in [
            json!([{ "kind": "MAIL", "how": "a" }, { "kind": "MAIL", "how": "b" }]),
            json!([{ "kind": "MAIL", "how": "a", "given_at": "2026-03-02T08:00:01Z" }]),
        ] {
            body["consents"] = bad;
            owner.put(&location, "\"2\"", &body).problem(422, "invalid-value");
        }
    });
}

#[test]
fn bad_values_of_a_customer_are_pointed_at() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for (field, value, status, pointer) in [
            ("emails", json!(["a@example.com", "no address"]), 400, "/emails/1"),
            ("emails", json!(vec!["a@example.com"; 6]), 422, "/emails"),
            ("phones", json!(["12"]), 400, "/phones/0"),
            ("vat_id", json!("UK123456"), 422, "/vat_id"),
            ("address", json!({ "lines": [], "city": "Cork", "country": "IE" }), 422, "/address/lines"),
            ("address", json!({ "lines": ["a"], "city": "Cork", "country": "ZZ" }), 400, "/address/country"),
            ("language", json!("english"), 400, "/language"),
            ("kind", json!("FRIEND"), 400, "/kind"),
            ("notes", json!("x".repeat(4001)), 400, "/notes"),
        ] {
            let mut body = customer::body("Aoife Byrne");
            body[field] = value;
            let problem = owner.post("/v1/customers", &body).expect(status);
            assert_eq!(problem["errors"][0]["pointer"], pointer, "{problem}");
        }
    });
}
