//! Bodies that are not of the form that the API document describes.

use baywright_tests::on_each_engine;
use serde_json::json;

#[test]
fn a_list_is_not_taken_for_an_object() {
    on_each_engine(|studio| {
        let words = json!(["owner@example.com", "four wet sponges dry slowly"]);
        let refused = studio.nobody().json("POST", "/v1/sessions", &[], &words).problem(400, "invalid-body");
        let detail = refused["detail"].as_str().unwrap();
        assert!(detail.starts_with("Send an object with named fields here, not a list"), "{refused}");
        let owner = studio.owner();
        // Inside of a body as well, and the answer says where.
        let inner = json!({ "name": "Aoife Byrne", "consents": [["MAIL", "at the desk"]] });
        let refused = owner.post("/v1/customers", &inner).problem(400, "invalid-body");
        assert_eq!(refused["errors"][0]["pointer"], "/consents/0");
        let whole = json!({ "name": "Aoife Byrne", "consents": [{ "kind": "MAIL", "how": "at the desk" }] });
        owner.post("/v1/customers", &whole).expect(201);
    });
}
