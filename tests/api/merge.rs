//! Two records of one customer, or of one vehicle, made one, and taken apart again.

use std::collections::BTreeMap;

use baywright_core::platform::fail::DbError;
use baywright_core::platform::identity::Role;
use baywright_core::platform::record;
use baywright_core::seal::usecase::verify_seals;
use baywright_tests::answer::Answer;
use baywright_tests::make::booking::floor_menu;
use baywright_tests::make::menu::with;
use baywright_tests::make::quote::id;
use baywright_tests::make::{enquiry, vehicle};
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use diesel::RunQueryDsl;
use serde_json::{Value, json};

/// Tables whose rows name a customer or a vehicle, and what their rows say of them.
fn owners(studio: &Studio) -> BTreeMap<(String, String), (Value, Value)> {
    let rows = studio.every_row().into_iter().map(|(table, row)| (table, serde_json::from_str::<Value>(&row).unwrap()));
    let named = rows.filter(|(_, row)| row.get("customer_id").is_some() || row.get("vehicle_id").is_some());
    named
        .map(|(table, row)| ((table, row["id"].to_string()), (row["customer_id"].clone(), row["vehicle_id"].clone())))
        .collect()
}

fn post(person: &Person, record: &str, of: &Value, act: &str, body: &Value) -> Answer {
    let path = format!("/v1/{record}/{}", id(of));
    let etag = person.get(&path).etag();
    person.act(&format!("{path}/{act}"), &etag, body)
}

fn merge(person: &Person, record: &str, kept: &Value, gone: &Value) -> Answer {
    let version = person.get(&format!("/v1/{record}/{}", id(gone))).json()["version"].clone();
    let body = json!({ "other_id": gone["id"], "other_version": version });
    post(person, record, kept, "merge?confirm=nothing-in-common", &body)
}

fn undo(person: &Person, record: &str, gone: &Value) -> Answer {
    post(person, record, gone, "undo-merge", &json!({}))
}

fn read(person: &Person, record: &str, of: &Value) -> Value {
    person.get(&format!("/v1/{record}/{}", id(of))).expect(200)
}

/// A customer with a signed, booked, invoiced and paid job, a first call and a car; gives the customer and the car.
fn busy(studio: &Studio) -> (Value, Value) {
    let owner = studio.owner();
    studio.floor();
    owner.publish_menu(&floor_menu());
    let quote = studio.signed_work(&["wash"]);
    let booking = owner.book_first(&quote);
    let customer = owner.get(&format!("/v1/customers/{}", booking["customer_id"].as_str().unwrap())).expect(200);
    let car = owner.get(&format!("/v1/vehicles/{}", booking["vehicle_id"].as_str().unwrap())).expect(200);
    let call = with(enquiry::body("Caller"), json!({ "customer_id": customer["id"], "vehicle_id": car["id"] }));
    owner.post("/v1/enquiries", &call).expect(201);
    studio.issued_invoice(&customer, &[(1_000, 23)]);
    owner.pay(&customer, "12.30", &[]);
    studio.tick();
    (customer, car)
}

#[test]
fn everything_of_the_merged_record_belongs_to_the_other_and_comes_back_when_it_is_undone() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (gone, car) = busy(studio);
        let kept =
            owner.post("/v1/customers", &json!({ "name": "Niamh Keane", "phones": ["+353 20 910 0042"] })).expect(201);
        let before = owners(studio);
        let merged = merge(&owner, "customers", &kept, &gone).expect(200);
        let kinds: Vec<&str> = merged["moved"]
            .as_array()
            .unwrap()
            .iter()
            .map(|moved| moved["kind"].as_str().unwrap())
            .filter(|kind| *kind != "reminder")
            .collect();
        assert_eq!(kinds, ["booking", "enquiry", "invoice", "issued_document", "payment", "plan", "quote", "vehicle"]);
        for ((table, row), (customer, _)) in owners(studio) {
            let history = table == "customer_consent" || table == "reminder";
            assert!(history || customer.is_null() || customer == kept["id"], "{table} {row} is still {customer}'s");
        }
        for list in ["vehicles", "quotes", "invoices", "payments", "enquiries"] {
            let of = |whom: &Value| {
                owner.get(&format!("/v1/{list}?customer_id={}", id(whom))).expect(200)["items"].as_array().map(Vec::len)
            };
            assert_eq!((of(&kept), of(&gone)), (Some(1), Some(0)), "{list}");
        }
        // Documents are what was sealed, and the log is whole.
        assert_eq!(studio.in_shop(studio.shop(), verify_seals), []);
        let chain = studio.db.read(|conn| record::walk(conn, studio.shop())).unwrap_or_else(|fail| panic!("{fail:?}"));
        assert!(chain.faults.is_empty(), "{:?}", chain.faults);
        // The record tells where it went, and nothing new is made for it.
        let left = read(&owner, "customers", &gone);
        assert_eq!(
            (&left["state"], &left["merged_into"], &left["name"]),
            (&json!("MERGED"), &kept["id"], &gone["name"])
        );
        let plate = vehicle::body(&id(&gone), "NEW-1");
        owner.post("/v1/vehicles", &plate).problem(409, "customer-merged");
        let path = format!("/v1/customers/{}", id(&gone));
        owner.put(&path, &owner.get(&path).etag(), &json!({ "name": "Late" })).problem(409, "customer-merged");
        let listed = owner.get("/v1/customers?limit=200").expect(200);
        assert!(listed["items"].as_array().unwrap().iter().all(|item| item["id"] != gone["id"]));
        undo(&owner, "customers", &gone).expect(200);
        assert_eq!(owners(studio), before);
        let back = read(&owner, "customers", &gone);
        assert_eq!((&back["state"], &back["merged_into"]), (&json!("ACTIVE"), &json!(null)));
        assert_eq!(read(&owner, "vehicles", &car)["customer_id"], gone["id"]);
        undo(&owner, "customers", &gone).problem(409, "wrong-state");
    });
}

