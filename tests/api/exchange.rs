//! Lists of customers and vehicles, in and out.

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::make::customer::{body, trade_body};
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use serde_json::{Value, json};

const CUSTOMERS: &str = "/v1/imports/customers";
const VEHICLES: &str = "/v1/imports/vehicles";

fn send(person: &Person, path: &str, list: &str) -> Answer {
    person.post_file(path, "text/csv", list.as_bytes())
}

fn count(person: &Person, path: &str) -> usize {
    person.get(&format!("{path}?limit=200")).expect(200)["items"].as_array().unwrap().len()
}

fn lines(rows: &Value) -> Vec<u64> {
    rows.as_array().unwrap().iter().map(|row| row["line"].as_u64().unwrap()).collect()
}

#[test]
fn good_rows_stay_bad_rows_are_reported_and_the_same_list_adds_nothing_twice() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let list = "\u{feff}Name;Kind;Emails;Phones;Consent mail\r\n\
                    Siobhán O'Brien;private;siobhan@example.com;+353 20 910 0123;by phone\r\n\
                    ;private;nobody@example.com;;\r\n\
                    Ciara Walsh;firm;ciara@example;;\r\n\
                    Brendan Nolan;;;020 910 0124;\r\n\
                    brendan  nolan;;;+020 910 0124;\r\n";
        let report = send(&owner, CUSTOMERS, list).expect(200);
        assert_eq!((&report["rows"], &report["added"]), (&json!(5), &json!(2)));
        assert_eq!((lines(&report["refused"]), lines(&report["already_here"])), (vec![3, 4], vec![6]));
        let told: Vec<&str> = report["refused"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|row| row["faults"].as_array().unwrap().iter().map(|fault| fault["column"].as_str().unwrap()))
            .collect();
        assert_eq!(told[0], "name", "{report}");
        assert!(told.contains(&"kind") && told.contains(&"emails"), "{report}");
        assert_eq!(count(&owner, "/v1/customers"), 2);
        let found = owner.get("/v1/search?q=siobhan").expect(200);
        assert_eq!(found["items"][0]["title"], "Siobhán O'Brien");
        let again = send(&owner, CUSTOMERS, list).expect(200);
        assert_eq!((&again["added"], lines(&again["already_here"])), (&json!(0), vec![2, 5, 6]));
        assert_eq!(count(&owner, "/v1/customers"), 2);
    });
}

#[test]
fn a_repeated_request_gets_the_first_report_to_the_byte() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let list = b"name\nAoife Byrne\n".to_vec();
        let headers = [("content-type", "text/csv"), ("idempotency-key", "list-1")];
        let first = owner.send("POST", CUSTOMERS, &headers, Some(list.clone()));
        let second = owner.send("POST", CUSTOMERS, &headers, Some(list));
        assert_eq!((first.status, first.header("idempotency-replayed")), (200, ""));
        assert_eq!((second.header("idempotency-replayed"), &second.text), ("true", &first.text));
        assert_eq!(first.json()["added"], 1);
        let other = owner.send("POST", CUSTOMERS, &headers, Some(b"name\nBrendan Nolan\n".to_vec()));
        other.problem(422, "idempotency-key-reused");
    });
}

#[test]
fn vehicles_go_to_the_customers_that_the_list_names() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let customers = "reference,name,emails\nC-1,Aoife Byrne,home@example.com\nC-2,Brendan Byrne,home@example.com\n";
        send(&owner, CUSTOMERS, customers).expect(200);
        // The first number is the worked example of 49 CFR 565.15; the second has another check digit.
        let list = "customer_reference,customer_email,customer_name,registration,vin,market,make,model,size_class\n\
                    C-1,,,231-D-10101,,,Corrigan,Estate,large\n\
                    ,home@example.com,BRENDAN BYRNE,12 C 345,1G4AH59H45G118341,north america,Corrigan,Coupe,small\n\
                    ,home@example.com,,AB12 CDE,,,Corrigan,Van,extra large\n\
                    C-3,,,AB13 CDE,,,Corrigan,Van,extra large\n\
                    C-1,,,231 d 10101,,,Corrigan,Estate,large\n\
                    C-1,,,,1G4AH59H55G118341,north america,Corrigan,Estate,large\n\
                    C-1,,,,1G4AH59H55G118341,,Corrigan,Estate,large\n";
        let report = send(&owner, VEHICLES, list).expect(200);
        assert_eq!(report["added"], 3, "{report}");
        assert_eq!((lines(&report["refused"]), lines(&report["already_here"])), (vec![4, 5, 7], vec![6]));
        assert_eq!(lines(&report["row_warnings"]), [8]);
        let codes: Vec<&str> = (0..3).map(|at| report["refused"][at]["faults"][0]["code"].as_str().unwrap()).collect();
        assert_eq!(codes, ["ambiguous", "not_found", "bad_vin"]);
        assert_eq!(report["refused"][2]["faults"][0]["column"], "vin");
        assert_eq!(send(&owner, VEHICLES, list).expect(200)["added"], 0);
        assert_eq!(count(&owner, "/v1/vehicles"), 3);
    });
}

