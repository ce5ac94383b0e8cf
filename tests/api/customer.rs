//! Customers over HTTP.

use baywright::platform::identity::Role;
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
        owner.get("/v1/customers?cursor=AAAA").problem(400, "malformed-request");
        owner.get("/v1/customers?limit=0").problem(400, "malformed-request");
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
