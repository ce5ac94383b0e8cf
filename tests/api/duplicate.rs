//! Customers and vehicles that are known already are recognised before they are added twice.

use baywright_tests::answer::Answer;
use baywright_tests::make::menu::with;
use baywright_tests::make::quote::id;
use baywright_tests::make::shop::without;
use baywright_tests::make::{enquiry, vehicle};
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

/// The German number is the one with which the fault was seen.
fn known() -> Value {
    json!({
        "name": "Jürgen Groß", "emails": ["j.gross@example.com"], "phones": ["+49 (0)171-555.0213"],
        "consents": [], "notes": "Rings before nine."
    })
}

fn count(person: &Person, path: &str) -> usize {
    person.get(&format!("{path}?limit=200")).expect(200)["items"].as_array().unwrap().len()
}

/// The one record that an answer names, and what is in common.
fn named(answer: Answer, slug: &str) -> (String, Vec<String>) {
    let problem = answer.problem(409, slug);
    let known = problem["known"].as_array().unwrap();
    assert_eq!(known.len(), 1, "{problem}");
    assert!(problem["detail"].as_str().unwrap().contains(&format!("?confirm={slug}")), "{problem}");
    let shared = known[0]["in_common"].as_array().unwrap().iter();
    (id(&known[0]), shared.map(|word| word.as_str().unwrap().to_owned()).collect())
}

#[test]
fn a_customer_who_is_known_by_number_address_or_name_is_added_again_only_if_confirmed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first = owner.post("/v1/customers", &known()).expect(201);
        for (said, shared) in [
            (json!({ "name": "Somebody", "phones": ["0049 171 5550213 (mobil)"] }), vec!["PHONE"]),
            (json!({ "name": "Somebody", "emails": ["J.Gross@Example.com"] }), vec!["MAIL"]),
            (json!({ "name": "GROSS, Jurgen" }), vec!["NAME"]),
            (json!({ "name": "Jurgen Gross", "emails": ["j.gross@example.com"] }), vec!["MAIL", "NAME"]),
        ] {
            let (who, common) = named(owner.post("/v1/customers", &said), "known-customer");
            assert_eq!((who, common), (id(&first), shared.into_iter().map(str::to_owned).collect()), "{said}");
        }
        assert_eq!(count(&owner, "/v1/customers"), 1, "what was refused left nothing behind");
        let said = json!({ "name": "Anke Groß", "phones": ["+49 171 5550213"] });
        owner.post("/v1/customers?confirm=known-customer", &said).expect(201);
        let both = owner.post("/v1/customers", &json!({ "name": "Eva Groß", "phones": ["+491715550213"] }));
        assert_eq!(both.problem(409, "known-customer")["known"].as_array().map(Vec::len), Some(2));
        // Nobody else is asked about.
        owner.post("/v1/customers", &json!({ "name": "Jürgen Grosser", "phones": ["+49 171 5550214"] })).expect(201);
        studio.stranger().post("/v1/customers", &known()).expect(201);
    });
}

#[test]
fn a_number_that_was_changed_away_or_erased_is_nobodys() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first = owner.post("/v1/customers", &known()).expect(201);
        let path = format!("/v1/customers/{}", id(&first));
        let moved = with(known(), json!({ "phones": ["+353 20 910 0001"], "emails": [], "name": "Jürgen Klein" }));
        owner.put(&path, "\"1\"", &moved).expect(200);
        let second = owner.post("/v1/customers", &known()).expect(201);
        owner.act(&format!("/v1/customers/{}/erase", id(&second)), "\"1\"", &json!({})).expect(200);
        let third = owner.post("/v1/customers", &known());
        assert_eq!(third.warnings(), ["erased-before"]);
        third.expect(201);
    });
}