#[test]
fn what_goes_out_comes_in_again_whole_and_starts_no_formula() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut odd = body("=HYPERLINK(\"http://example.com\";\"Aoife, \"\"B\"\"\")");
        odd["notes"] = json!("-1\n+2\t\"quoted\"");
        odd["reference"] = json!("@SUM(A1)");
        let odd = owner.post("/v1/customers?confirm=known-customer", &odd).expect(201);
        let trade = owner.post("/v1/customers?confirm=known-customer", &trade_body("Quay Motors")).expect(201);
        owner.add_vehicle(odd["id"].as_str().unwrap(), "+CMD");
        owner.add_vehicle(trade["id"].as_str().unwrap(), "231-D-10101");
        let stranger = studio.stranger();
        for (export, import, list) in
            [("/v1/exports/customers", CUSTOMERS, "/v1/customers"), ("/v1/exports/vehicles", VEHICLES, "/v1/vehicles")]
        {
            let out = owner.get(export);
            assert_eq!(out.header("content-type"), "text/csv; charset=utf-8; header=present");
            let mut cells = 0;
            for row in csv::Reader::from_reader(out.bytes.as_slice()).records() {
                for cell in &row.unwrap() {
                    cells += 1;
                    assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']), "{cell}");
                }
            }
            assert!(cells >= 34, "{cells}");
            assert_eq!(send(&owner, import, &out.text).expect(200)["already_here"].as_array().map(Vec::len), Some(2));
            let report = send(&stranger, import, &out.text).expect(200);
            assert_eq!((&report["added"], &report["refused"]), (&json!(2), &json!([])), "{report}");
            assert_eq!(stranger.get(export).text, out.text);
            let bare = |person: &Person| -> Vec<Value> {
                let mut items = person.get(list).expect(200)["items"].as_array().unwrap().clone();
                for item in &mut items {
                    for name in ["id", "customer_id", "created_at", "updated_at"] {
                        item.as_object_mut().unwrap().remove(name);
                    }
                }
                items
            };
            assert_eq!(bare(&owner), bare(&stranger));
        }
    });
}

#[test]
fn a_list_that_cannot_be_used_is_refused_whole() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        send(&owner, CUSTOMERS, "name,colour\nAoife,red\n").problem(422, "unusable-list");
        send(&owner, CUSTOMERS, "reference\nC-1\n").problem(422, "unusable-list");
        owner.post_file(CUSTOMERS, "text/csv", b"name\nSiobh\xe1n\n").problem(400, "malformed-request");
        owner.post_file(CUSTOMERS, "text/csv", b"").problem(400, "malformed-request");
        owner.post_file(CUSTOMERS, "application/json", b"{}").problem(415, "unsupported-media-type");
        let many = "name\n".to_owned() + &"Aoife Byrne\n".repeat(2_001);
        send(&owner, CUSTOMERS, &many).problem(422, "unusable-list");
        let large = "name\n".to_owned() + &"x".repeat(1 << 20);
        send(&owner, CUSTOMERS, &large).problem(413, "body-too-large");
        let bare = owner.send("POST", CUSTOMERS, &[("content-type", "text/csv")], Some(b"name\nA\n".to_vec()));
        bare.problem(400, "idempotency-key-required");
        assert_eq!(count(&owner, "/v1/customers"), 0);
    });
}

#[test]
fn a_full_list_is_taken_in() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let rows = (0..2_000).map(|n| format!("Customer {n},c{n}@example.com,+353 20 910 {:04}\n", n % 1000));
        let list = "name,emails,phones\n".to_owned() + &rows.collect::<String>();
        // Two at a time share a telephone number, and every row is compared with those before it.
        let sent = send(&owner, &format!("{CUSTOMERS}?confirm=known-customer"), &list);
        assert_eq!(sent.expect(200)["added"], 2_000);
    });
}

#[test]
fn lists_are_for_the_desk_of_the_shop() {
    on_each_engine(|studio| {
        studio.owner().add_customer_with_car();
        for role in [Role::Technician, Role::Accountant] {
            let other = studio.colleague(role);
            send(&other, CUSTOMERS, "name\nA\n").problem(403, "not-allowed");
            send(&other, VEHICLES, "make\nA\n").problem(403, "not-allowed");
            other.get("/v1/exports/customers").problem(403, "not-allowed");
            other.get("/v1/exports/vehicles").problem(403, "not-allowed");
        }
        let stranger = studio.stranger();
        for export in ["/v1/exports/customers", "/v1/exports/vehicles"] {
            assert_eq!(stranger.get(export).text.lines().count(), 1);
        }
        studio.nobody().get("/v1/exports/customers").problem(401, "not-signed-in");
        studio.colleague(Role::Desk).get("/v1/exports/customers").expect(200);
    });
}