#[test]
fn the_record_that_goes_on_learns_what_it_did_not_know_and_forgets_it_again() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let kept = owner
            .post(
                "/v1/customers",
                &json!({
                    "name": "Aoife Byrne", "phones": ["+353 20 910 0001"], "notes": "",
                    "consents": [{ "kind": "MARKETING", "how": "at the desk" }, { "kind": "MAIL", "how": "at the desk" }]
                }),
            )
            .expect(201);
        let body = json!({
            "name": "Aoife Nolan", "reference": "C-7", "emails": ["aoife@example.com"],
            "phones": ["020 910 0001", "+353 20 910 0002"], "notes": "Married in May.",
            "address": { "lines": ["4 Harbour Row"], "city": "Cork", "country": "IE" },
            "consents": [{ "kind": "MARKETING", "how": "by phone" }, { "kind": "PHONE", "how": "by phone" }]
        });
        let mut gone = owner.post("/v1/customers", &body).expect(201);
        studio.pass_minutes(5);
        // Marketing is taken back later on the one record than it was given on the other.
        let less = with(body.clone(), json!({ "consents": [{ "kind": "PHONE", "how": "by phone" }] }));
        gone = owner.put(&format!("/v1/customers/{}", id(&gone)), "\"1\"", &less).expect(200);
        merge(&owner, "customers", &kept, &gone).expect(200);
        let now = read(&owner, "customers", &kept);
        assert_eq!(
            (&now["name"], &now["reference"], &now["emails"]),
            (&json!("Aoife Byrne"), &json!("C-7"), &json!(["aoife@example.com"]))
        );
        assert_eq!(now["phones"].as_array().map(Vec::len), Some(3), "without the country both are kept: {now}");
        assert_eq!((&now["notes"], &now["address"]["city"]), (&json!("Married in May."), &json!("Cork")));
        let standing = |view: &Value| -> Vec<String> {
            let all = view["consents"].as_array().unwrap().iter();
            let mut kinds: Vec<String> = all
                .filter(|consent| consent["withdrawn_at"].is_null())
                .map(|consent| consent["kind"].as_str().unwrap().to_owned())
                .collect();
            kinds.sort();
            kinds
        };
        assert_eq!(standing(&now), ["MAIL", "PHONE"]);
        // The other name still finds the customer, and only once.
        let found = owner.get("/v1/search?q=nolan").expect(200);
        assert_eq!((found["items"].as_array().map(Vec::len), &found["items"][0]["id"]), (Some(1), &kept["id"]));
        let again = owner.post("/v1/customers", &json!({ "name": "Aoife Nolan" })).problem(409, "known-customer");
        assert_eq!(again["known"][0]["id"], kept["id"]);
        undo(&owner, "customers", &gone).expect(200);
        let (first, second) = (read(&owner, "customers", &kept), read(&owner, "customers", &gone));
        for field in ["reference", "emails", "phones", "notes", "address"] {
            assert_eq!((&first[field], &second[field]), (&kept[field], &gone[field]), "{field}");
        }
        assert_eq!((standing(&first), standing(&second)), (standing(&kept), standing(&gone)));
        assert_eq!(owner.get("/v1/search?q=nolan").expect(200)["items"][0]["id"], gone["id"]);
    });
}

