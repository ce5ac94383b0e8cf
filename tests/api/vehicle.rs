//! Vehicles over HTTP.

use baywright_core::platform::identity::Role;
use baywright_tests::make::vehicle::body;
use baywright_tests::on_each_engine;
use serde_json::{Value, json};

fn with(mut body: Value, field: &str, value: Value) -> Value {
    body[field] = value;
    body
}

#[test]
fn a_vehicle_is_added_read_changed_and_listed_by_customer() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let other = owner.add_customer("Brendan Walsh");
        let (id, other_id) = (customer["id"].as_str().unwrap(), other["id"].as_str().unwrap());
        let made = owner.post("/v1/vehicles?confirm=known-vehicle", &body(id, "231-D-10101"));
        let location = made.header("location").to_owned();
        let view = made.expect(201);
        assert_eq!((&view["registration"], &view["vin_warning"]), (&json!("231-D-10101"), &json!(null)));
        owner.add_vehicle(other_id, "12 C 345");
        let read = owner.get(&location);
        assert_eq!((read.etag(), read.clone().expect(200)), ("\"1\"".to_owned(), view));
        let changed = owner.put(&location, "\"1\"", &with(body(id, "231 D 10102"), "colour", json!("red"))).expect(200);
        assert_eq!((&changed["colour"], &changed["version"]), (&json!("red"), &json!(2)));
        owner.put(&location, "\"1\"", &body(id, "late")).problem(412, "changed-meanwhile");
        let moved = owner.put(&location, "\"2\"", &body(other_id, "231 D 10102")).problem(422, "invalid-value");
        assert_eq!(moved["errors"][0]["pointer"], "/customer_id");
        let list = owner.get(&format!("/v1/vehicles?customer_id={id}")).expect(200);
        assert_eq!(list["items"], json!([changed]));
        let by_plate = owner.get("/v1/vehicles?registration=231d10102").expect(200);
        assert_eq!(by_plate["items"], json!([changed]));
        assert_eq!(owner.get("/v1/vehicles").expect(200)["items"].as_array().map(Vec::len), Some(2));
    });
}

// The number and its check digit are the worked example of 49 CFR 565.15; one character is then changed.
#[test]
fn a_wrong_check_digit_is_refused_for_north_america_and_a_warning_elsewhere() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let car = body(customer["id"].as_str().unwrap(), "AB12 CDE");
        let right = with(car.clone(), "vin", json!("1G4AH59H-45G118341"));
        let wrong = with(car, "vin", json!("1G4AH59H55G118341"));
        let sold_there = |car: &Value| with(car.clone(), "market", json!("NORTH_AMERICA"));
        let view = owner.post("/v1/vehicles?confirm=known-vehicle", &sold_there(&right)).expect(201);
        assert_eq!((&view["vin"], &view["vin_warning"]), (&json!("1G4AH59H45G118341"), &json!(null)));
        let refused =
            owner.post("/v1/vehicles?confirm=known-vehicle", &sold_there(&wrong)).problem(422, "invalid-value");
        assert_eq!(
            (&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]),
            (&json!("/vin"), &json!("bad_vin"))
        );
        let warned = owner.post("/v1/vehicles?confirm=known-vehicle", &wrong);
        assert_eq!(warned.warnings(), ["vin-check-digit"]);
        let said = warned.json()["warnings"][0]["detail"].as_str().unwrap().to_owned();
        assert!(said.ends_with("once more."), "{said}");
        assert!(warned.expect(201)["vin_warning"].as_str().unwrap().contains("check digit"));
        let short = with(wrong, "vin", json!("1G4AH59H5"));
        owner.post("/v1/vehicles?confirm=known-vehicle", &short).problem(422, "invalid-value");
    });
}

#[test]
fn all_faults_of_a_vehicle_are_told_at_once() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let mut wrong = body(customer["id"].as_str().unwrap(), "- -");
        wrong["vin"] = json!("1G4AH59H5");
        wrong["year"] = json!(185);
        let problem = owner.post("/v1/vehicles", &wrong).problem(422, "invalid-value");
        let errors = problem["errors"].as_array().unwrap();
        let pointers: Vec<&str> = errors.iter().map(|one| one["pointer"].as_str().unwrap()).collect();
        assert_eq!(pointers, ["/vin", "/registration", "/year"]);
    });
}

#[test]
fn a_car_that_may_be_electric_carries_its_caution() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let car = with(body(customer["id"].as_str().unwrap(), "AB12 CDE"), "powertrain", json!("ELECTRIC"));
        let view = owner.post("/v1/vehicles?confirm=known-vehicle", &car).expect(201);
        assert!(view["cautions"][0].as_str().unwrap().contains("high-voltage"), "{view}");
    });
}

#[test]
fn bad_values_are_pointed_at() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let car = body(customer["id"].as_str().unwrap(), "AB12 CDE");
        for (field, value, status) in [
            ("registration", json!("--"), 422),
            ("registration_country", json!("XX"), 400),
            ("year", json!(1700), 422),
            ("size_class", json!("HUGE"), 400),
            ("make", json!(""), 400),
            ("customer_id", json!("0198c0de-0000-7000-8000-000000000001"), 422),
            ("customer_id", json!("none"), 400),
        ] {
            let answer = owner.post("/v1/vehicles?confirm=known-vehicle", &with(car.clone(), field, value.clone()));
            let problem = answer.expect(status);
            assert_eq!(problem["errors"][0]["pointer"], format!("/{field}"), "{value}: {problem}");
        }
    });
}

#[test]
fn another_shop_sees_nothing_and_a_technician_only_reads() {
    on_each_engine(|studio| {
        let (customer, vehicle) = studio.owner().add_customer_with_car();
        let location = format!("/v1/vehicles/{}", vehicle["id"].as_str().unwrap());
        let stranger = studio.stranger();
        stranger.get(&location).problem(404, "not-found");
        let car = body(customer["id"].as_str().unwrap(), "X");
        stranger.put(&location, "\"1\"", &car).problem(404, "not-found");
        stranger.post("/v1/vehicles?confirm=known-vehicle", &car).problem(422, "invalid-value");
        assert_eq!(stranger.get("/v1/vehicles").expect(200)["items"], json!([]));
        let technician = studio.colleague(Role::Technician);
        technician.get(&location).expect(200);
        technician.put(&location, "\"1\"", &car).problem(403, "not-allowed");
        technician.post("/v1/vehicles?confirm=known-vehicle", &car).problem(403, "not-allowed");
        studio.colleague(Role::Accountant).get(&location).problem(403, "not-allowed");
    });
}
