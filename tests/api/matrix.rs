//! Who may do what: every operation of the API document with every role, with nobody, and with another shop's ids.

use baywright::platform::identity::Role;
use baywright_tests::document::{Operation, operations};
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};

/// Operation, and the roles that may: Owner, Desk, Technician, Accountant; `open` for everyone, signed in or not.
/// DEVELOPERS.md shows this table; an operation that is not in it fails the test.
const MAY: &[(&str, &str)] = &[
    ("customer_create", "OD"),
    ("customer_list", "OD"),
    ("customer_replace", "OD"),
    ("customer_show", "OD"),
    ("media_create", "ODT"),
    ("media_details", "ODT"),
    ("media_show", "ODT"),
    ("media_thumbnail", "ODT"),
    ("message_list", "OD"),
    ("message_send_again", "OD"),
    ("message_show", "OD"),
    ("search_search", "OD"),
    ("system_healthz", "open"),
    ("system_livez", "open"),
    ("system_metrics", "open"),
    ("system_openapi_json", "open"),
    ("system_readyz", "open"),
    ("vehicle_create", "OD"),
    ("vehicle_list", "OD"),
    ("vehicle_replace", "OD"),
    ("vehicle_show", "OD"),
];

const ROLES: [(char, Role); 4] =
    [('O', Role::Owner), ('D', Role::Desk), ('T', Role::Technician), ('A', Role::Accountant)];

/// An id that no record has.
const NO_RECORD: &str = "0198c0de-0000-7000-8000-00000000dead";

fn send(operation: &Operation, who: &Person, id: &str) -> baywright_tests::answer::Answer {
    let headers = operation.headers();
    let headers: Vec<(&str, &str)> = headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    who.send(operation.method, &operation.at(id), &headers, operation.body())
}

fn may(operation: &Operation) -> &'static str {
    let row = MAY.iter().find(|(id, _)| *id == operation.id());
    row.unwrap_or_else(|| panic!("{} is not in the table of tests/api/matrix.rs", operation.id())).1
}

#[test]
fn the_table_and_the_document_name_the_same_operations() {
    let mut known: Vec<&str> = operations().iter().map(Operation::id).collect();
    known.sort_unstable();
    let listed: Vec<&str> = MAY.iter().map(|(id, _)| *id).collect();
    assert_eq!(known, listed, "the document left, the table of tests/api/matrix.rs right");
}

#[test]
fn nobody_gets_in_but_where_it_is_open() {
    on_each_engine(|studio| {
        let nobody = studio.nobody();
        for operation in operations() {
            let answer = send(&operation, &nobody, NO_RECORD);
            let open = may(&operation) == "open";
            assert_eq!(operation.is_open(), open, "{}: the document says otherwise", operation.id());
            if open {
                assert!(![401, 403].contains(&answer.status), "{}: {}", answer.asked, answer.text);
            } else {
                answer.problem(401, "not-signed-in");
            }
        }
    });
}

#[test]
fn each_role_may_do_what_the_table_says() {
    on_each_engine(|studio| {
        let mut faults = Vec::new();
        for (letter, role) in ROLES {
            let who = studio.colleague(role);
            for operation in operations().iter().filter(|operation| may(operation) != "open") {
                let answer = send(operation, &who, NO_RECORD);
                let allowed = may(operation).contains(letter);
                let fits = match answer.status {
                    403 => !allowed,
                    // The example of the document is a request that the program reads.
                    400 | 401 | 413 | 415 | 428 | 500.. => false,
                    _ => allowed,
                };
                if !fits {
                    faults.push(format!("{} as {}: {} {}", operation.id(), letter, answer.status, answer.text));
                }
            }
        }
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    });
}

#[test]
fn another_shops_ids_lead_nowhere() {
    on_each_engine(|studio| {
        let stranger = studio.stranger();
        let mut faults = Vec::new();
        for id in ids_of(studio) {
            let with_ids = operations().into_iter().filter(|operation| operation.path.contains("{id}"));
            for operation in with_ids.filter(|operation| !operation.is_open()) {
                let answer = send(&operation, &stranger, &id);
                if answer.status != 404 {
                    faults.push(format!("{}: {} {}", answer.asked, answer.status, answer.text));
                }
            }
        }
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    });
}

/// The id of every kind of record that the shop has, after someone has worked in it.
fn ids_of(studio: &Studio) -> Vec<String> {
    let owner = studio.owner();
    let customer = owner.post("/v1/customers", &serde_json::json!({ "name": "Aoife Byrne" })).expect(201);
    vec![customer["id"].as_str().unwrap().to_owned(), studio.shop().to_string()]
}

#[test]
fn every_answer_has_the_headers_that_keep_it_safe() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for operation in operations() {
            let answer = send(&operation, &owner, NO_RECORD);
            let asked = &answer.asked;
            assert_eq!(answer.header("x-content-type-options"), "nosniff", "{asked}");
            assert_eq!(answer.header("referrer-policy"), "no-referrer", "{asked}");
            assert_eq!(answer.header("cache-control"), "no-store", "{asked}");
            assert!(!answer.header("x-request-id").is_empty(), "{asked}");
            assert!(answer.header("access-control-allow-origin").is_empty(), "{asked}");
            assert!(answer.header("server").is_empty() && answer.header("x-powered-by").is_empty(), "{asked}");
            let policy = answer.header("content-security-policy");
            assert!(policy.starts_with("default-src 'none'"), "{asked}: {policy}");
            assert!(policy.contains("frame-ancestors 'none'") && !policy.contains("unsafe"), "{asked}: {policy}");
            for name in ["ratelimit-limit", "ratelimit-remaining", "ratelimit-reset"] {
                assert!(answer.header(name).parse::<u32>().is_ok(), "{asked}: {name}");
            }
            if answer.status >= 400 {
                assert_eq!(answer.header("content-type"), "application/problem+json", "{asked}");
                assert_eq!(answer.json()["request_id"], answer.header("x-request-id"), "{asked}");
            }
        }
    });
}

#[test]
fn what_an_address_does_not_take_is_said() {
    on_each_engine(|studio| {
        let nobody = studio.nobody();
        for operation in operations() {
            let path = operation.at(NO_RECORD);
            let all: Vec<&str> =
                operations().iter().filter(|other| other.path == operation.path).map(|other| other.method).collect();
            for method in ["GET", "PUT", "POST", "PATCH", "DELETE"].iter().filter(|method| !all.contains(method)) {
                let answer = nobody.send(method, &path, &[], None);
                let allowed = answer.header("allow").to_owned();
                answer.problem(405, "method-not-allowed");
                assert!(all.iter().all(|method| allowed.contains(method)), "{path}: {allowed}");
            }
            let options = nobody.send("OPTIONS", &path, &[], None);
            assert_eq!((options.status, options.text.as_str()), (204, ""), "{path}");
        }
    });
}