#[test]
fn what_was_built_since_on_what_had_moved_goes_back_with_it() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (gone, car) = busy(studio);
        let (kept, own) = {
            let kept = owner.post("/v1/customers", &json!({ "name": "Niamh Keane" })).expect(201);
            let own = owner.add_vehicle(&id(&kept), "OWN-1");
            (kept, own)
        };
        merge(&owner, "customers", &kept, &gone).expect(200);
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "wash" } }] });
        let since = owner.write_quote(&id(&car), &draft).expect(201);
        let apart = owner.write_quote(&id(&own), &draft).expect(201);
        undo(&owner, "customers", &gone).expect(200);
        let whose = |quote: &Value| owners(studio)[&("quote".to_owned(), quote["id"].to_string())].0.clone();
        assert_eq!((whose(&since), whose(&apart)), (gone["id"].clone(), kept["id"].clone()));
    });
}

#[test]
fn records_with_nothing_in_common_are_merged_only_if_confirmed() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let add = |name: &str, phone: &str| {
            owner.post("/v1/customers", &json!({ "name": name, "phones": [phone] })).expect(201)
        };
        let (kept, gone) = (add("Aoife Byrne", "+353 20 910 0001"), add("Niamh Keane", "+353 20 910 0002"));
        let body = |gone: &Value| json!({ "other_id": gone["id"], "other_version": 1 });
        let refused = post(&owner, "customers", &kept, "merge", &body(&gone)).problem(409, "nothing-in-common");
        assert!(refused["detail"].as_str().unwrap().contains("?confirm=nothing-in-common"), "{refused}");
        let [car, other] = ["KP-1", "KP-2"].map(|plate| owner.add_vehicle(&id(&kept), plate));
        post(&owner, "vehicles", &car, "merge", &body(&other)).problem(409, "nothing-in-common");
        merge(&owner, "customers", &kept, &gone).expect(200);
    });
}

#[test]
fn a_record_that_is_not_merged_is_said_not_to_be() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customer = owner.add_customer("Aoife Byrne");
        let problem = undo(&owner, "customers", &customer).problem(409, "wrong-state");
        let said = problem["detail"].as_str().unwrap();
        assert!(said.ends_with("it isn't merged into another record."), "{said}");
    });
}

#[test]
fn merges_are_undone_the_last_one_first() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let [a, b, c] = ["Ann", "Bea", "Cat"].map(|name| owner.add_customer(name));
        let car = owner.add_vehicle(&id(&a), "A-1");
        merge(&owner, "customers", &b, &a).expect(200);
        merge(&owner, "customers", &c, &b).expect(200);
        assert_eq!(
            read(&owner, "customers", &a)["merged_into"],
            c["id"],
            "the address leads to the record that goes on"
        );
        assert_eq!(read(&owner, "vehicles", &car)["customer_id"], c["id"]);
        undo(&owner, "customers", &a).problem(409, "merged-again");
        merge(&owner, "customers", &c, &a).problem(409, "customer-merged");
        undo(&owner, "customers", &b).expect(200);
        assert_eq!(read(&owner, "customers", &a)["merged_into"], b["id"]);
        assert_eq!(read(&owner, "vehicles", &car)["customer_id"], b["id"]);
        undo(&owner, "customers", &a).expect(200);
        assert_eq!(read(&owner, "vehicles", &car)["customer_id"], a["id"]);
    });
}

#[test]
fn a_payment_for_both_records_keeps_them_together() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (kept, gone) = (owner.add_customer("Ann"), owner.add_customer("Bea"));
        studio.issued_invoice(&kept, &[(1_000, 23)]);
        studio.issued_invoice(&gone, &[(1_000, 23)]);
        merge(&owner, "customers", &kept, &gone).expect(200);
        owner.pay(&kept, "24.60", &[]);
        undo(&owner, "customers", &gone).problem(409, "payment-across-customers");
        assert_eq!(read(&owner, "customers", &gone)["state"], "MERGED", "a refused undo leaves all as it was");
    });
}

#[test]
fn merging_follows_the_rules_of_versions_and_roles() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (kept, gone) = (owner.add_customer("Ann"), owner.add_customer("Bea"));
        let path = format!("/v1/customers/{}/merge", id(&kept));
        let body = |version: i64| json!({ "other_id": gone["id"], "other_version": version });
        owner.act(&path, "\"7\"", &body(1)).problem(412, "changed-meanwhile");
        owner.act(&path, "\"1\"", &body(7)).problem(412, "changed-meanwhile");
        owner.json("POST", &path, &[], &body(1)).problem(428, "if-match-required");
        for (other, code) in [(kept["id"].clone(), "same"), (json!(ids()), "not_found")] {
            let odd = owner.act(&path, "\"1\"", &json!({ "other_id": other, "other_version": 1 }));
            let odd = odd.problem(422, "invalid-value");
            assert_eq!((&odd["errors"][0]["pointer"], &odd["errors"][0]["code"]), (&json!("/other_id"), &json!(code)));
        }
        for role in [Role::Technician, Role::Accountant] {
            studio.colleague(role).act(&path, "\"1\"", &body(1)).problem(403, "not-allowed");
        }
        studio.stranger().act(&path, "\"1\"", &body(1)).problem(404, "not-found");
        let merged = studio.colleague(Role::Desk).act(&path, "\"1\"", &body(1));
        assert_eq!(merged.etag(), "\"2\"");
        let merged = merged.expect(200);
        assert_eq!((&merged["version"], &merged["other_version"]), (&json!(2), &json!(2)));
    });
}