#[test]
fn a_known_caller_is_named_when_they_ask_and_before_they_are_added() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first = owner.post("/v1/customers", &known()).expect(201);
        let body = with(
            enquiry::body("Herr Gross"),
            json!({ "caller": { "name": "Herr Gross", "phone": "+49 171 5550213", "may_phone": true } }),
        );
        let taken = owner.post("/v1/enquiries", &body);
        let warning = taken.json()["warnings"][0].clone();
        let taken = taken.expect(201);
        assert_eq!((&warning["code"], &warning["pointer"]), (&json!("known-caller"), &json!("/caller")));
        let detail = warning["detail"].as_str().unwrap();
        assert!(detail.contains("Jürgen Groß") && detail.contains(&id(&first)), "{detail}");
        let path = format!("/v1/enquiries/{}", id(&taken));
        let (who, shared) = named(owner.act(&format!("{path}/add-customer"), "\"1\"", &json!({})), "known-customer");
        assert_eq!((who, shared), (id(&first), vec!["PHONE".to_owned()]));
        // Either the customer who is known …
        let linked = owner.put(&path, "\"1\"", &with(body.clone(), json!({ "customer_id": id(&first) })));
        assert!(linked.warnings().is_empty());
        assert_eq!(linked.expect(200)["customer_id"], first["id"]);
        // … or somebody else.
        let other = owner.post("/v1/enquiries", &body).expect(201);
        let add = format!("/v1/enquiries/{}/add-customer?confirm=known-customer", id(&other));
        let added = owner.act(&add, "\"1\"", &json!({})).expect(200);
        assert_ne!(added["customer_id"], first["id"]);
        assert!(owner.post("/v1/enquiries", &enquiry::body("Niamh Keane")).warnings().is_empty());
    });
}

// The number is the worked example of 49 CFR 565.15.
#[test]
fn a_vehicle_that_is_known_by_number_or_plate_is_added_again_only_if_confirmed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (one, two) = (owner.add_customer("Aoife Byrne"), owner.add_customer("Brendan Walsh"));
        let car = with(vehicle::body(&id(&one), "231-D-10101"), json!({ "vin": "1G4AH59H45G118341" }));
        let first = owner.post("/v1/vehicles", &car).expect(201);
        let plate = vehicle::body(&id(&one), "231 d 10101");
        let (which, shared) = named(owner.post("/v1/vehicles", &plate), "known-vehicle");
        assert_eq!((which, shared), (id(&first), vec!["REGISTRATION".to_owned()]));
        let sold = with(vehicle::body(&id(&two), "12 C 345"), json!({ "vin": "1g4ah59h45g118341" }));
        let problem = owner.post("/v1/vehicles", &sold).problem(409, "known-vehicle");
        let detail = problem["detail"].as_str().unwrap();
        assert!(detail.contains("sold on") && detail.contains("Aoife Byrne"), "{detail}");
        let abroad = with(plate, json!({ "registration_country": "FR" }));
        owner.post("/v1/vehicles", &abroad).expect(201);
        owner.post("/v1/vehicles?confirm=known-vehicle", &sold).expect(201);
        owner.post("/v1/vehicles", &vehicle::body(&id(&one), "231-D-10102")).expect(201);
        assert_eq!(count(&owner, "/v1/vehicles"), 4);
    });
}

