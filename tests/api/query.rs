//! Query parameters: their bounds in the API document hold, and a cursor belongs to one list.

use baywright_tests::document::operations;
use baywright_tests::on_each_engine;
use serde_json::Value;

use crate::list::words;

/// Values just outside of what the schema of a parameter allows.
fn breaches(schema: &Value) -> Vec<String> {
    let mut all = Vec::new();
    all.extend(schema["minimum"].as_i64().map(|least| (least - 1).to_string()));
    all.extend(schema["maximum"].as_i64().map(|most| (most + 1).to_string()));
    all.extend(schema["maxLength"].as_u64().map(|most| "a".repeat(usize::try_from(most).unwrap() + 1)));
    if schema["format"] == "date-time" {
        // A moment that can be read, in more characters than are allowed.
        all.push(format!("2026-03-28T08:30:00.{}Z", "0".repeat(30)));
    }
    if let [first, ..] = words(schema)[..] {
        all.push("NO_SUCH_WORD".to_owned());
        all.push(format!("{first},{first}"));
    }
    if schema["type"] == "boolean" {
        all.push("maybe".to_owned());
    }
    all
}

#[test]
fn every_bound_of_a_query_parameter_holds() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let nobody: String = baywright_core::platform::ids::new();
        let mut tried = 0;
        for operation in operations().into_iter().filter(|operation| !operation.is_open()) {
            for parameter in operation.parameters().filter(|parameter| parameter["in"] == "query") {
                let name = parameter["name"].as_str().unwrap();
                let path = operation.at(&nobody);
                // A parameter that must be there is in the path already, with its example.
                let (bare, needed) = path.split_once('?').unwrap_or((path.as_str(), ""));
                let mut others = String::new();
                for pair in needed.split('&') {
                    if !pair.is_empty() && !pair.starts_with(&format!("{name}=")) {
                        others.push('&');
                        others.push_str(pair);
                    }
                }
                for value in breaches(&parameter["schema"]) {
                    let headers = operation.headers();
                    let headers: Vec<(&str, &str)> =
                        headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
                    let address = format!("{bare}?{name}={value}{others}");
                    let said = owner.send(operation.method, &address, &headers, operation.body());
                    let said = said.problem(400, "invalid-query");
                    assert_eq!(said["errors"][0]["pointer"], format!("?{name}"), "{address}: {said}");
                    tried += 1;
                }
            }
        }
        assert!(tried >= 150, "{tried}");
    });
}

#[test]
fn a_confirmation_is_said_once() {
    on_each_engine(|studio| {
        let twice = "/v1/customers?confirm=known-customer&confirm=other";
        let body = serde_json::json!({ "name": "Aoife Byrne" });
        studio.owner().post(twice, &body).problem(400, "invalid-query");
    });
}

#[test]
fn a_page_larger_than_the_largest_is_refused_and_not_cut() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.get("/v1/customers?limit=200").expect(200);
        let refused = owner.get("/v1/customers?limit=201").problem(400, "invalid-query");
        assert!(refused["detail"].as_str().unwrap().contains("from 1 to 200"), "{refused}");
    });
}

#[test]
fn a_cursor_of_another_list_is_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        owner.add_customer("Aoife Byrne");
        owner.add_customer("Cian Daly");
        let page = owner.get("/v1/customers?limit=1").expect(200);
        let (_, cursor) = page["next"].as_str().unwrap().split_once("cursor=").unwrap();
        owner.get(&format!("/v1/customers?limit=1&cursor={cursor}")).expect(200);
        let refused = owner.get(&format!("/v1/vehicles?limit=1&cursor={cursor}")).problem(400, "invalid-query");
        assert!(refused["detail"].as_str().unwrap().contains("belongs to another list"), "{refused}");
    });
}
