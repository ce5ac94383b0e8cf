//! First calls over HTTP.

use baywright_core::platform::identity::Role;
use baywright_tests::make::enquiry::body;
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

fn with(mut body: Value, field: &str, value: Value) -> Value {
    body[field] = value;
    body
}

#[test]
fn a_call_is_taken_down_read_changed_and_listed() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let made = desk.post("/v1/enquiries", &body("Niamh Keane"));
        let location = made.header("location").to_owned();
        let view = made.expect(201);
        for field in ["channel", "caller", "vehicle", "wish", "wanted_by", "notes"] {
            assert_eq!(view[field], body("Niamh Keane")[field], "{field}");
        }
        assert_eq!((&view["state"], &view["customer_id"], &view["version"]), (&json!("OPEN"), &json!(null), &json!(1)));
        let read = desk.get(&location);
        assert_eq!((read.etag(), read.clone().expect(200)), ("\"1\"".to_owned(), view.clone()));
        desk.send("GET", &location, &[("if-none-match", "\"1\"")], None).expect(304);
        let changed = desk.put(&location, "\"1\"", &with(body("Niamh Keane"), "channel", json!("VISIT"))).expect(200);
        assert_eq!((&changed["channel"], &changed["version"]), (&json!("VISIT"), &json!(2)));
        desk.put(&location, "\"1\"", &body("late")).problem(412, "changed-meanwhile");
        desk.json("PUT", &location, &[], &body("late")).problem(428, "if-match-required");
        let other = desk.take_enquiry("Brendan Walsh");
        assert_eq!(desk.get("/v1/enquiries").expect(200)["items"], json!([other, changed]));
        let first = desk.get("/v1/enquiries?limit=1").expect(200);
        assert_eq!(first["items"], json!([other]));
        assert_eq!(desk.get(first["next"].as_str().unwrap()).expect(200)["items"], json!([changed]));
    });
}

#[test]
fn a_caller_becomes_a_customer_with_the_consents_given() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let view = desk.take_enquiry("Niamh Keane");
        let location = format!("/v1/enquiries/{}", view["id"].as_str().unwrap());
        let add = format!("{location}/add-customer");
        studio.pass_minutes(5);
        desk.act(&add, "\"7\"", &json!({})).problem(412, "changed-meanwhile");
        let known = desk.act(&add, "\"1\"", &json!({})).expect(200);
        let customer = known["customer_id"].as_str().unwrap();
        assert_eq!(known["version"], 2);
        let added = desk.get(&format!("/v1/customers/{customer}")).expect(200);
        assert_eq!(
            (&added["name"], &added["kind"], &added["emails"], &added["phones"]),
            (
                &json!("Niamh Keane"),
                &json!("PRIVATE"),
                &json!(["niamh.keane@example.com"]),
                &json!(["+353 20 910 0042"])
            )
        );
        let consent = json!({ "kind": "PHONE", "how": "by phone, when asking", "given_at": "2026-03-02T08:00:00Z",
            "withdrawn_at": null });
        assert_eq!(added["consents"], json!([consent]));
        desk.act(&add, "\"2\"", &json!({})).problem(409, "customer-known");
        // The vehicle is the customer's, and then the enquiry's.
        let car = desk.add_vehicle(customer, "231-D-10101");
        let mut whole = with(body("Niamh Keane"), "customer_id", json!(customer));
        whole["vehicle_id"] = car["id"].clone();
        let linked = desk.put(&location, "\"2\"", &whole).expect(200);
        assert_eq!(linked["vehicle_id"], car["id"]);
        let of_customer = desk.get(&format!("/v1/enquiries?customer_id={customer}")).expect(200);
        assert_eq!(of_customer["items"], json!([linked]));
        // Another customer's car is not theirs.
        let (_, stranger) = desk.add_customer_with_car();
        whole["vehicle_id"] = stranger["id"].clone();
        let refused = desk.put(&location, "\"3\"", &whole).problem(422, "invalid-value");
        assert_eq!(refused["errors"][0]["pointer"], "/vehicle_id");
    });
}

#[test]
fn a_known_customer_asks_without_being_named_again() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let (customer, car) = desk.add_customer_with_car();
        let call = json!({ "customer_id": customer["id"], "vehicle_id": car["id"], "wish": "The same as last year." });
        let view = desk.post("/v1/enquiries", &call).expect(201);
        assert_eq!((&view["channel"], &view["caller"], &view["notes"]), (&json!("PHONE"), &json!(null), &json!("")));
        let add = format!("/v1/enquiries/{}/add-customer", view["id"].as_str().unwrap());
        desk.act(&add, "\"1\"", &json!({})).problem(409, "customer-known");
    });
}