#[test]
fn a_list_names_the_records_that_its_rows_may_be_and_leaves_them_out() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first = owner.post("/v1/customers", &known()).expect(201);
        owner.post("/v1/vehicles", &vehicle::body(&id(&first), "B-XY 123")).expect(201);
        let customers = "name,emails,phones\nAnke Groß,,0171 5550213\nAoife Byrne,aoife@example.com,\n";
        let customers = customers.replace("0171", "+49 171");
        let list = |path: &str, text: &str| owner.post_file(path, "text/csv", text.as_bytes()).expect(200);
        let report = list("/v1/imports/customers", &customers);
        assert_eq!((&report["added"], &report["refused"]), (&json!(1), &json!([])), "{report}");
        assert_eq!((&report["known"][0]["line"], &report["known"][0]["records"][0]["id"]), (&json!(2), &first["id"]));
        let again = list("/v1/imports/customers?confirm=known-customer", &customers);
        assert_eq!((&again["added"], again["already_here"].as_array().map(Vec::len)), (&json!(1), Some(1)), "{again}");
        let vehicles = "customer_email,registration,registration_country,make,model,size_class\n\
                        aoife@example.com,b xy 123,IE,Corrigan,Estate,large\n";
        let report = list("/v1/imports/vehicles", vehicles);
        assert_eq!(
            (&report["added"], &report["known"][0]["records"][0]["in_common"]),
            (&json!(0), &json!(["REGISTRATION"]))
        );
        assert_eq!(list("/v1/imports/vehicles?confirm=known-vehicle", vehicles)["added"], 1);
    });
}

#[test]
fn a_vat_number_that_was_mistyped_is_warned_of() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let firm = |number: &str| json!({ "name": format!("Firm {number}"), "kind": "TRADE", "vat_id": number });
        let odd = owner.post("/v1/customers", &firm("DE000000000"));
        assert_eq!(odd.warnings(), ["vat-check-digits"]);
        assert_eq!(odd.json()["warnings"][0]["pointer"], "/vat_id");
        for number in ["IE1234567FA", "GBGD001"] {
            assert!(owner.post("/v1/customers", &firm(number)).warnings().is_empty(), "{number}");
        }
        let path = format!("/v1/customers/{}", id(&odd.expect(201)));
        assert!(owner.put(&path, "\"1\"", &firm("DE000000000")).warnings().is_empty(), "told once");
        assert_eq!(owner.put(&path, "\"2\"", &firm("GB123456789")).warnings(), ["vat-check-digits"]);
        let shop = |number: &str| {
            let now = owner.get("/v1/shop");
            let etag = now.etag();
            let mut body = without(&now.expect(200), &["id", "version", "currency", "created_at", "updated_at"]);
            body["vat_id"] = json!(number);
            owner.put("/v1/shop", &etag, &body).warnings()
        };
        assert_eq!(shop("DE123456789"), ["vat-check-digits"]);
        assert!(shop("DE123456788").is_empty());
    });
}

#[test]
fn a_change_that_makes_two_records_alike_is_made_with_a_warning() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let first = owner.post("/v1/customers", &known()).expect(201);
        let second = owner.post("/v1/customers", &json!({ "name": "Eva Klein" })).expect(201);
        let path = format!("/v1/customers/{}", id(&second));
        let put = |body: &Value| owner.put(&path, &owner.get(&path).etag(), body);
        let same = json!({ "name": "Eva Klein", "phones": ["+49 171 5550213"] });
        let changed = put(&same);
        assert_eq!(changed.warnings(), ["known-customer"]);
        assert_eq!(changed.json()["warnings"][0]["pointer"], "/phones");
        assert!(
            put(&with(same.clone(), json!({ "notes": "Rings at noon." }))).warnings().is_empty(),
            "it is known by now"
        );
        let mail = with(same, json!({ "emails": ["J.Gross@example.com"] }));
        assert_eq!(put(&mail).warnings(), ["known-customer"]);
        owner.add_vehicle(&id(&first), "B-AY 10");
        let car = owner.add_vehicle(&id(&second), "B-AY 11");
        let path = format!("/v1/vehicles/{}", id(&car));
        let put = |plate: &str| owner.put(&path, &owner.get(&path).etag(), &vehicle::body(&id(&second), plate));
        let changed = put("B-AY 10");
        assert_eq!(changed.warnings(), ["known-vehicle"]);
        assert_eq!(changed.json()["warnings"][0]["pointer"], "/registration");
        assert!(put("B-AY 10").warnings().is_empty());
        assert!(put("B-AY 12").warnings().is_empty());
    });
}