fn ids() -> String {
    baywright_core::platform::ids::new()
}

#[test]
fn erasing_a_customer_erases_the_records_that_were_merged_into_theirs() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (kept, gone) = (owner.add_customer("Aoife Zyxomma"), owner.add_customer("Aoife Wyvern"));
        let car = owner.add_vehicle(&id(&gone), "WYV-1");
        merge(&owner, "customers", &kept, &gone).expect(200);
        let told = owner.get(&format!("/v1/customers/{}/personal-data", id(&kept))).expect(200).to_string();
        assert!(told.contains("Wyvern") && told.contains("WYV-1"), "all records are told");
        let same = owner.get(&format!("/v1/customers/{}/personal-data", id(&gone))).expect(200);
        assert_eq!(same["customer_id"], kept["id"], "the address of the merged record leads to the same");
        post(&owner, "customers", &gone, "erase", &json!({})).problem(409, "customer-merged");
        post(&owner, "customers", &kept, "erase", &json!({})).expect(200);
        let left = studio.every_row().into_iter().map(|(_, row)| row.to_lowercase());
        assert!(left.filter(|row| row.contains("wyvern") || row.contains("zyxomma")).count() == 0);
        assert_eq!(read(&owner, "vehicles", &car)["registration"], json!(null));
        assert_eq!(read(&owner, "customers", &gone)["state"], "ERASED");
        undo(&owner, "customers", &gone).problem(409, "wrong-state");
    });
}

#[test]
fn two_records_of_one_vehicle_become_one_and_two_again() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (customer, gone) = busy(studio);
        let bare =
            with(vehicle::body(&id(&customer), ""), json!({ "registration": null, "registration_country": null }));
        let kept = owner.post("/v1/vehicles", &bare).expect(201);
        let before = owners(studio);
        merge(&owner, "vehicles", &kept, &gone).expect(200);
        let named = owners(studio).into_values().filter(|(_, vehicle)| *vehicle == gone["id"]).count();
        assert_eq!(named, 0);
        let now = read(&owner, "vehicles", &kept);
        assert_eq!((&now["registration"], &now["vin"]), (&gone["registration"], &gone["vin"]));
        let left = read(&owner, "vehicles", &gone);
        assert_eq!((&left["state"], &left["merged_into"]), (&json!("MERGED"), &kept["id"]));
        let draft = json!({ "condition": "FAIR", "lines": [{ "item": { "service": "wash" } }] });
        owner.write_quote(&id(&gone), &draft).problem(409, "vehicle-merged");
        assert_eq!(owner.get("/v1/vehicles").expect(200)["items"].as_array().map(Vec::len), Some(1));
        assert_eq!(studio.in_shop(studio.shop(), verify_seals), []);
        undo(&owner, "vehicles", &gone).expect(200);
        assert_eq!(owners(studio), before);
        assert_eq!(read(&owner, "vehicles", &kept)["registration"], json!(null));
        let (_, other) = owner.add_customer_with_car();
        let odd = merge(&owner, "vehicles", &kept, &other).problem(422, "invalid-value");
        assert_eq!(odd["errors"][0]["code"], "other_customer");
    });
}

#[test]
fn an_invoice_and_a_payment_change_hands_along_a_merge_and_in_no_other_way() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let (one, two) = (owner.add_customer("Ann"), owner.add_customer("Bea"));
        studio.issued_invoice(&one, &[(1_000, 23)]);
        owner.pay(&one, "12.30", &[]);
        let refused = |table: &str, change: &str| {
            let change = format!("UPDATE {table} SET {change} WHERE customer_id = '{}'", id(&one));
            let tried = studio.try_in_shop(studio.shop(), |tx| {
                diesel::sql_query(&change).execute(tx.conn).map_err(DbError::from)?;
                Ok(())
            });
            assert!(tried.is_err(), "{change}");
        };
        for table in ["invoice", "payment"] {
            refused(table, &format!("customer_id = '{}'", id(&two)));
        }
        refused("payment", "amount = amount + 1");
        merge(&owner, "customers", &two, &one).expect(200);
        let moved = owners(studio).into_iter().filter(|((table, _), (customer, _))| {
            ["invoice", "payment"].contains(&table.as_str()) && *customer == two["id"]
        });
        assert_eq!(moved.count(), 2);
    });
}