#[test]
fn an_enquiry_is_closed_once_with_a_reason() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let view = desk.take_enquiry("Niamh Keane");
        let location = format!("/v1/enquiries/{}", view["id"].as_str().unwrap());
        let close = format!("{location}/close");
        desk.act(&close, "\"1\"", &json!({ "reason": "OTHER" })).problem(422, "no-note");
        desk.act(&close, "\"1\"", &json!({ "reason": "BORED" })).problem(400, "invalid-body");
        desk.act(&close, "\"9\"", &json!({ "reason": "TOO_DEAR" })).problem(412, "changed-meanwhile");
        let closed = desk.act(&close, "\"1\"", &json!({ "reason": "OTHER", "note": "sold the car" })).expect(200);
        assert_eq!(
            (&closed["state"], &closed["close_reason"], &closed["close_note"]),
            (&json!("CLOSED"), &json!("OTHER"), &json!("sold the car"))
        );
        desk.act(&close, "\"2\"", &json!({ "reason": "TOO_DEAR" })).problem(409, "wrong-state");
        desk.put(&location, "\"2\"", &body("Niamh Keane")).problem(409, "wrong-state");
        desk.act(&format!("{location}/add-customer"), "\"2\"", &json!({})).problem(409, "wrong-state");
        let open = desk.take_enquiry("Brendan Walsh");
        assert_eq!(desk.get("/v1/enquiries?state=OPEN").expect(200)["items"], json!([open]));
        assert_eq!(desk.get("/v1/enquiries?state=CLOSED").expect(200)["items"], json!([closed]));
    });
}

#[test]
fn a_quote_that_is_made_from_an_enquiry_is_noted_once() {
    on_each_engine(|studio| {
        let quote = studio.sent_quote("aoife@example.com", &["decontamination"], &[]);
        let desk = studio.colleague(Role::Desk);
        let view = desk.take_enquiry("Niamh Keane");
        let location = format!("/v1/enquiries/{}", view["id"].as_str().unwrap());
        let verb = format!("{location}/quoted");
        let of = |id: &str| json!({ "quote_id": id });
        let none = desk.act(&verb, "\"1\"", &of("0198c0de-0000-7000-8000-000000000001")).problem(422, "invalid-value");
        assert_eq!(none["errors"][0]["pointer"], "/quote_id");
        desk.act(&verb, "\"2\"", &of(&quote.id)).problem(412, "changed-meanwhile");
        let quoted = desk.act(&verb, "\"1\"", &of(&quote.id)).expect(200);
        assert_eq!((&quoted["state"], &quoted["quote_id"]), (&json!("QUOTED"), &json!(quote.id)));
        assert_eq!(
            (&quoted["customer_id"], &quoted["vehicle_id"], &quoted["version"]),
            (&json!(quote.customer), &json!(quote.vehicle), &json!(2))
        );
        desk.act(&verb, "\"2\"", &of(&quote.id)).problem(409, "wrong-state");
        let mut other = body("Niamh Keane");
        other["customer_id"] = desk.add_customer("Brendan Walsh")["id"].clone();
        let moved = desk.put(&location, "\"2\"", &other).problem(422, "invalid-value");
        assert_eq!(moved["errors"][0]["pointer"], "/customer_id");
        let won = desk.act(&format!("{location}/close"), "\"2\"", &json!({ "reason": "WON" })).expect(200);
        assert_eq!((&won["state"], &won["quote_id"]), (&json!("CLOSED"), &json!(quote.id)));
        // Somebody else's enquiry is not about this quote.
        let theirs = desk.post("/v1/enquiries", &json!({ "customer_id": other["customer_id"], "wish": "A wash." }));
        let verb = format!("{}/quoted", theirs.header("location"));
        theirs.expect(201);
        desk.act(&verb, "\"1\"", &of(&quote.id)).problem(422, "invalid-value");
        studio.stranger().act(&verb, "\"1\"", &of(&quote.id)).problem(404, "not-found");
        studio.colleague(Role::Technician).act(&verb, "\"1\"", &of(&quote.id)).problem(403, "not-allowed");
    });
}

#[test]
fn somebody_must_be_able_to_answer() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let nobody = "0198c0de-0000-7000-8000-000000000001";
        let caller = |value: Value| json!({ "caller": value, "wish": "A clean car." });
        for (sent, status, pointer) in [
            (json!({ "wish": "A clean car." }), 422, "/caller"),
            (caller(json!({ "name": "Niamh Keane" })), 422, "/caller/phone"),
            (caller(json!({ "name": "N", "phone": "+353 20 910 0042", "may_mail": true })), 422, "/caller/email"),
            (caller(json!({ "name": "N", "email": "n@example.com", "may_phone": true })), 422, "/caller/phone"),
            (caller(json!({ "name": "", "phone": "+353 20 910 0042" })), 400, "/caller/name"),
            (caller(json!({ "name": "N", "phone": "+353 20 910 0042", "age": 40 })), 400, "/caller/age"),
            (with(body("N"), "wish", json!(" ")), 422, "/wish"),
            (with(body("N"), "wish", json!("x".repeat(2001))), 400, "/wish"),
            (with(body("N"), "notes", json!("x".repeat(4001))), 400, "/notes"),
            (with(body("N"), "channel", json!("PIGEON")), 400, "/channel"),
            (with(body("N"), "wanted_by", json!("2026-03-01")), 422, "/wanted_by"),
            (with(body("N"), "customer_id", json!(nobody)), 422, "/customer_id"),
            (with(body("N"), "vehicle_id", json!(nobody)), 422, "/vehicle_id"),
        ] {
            let problem = desk.post("/v1/enquiries", &sent).expect(status);
            assert_eq!(problem["errors"][0]["pointer"], pointer, "{sent}: {problem}");
        }
        assert_eq!(desk.get("/v1/enquiries").expect(200)["items"], json!([]));
    });
}

