//! Who may do what: every operation of the API document with every role, with nobody, and with another shop's ids.
//!
//! A new operation needs its line in `matrix/may.rs`, and a new kind of record its line in [`work_in`].

mod may;

use std::collections::BTreeSet;

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::document::{Operation, followed, operations};
use baywright_tests::person::Person;
use baywright_tests::{Studio, on_each_engine};
use may::MAY;

/// Every role with its letter in the tables of who may do what.
pub(crate) const ROLES: [(char, Role); 4] =
    [('O', Role::Owner), ('D', Role::Desk), ('T', Role::Technician), ('A', Role::Accountant)];

/// An id that no record has.
const NO_RECORD: &str = "0198c0de-0000-7000-8000-00000000dead";

/// Leaves a record of every kind in the shop; every list of the API must have something in it afterwards. Gives the ids
/// that no list shows.
pub(crate) fn work_in(studio: &Studio) -> Vec<String> {
    let owner = studio.owner();
    owner.close(None, "2026-12-24", "2026-12-27");
    let bay = owner.add_bay("Bay 9", &[]);
    owner.post("/v1/calendar-feeds", &serde_json::json!({ "bay_id": bay["id"] })).expect(200);
    owner.post("/v1/tablets", &serde_json::json!({ "name": "By the sink" })).expect(200);
    let technician = owner.add_technician("Sean Walsh", &[]);
    owner.away(technician["id"].as_str().unwrap(), "2026-07-06", "2026-07-18");
    let (_, vehicle) = owner.add_customer_with_car();
    owner.inspect(vehicle["id"].as_str().unwrap());
    owner.take_enquiry("Maeve Daly");
    let customer = owner.add_customer("Nora Keane");
    let invoice = studio.issued_invoice(&customer, &[(12_300, 23)]);
    owner.pay(&customer, "100.00", &[&invoice]);
    let other = owner.add_customer("Conor Reilly");
    let credited = studio.issued_invoice(&other, &[(12_300, 23)]);
    let credit = format!("/v1/invoices/{}/credit-notes", credited["id"].as_str().unwrap());
    owner.act(&credit, "\"2\"", &serde_json::json!({ "reason": "Called off" })).expect(201);
    owner.pay(&other, "20.00", &[]);
    let amount = serde_json::json!({ "amount": "5.00", "currency": "EUR" });
    let refund = serde_json::json!({
        "customer_id": other["id"], "method": "CASH", "amount": amount, "reason": "Paid too much"
    });
    owner.post("/v1/refunds", &refund).expect(201);
    crate::message::write(studio, "aoife@example.com", "Your booking");
    let photo = owner.add_photo()["id"].as_str().unwrap().to_owned();
    let variation = crate::job::handed_over(studio);
    studio.sent_quote("nora@example.com", &["wash"], &[]);
    owner.post("/v1/reschedulings", &serde_json::json!({})).expect(201);
    // Long enough for the invoice to be overdue, and a Monday again, so that its customer is reminded.
    studio.pass_minutes(42 * 24 * 60);
    studio.tick();
    vec![photo, variation, studio.shop().to_string()]
}

fn send(operation: &Operation, who: &Person, id: &str) -> Answer {
    send_to(operation, who, &operation.at(id))
}

fn send_to(operation: &Operation, who: &Person, path: &str) -> Answer {
    let headers = operation.headers();
    let headers: Vec<(&str, &str)> = headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
    who.send(operation.method, path, &headers, operation.body())
}

fn may(operation: &Operation) -> &'static str {
    let row = MAY.iter().find(|(id, _)| *id == operation.id());
    row.unwrap_or_else(|| panic!("{} has no line in tests/api/matrix/may.rs", operation.id())).1
}