#[test]
fn a_day_that_has_passed_since_may_stay() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let view = desk.take_enquiry("Niamh Keane");
        let location = format!("/v1/enquiries/{}", view["id"].as_str().unwrap());
        studio.pass_minutes(30 * 24 * 60);
        let desk = studio.colleague(Role::Desk);
        desk.put(&location, "\"1\"", &with(body("Niamh Keane"), "notes", json!("called back"))).expect(200);
        let other = with(body("Niamh Keane"), "wanted_by", json!("2026-03-21"));
        desk.put(&location, "\"2\"", &other).problem(422, "invalid-value");
    });
}

#[test]
fn a_caller_is_found_as_one_types_until_they_are_a_customer() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let view = desk.take_enquiry("Niamh Keane");
        let found = desk.get("/v1/search?q=9100042").expect(200);
        assert_eq!(
            found["items"],
            json!([{ "kind": "enquiry", "id": view["id"], "title": "Niamh Keane",
            "detail": "+353 20 910 0042" }])
        );
        let add = format!("/v1/enquiries/{}/add-customer", view["id"].as_str().unwrap());
        let known = desk.act(&add, "\"1\"", &json!({ "kind": "TRADE" })).expect(200);
        let found = desk.get("/v1/search?q=keane").expect(200);
        assert_eq!(found["items"].as_array().map(Vec::len), Some(1));
        assert_eq!(found["items"][0]["id"], known["customer_id"]);
    });
}

#[test]
fn what_a_customer_asked_is_blanked_when_they_are_erased() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let view = desk.take_enquiry("Niamh Keane");
        let location = format!("/v1/enquiries/{}", view["id"].as_str().unwrap());
        let known = desk.act(&format!("{location}/add-customer"), "\"1\"", &json!({})).expect(200);
        let erase = format!("/v1/customers/{}/erase", known["customer_id"].as_str().unwrap());
        studio.owner().act(&erase, "\"1\"", &json!({})).expect(200);
        let left = desk.get(&location);
        assert!(!left.text.contains("Niamh") && !left.text.contains("Swirl"), "{}", left.text);
        assert_eq!(left.expect(200)["caller"], json!(null));
    });
}

#[test]
fn a_repeated_call_is_taken_down_once() {
    on_each_engine(|studio| {
        let desk = studio.colleague(Role::Desk);
        let key = [("idempotency-key", "one-call")];
        let first = desk.json("POST", "/v1/enquiries", &key, &body("Niamh Keane"));
        let again = desk.json("POST", "/v1/enquiries", &key, &body("Niamh Keane"));
        assert_eq!((first.status, &first.text), (201, &again.text));
        desk.json("POST", "/v1/enquiries", &[], &body("Niamh Keane")).problem(400, "idempotency-key-required");
        assert_eq!(desk.get("/v1/enquiries").expect(200)["items"].as_array().map(Vec::len), Some(1));
    });
}

#[test]
fn another_shop_sees_no_enquiry_and_other_roles_have_none() {
    on_each_engine(|studio| {
        let view = studio.owner().take_enquiry("Niamh Keane");
        let location = format!("/v1/enquiries/{}", view["id"].as_str().unwrap());
        let stranger = studio.stranger();
        stranger.get(&location).problem(404, "not-found");
        stranger.put(&location, "\"1\"", &body("X")).problem(404, "not-found");
        stranger.act(&format!("{location}/add-customer"), "\"1\"", &json!({})).problem(404, "not-found");
        stranger.act(&format!("{location}/close"), "\"1\"", &json!({ "reason": "WON" })).problem(404, "not-found");
        assert_eq!(stranger.get("/v1/enquiries").expect(200)["items"], json!([]));
        // A customer of this shop can't be named from the other one.
        let customer = studio.owner().add_customer("Aoife Byrne");
        let named = with(body("X"), "customer_id", customer["id"].clone());
        stranger.post("/v1/enquiries", &named).problem(422, "invalid-value");
        for role in [Role::Technician, Role::Accountant] {
            let other = studio.colleague(role);
            other.get("/v1/enquiries").problem(403, "not-allowed");
            other.get(&location).problem(403, "not-allowed");
            other.post("/v1/enquiries", &body("X")).problem(403, "not-allowed");
            other.put(&location, "\"1\"", &body("X")).problem(403, "not-allowed");
            other.act(&format!("{location}/close"), "\"1\"", &json!({ "reason": "WON" })).problem(403, "not-allowed");
            other.act(&format!("{location}/add-customer"), "\"1\"", &json!({})).problem(403, "not-allowed");
        }
    });
}