#[test]
fn the_table_and_the_document_name_the_same_operations() {
    let known: BTreeSet<&str> = operations().iter().map(Operation::id).collect();
    let listed: BTreeSet<&str> = MAY.iter().map(|(id, _)| *id).collect();
    let missing: Vec<&&str> = known.difference(&listed).collect();
    assert!(missing.is_empty(), "give these their lines in tests/api/matrix/may.rs: {missing:#?}");
    let gone: Vec<&&str> = listed.difference(&known).collect();
    assert!(gone.is_empty(), "tests/api/matrix/may.rs names operations that are not there: {gone:#?}");
    assert!(MAY.is_sorted_by(|a, b| a.0 < b.0), "tests/api/matrix/may.rs is in alphabetical order, each line once");
    let roles = |letters: &str| letters == "open" || letters.chars().all(|c| "ODTA".contains(c));
    assert!(MAY.iter().all(|(_, letters)| roles(letters) && !letters.is_empty()), "roles are O, D, T and A, or open");
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
                assert!(!answer.text.contains("send the access token"), "{}: {}", answer.asked, answer.text);
                assert!(answer.status < 500, "{}: {}", answer.asked, answer.text);
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
            for operation in operations().iter().filter(|operation| may(operation) != "open") {
                // Someone new each time: one of the operations signs its caller out.
                let answer = send(operation, &studio.colleague(role), NO_RECORD);
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
        let mut ids = BTreeSet::from_iter(work_in(studio));
        let (owner, stranger) = (studio.owner(), studio.stranger());
        ids.extend(listed(&owner));
        let all = operations();
        let mut faults = Vec::new();
        for operation in all.iter().filter(|operation| operation.path.contains("{id}") && !operation.is_open()) {
            // Whatever it says to an id that nobody has, it says to another shop's: it does not even tell them apart.
            let unknown = send(operation, &stranger, NO_RECORD);
            let no = |answer: &Answer| (answer.status, answer.json()["type"].clone(), answer.json()["detail"].clone());
            assert!([404, 409].contains(&unknown.status), "{}: {}", unknown.asked, unknown.text);
            let strange = ids.iter().map(|id| send(operation, &stranger, id)).find(|answer| no(answer) != no(&unknown));
            faults.extend(strange.map(|answer| format!("{}: {} {}", answer.asked, answer.status, answer.text)));
            // The same ids do lead somewhere in their own shop, or the walk would prove nothing.
            let reads = operation.method == "GET" && operation.path.matches('{').count() == 1;
            if reads && ids.iter().all(|id| send(operation, &owner, id).status >= 400) {
                faults.push(format!("{}: no record of work_in in tests/api/matrix.rs leads here", operation.path));
            }
        }
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    });
}

/// The ids of all records that the shop's lists show.
fn listed(owner: &Person) -> Vec<String> {
    let mut ids = Vec::new();
    for operation in operations().iter().filter(|operation| is_list(operation)) {
        let answer = send(operation, owner, NO_RECORD).expect(200);
        let items = answer["items"].as_array().unwrap();
        assert!(!items.is_empty(), "{}: work_in in tests/api/matrix.rs makes nothing of that kind", operation.path);
        ids.extend(items.iter().filter_map(|item| item["id"].as_str()).map(str::to_owned));
    }
    ids
}

/// Whether it answers a page of records of the whole shop.
fn is_list(operation: &Operation) -> bool {
    let schema = operation.said["responses"].pointer("/200/content/application~1json/schema");
    let properties = schema.map(|schema| &followed(schema)["properties"]);
    let is_page = properties.is_some_and(|fields| fields.get("items").is_some() && fields.get("next").is_some());
    is_page && operation.method == "GET" && !operation.path.contains('{')
}

#[test]
fn every_answer_has_the_headers_that_keep_it_safe() {
    on_each_engine(|studio| {
        for operation in operations() {
            let answer = send(&operation, &studio.owner(), NO_RECORD);
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

/// Else a GET of one would be answered as the other, and `Allow` would be a mix of both.
#[test]
fn no_address_hides_behind_another() {
    for operation in operations() {
        for other in operations().iter().filter(|other| other.path != operation.path) {
            assert!(!other.takes(operation.path), "{} is one of {} too", operation.path, other.path);
        }
    }
}

#[test]
fn a_query_or_body_that_an_operation_does_not_take_is_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for operation in operations().iter().filter(|operation| operation.path.starts_with("/v1/")) {
            let path = operation.at(NO_RECORD);
            let more = if path.contains('?') { '&' } else { '?' };
            send_to(operation, &owner, &format!("{path}{more}no_such=1")).problem(400, "invalid-query");
            if operation.media_type().is_none() {
                let body = Some(br#"{"no_such":1}"#.to_vec());
                owner.send(operation.method, &path, &[], body).problem(400, "malformed-request");
            }
        }
        assert_eq!(studio.nobody().get("/healthz?no_such=1").status, 200);
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
