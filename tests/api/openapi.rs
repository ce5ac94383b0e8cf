//! The API document: the file in `openapi/` is the program's own, and every operation says all that a client needs.

use baywright_tests::answer::Answer;
use baywright_tests::contract;
use baywright_tests::document::{document, operations};
use serde_json::{Value, json};

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/openapi.json");

#[test]
fn the_file_is_what_the_program_says() {
    let written = std::fs::read_to_string(FILE).unwrap_or_default();
    let now = serde_json::to_string_pretty(document()).unwrap() + "\n";
    assert!(written == now, "openapi/openapi.json is older than the program: cargo openapi > openapi/openapi.json");
}

#[test]
fn every_operation_says_what_it_is() {
    let mut faults = Vec::new();
    let mut ids = Vec::new();
    for operation in operations() {
        let name = format!("{} {}", operation.method, operation.path);
        for key in ["operationId", "summary", "description"] {
            if operation.said.get(key).and_then(Value::as_str).is_none_or(str::is_empty) {
                faults.push(format!("{name} has no {key}"));
            }
        }
        let tag = operation.said.get("tags").and_then(|tags| tags[0].as_str()).unwrap_or_default();
        let about = document()["tags"].as_array().unwrap().iter().find(|known| known["name"] == tag);
        if about.and_then(|about| about["description"].as_str()).is_none_or(str::is_empty) {
            faults.push(format!("{name}: http/openapi/tags.rs does not say what {tag:?} is about"));
        }
        if !operation.said.contains_key("security") {
            faults.push(format!("{name} does not say who may"));
        }
        if ids.contains(&operation.id()) {
            faults.push(format!("{name} has the operationId of another: {}", operation.id()));
        }
        ids.push(operation.id());
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_operation_shows_examples_and_refusals() {
    let mut faults = Vec::new();
    for operation in operations() {
        let name = format!("{} {}", operation.method, operation.path);
        if operation.said.contains_key("requestBody") && operation.body().is_none() {
            faults.push(format!("{name} shows no request"));
        }
        let responses = operation.said["responses"].as_object().unwrap();
        let mut wanted = vec!["400", "429", "500", "503"];
        if !operation.is_open() {
            wanted.extend(["401", "403"]);
        }
        if operation.method != "GET" {
            wanted.extend(["409", "422"]);
        }
        if operation.path.contains('{') {
            wanted.push("404");
        }
        faults.extend(wanted.iter().filter(|status| !responses.contains_key(**status)).map(|s| format!("{name}: {s}")));
        let good: Vec<&String> = responses.keys().filter(|status| status.starts_with(['2', '3'])).collect();
        if good.is_empty() {
            faults.push(format!("{name} never says yes"));
        }
        for status in good {
            let content = responses[status].get("content").and_then(Value::as_object);
            for (media, said) in content.into_iter().flatten() {
                let shown = said.get("example").or_else(|| said.get("examples")).is_some();
                if media.contains("json") && !shown {
                    faults.push(format!("{name} shows no {status}"));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Calls `f` with the place and each schema in `value`: objects that have a `type`, examples left out.
fn schemas(place: &str, value: &Value, f: &mut impl FnMut(&str, &Value)) {
    match value {
        Value::Object(map) => {
            let is_schema = map.get("type").is_some_and(|kind| kind.is_array() || kind.is_string());
            if is_schema && !place.ends_with("/properties") {
                f(place, value);
            }
            for (key, inner) in map.iter().filter(|(key, _)| !["example", "examples", "const"].contains(&key.as_str()))
            {
                schemas(&format!("{place}/{key}"), inner, f);
            }
        }
        Value::Array(list) => list.iter().enumerate().for_each(|(at, v)| schemas(&format!("{place}/{at}"), v, f)),
        _ => {}
    }
}

#[test]
fn everything_has_a_limit() {
    let mut faults = Vec::new();
    schemas("", document(), &mut |place, schema| {
        let is = |kind: &str| match &schema["type"] {
            Value::Array(kinds) => kinds.iter().any(|k| k == kind),
            one => one == kind,
        };
        let has = |key: &str| schema.get(key).is_some();
        if is("string") && !["maxLength", "enum", "const"].into_iter().any(has) && schema["format"] != "binary" {
            faults.push(format!("{place}: text without a maxLength"));
        }
        if is("array") && !has("maxItems") {
            faults.push(format!("{place}: a list without maxItems"));
        }
        if (is("integer") || is("number")) && !(has("minimum") && has("maximum")) {
            faults.push(format!("{place}: a number without minimum and maximum"));
        }
        if is("number") {
            faults.push(format!("{place}: a floating-point number"));
        }
        if is("object") && !has("properties") && !has("additionalProperties") {
            faults.push(format!("{place}: an object that says nothing of what is in it"));
        }
    });
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Calls `f` with the place and the forms of each schema that has several.
fn choices(place: &str, value: &Value, f: &mut impl FnMut(&str, &[Value])) {
    let Value::Object(map) = value else {
        if let Value::Array(list) = value {
            list.iter().enumerate().for_each(|(at, v)| choices(&format!("{place}/{at}"), v, f));
        }
        return;
    };
    if let Some(list) = map.get("oneOf").and_then(Value::as_array) {
        f(place, list);
    }
    map.iter().for_each(|(key, inner)| choices(&format!("{place}/{key}"), inner, f));
}

/// `Option` of a named type: the type by its name, or null; clients get one type of it and not one for each field.
#[test]
fn what_has_a_name_and_may_be_null_is_referred_to() {
    let schemas = &document()["components"]["schemas"];
    let or_null = |name: &str| json!([{ "$ref": format!("#/components/schemas/{name}") }, { "type": "null" }]);
    assert_eq!(schemas["TermsBody"]["properties"]["call_tolerance"]["oneOf"], or_null("Amount"));
    assert_eq!(schemas["QuoteDraft"]["properties"]["deposit"]["oneOf"], or_null("DraftSize"));
    let forms = schemas["DraftSize"]["oneOf"].as_array().unwrap();
    let titles: Vec<&Value> = forms.iter().map(|form| &form["title"]).collect();
    assert_eq!(titles, ["DraftSizeAmount", "DraftSizePercent"]);
    assert!(forms.iter().all(|form| form["additionalProperties"] == false), "{forms:?}");
}

/// What a field says of itself is not lost where it may be null.
#[test]
fn a_field_that_may_be_null_says_what_it_is() {
    let vehicle = &document()["components"]["schemas"]["VehicleBody"]["properties"];
    assert_eq!(vehicle["colour"]["type"], json!(["string", "null"]));
    let mut faults = Vec::new();
    schemas("", document(), &mut |place, schema| {
        let silent = schema["description"].as_str().is_none_or(str::is_empty);
        let or_null = schema["oneOf"].as_array().is_some_and(|forms| forms.iter().any(|form| form["type"] == "null"));
        if (schema["type"].is_array() || or_null) && place.contains("/properties/") && silent {
            faults.push(place.to_owned());
        }
    });
    assert!(faults.is_empty(), "without a description: {}", faults.join("\n"));
}

#[test]
fn nulls_are_written_as_types_and_requests_refuse_unknown_fields() {
    let mut faults = Vec::new();
    choices("", document(), &mut |place, list| {
        let named = list.iter().any(|choice| choice.get("$ref").is_some());
        if list.len() == 2 && !named && list.iter().any(|choice| choice["type"] == "null") {
            faults.push(format!("{place}: a choice of null and one thing without a name"));
        }
    });
    let schemas = document()["components"]["schemas"].as_object().unwrap();
    for operation in operations() {
        let Some(body) = operation.said.get("requestBody") else { continue };
        let schema = &body["content"]["application/json"]["schema"];
        let Some(name) = schema["$ref"].as_str().and_then(|r| r.rsplit('/').next()) else { continue };
        if schemas[name]["type"] == "object" && schemas[name]["additionalProperties"] != false {
            faults.push(format!("{} takes unknown fields: {name}", operation.id()));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// What takes no idempotency key: sign-ins, which end by themselves; questions that change nothing; what answers with a
/// secret, since the answer would be kept with the key; and the change of a password, since the digest of its body would be
/// kept, and which counts as done if the new password is the person's already.
const UNKEYED: [&str; 13] = [
    "access_change_password",
    "access_end",
    "access_end_all",
    "access_invite",
    "booking_first_times",
    "feed_calendar_feeds_create",
    "menu_preview_basis",
    "menu_price",
    "quote_link",
    "quote_price",
    "rescheduling_preview",
    "variation_link",
    "what_if_ask",
];

#[test]
fn changes_ask_for_what_makes_them_safe() {
    let mut faults = Vec::new();
    for operation in operations() {
        let takes = |name: &str| operation.parameters().any(|parameter| parameter["name"] == name);
        if ["PUT", "PATCH"].contains(&operation.method) && !takes("If-Match") {
            faults.push(format!("{} {}: a change of a record needs If-Match", operation.method, operation.path));
        }
        let makes = operation.said["responses"].as_object().unwrap().contains_key("201");
        if makes && !operation.is_open() && !takes("Idempotency-Key") {
            faults.push(format!("{} {}: what makes a record needs a key", operation.method, operation.path));
        }
        let changes = operation.method != "GET" && !operation.is_open();
        if changes && takes("Idempotency-Key") == UNKEYED.contains(&operation.id()) {
            faults.push(format!("{} takes a key or is listed as one that takes none, not both", operation.id()));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Answers to requests other than GET that have no `warnings`: sign-ins, and what answers with a secret, since nothing about
/// them can be unusual and right at once; and questions that change nothing, whose answers say themselves what to check.
const UNWARNED: [&str; 11] = [
    "access_accept",
    "access_invite",
    "access_refresh",
    "access_sign_in",
    "booking_first_times",
    "feed_calendar_feeds_create",
    "menu_price",
    "quote_link",
    "rescheduling_preview",
    "variation_link",
    "what_if_ask",
];

#[test]
fn every_change_answers_with_its_warnings_or_says_why_not() {
    let mut faults = Vec::new();
    for operation in operations().into_iter().filter(|operation| operation.method != "GET") {
        for status in ["200", "201"] {
            let schema = &operation.said["responses"][status]["content"]["application/json"]["schema"];
            if schema.is_null() {
                continue;
            }
            let name = schema["$ref"].as_str().and_then(|reference| reference.rsplit('/').next());
            let schema = name.map_or(schema, |name| &document()["components"]["schemas"][name]);
            let warns = schema["properties"]["warnings"].is_object();
            if warns == UNWARNED.contains(&operation.id()) {
                faults.push(format!("{} has warnings or is listed as one without them, not both", operation.id()));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The harness holds all answers of all tests to the document; here it must notice what is wrong.
#[test]
fn an_answer_that_is_not_as_the_document_says_is_noticed() {
    let noticed = |path: &str, status: u16, media: &str, text: &str| {
        let headers = vec![("content-type".to_owned(), media.to_owned())];
        let (text, bytes) = (text.to_owned(), text.as_bytes().to_vec());
        contract::faults("GET", path, &Answer { asked: path.to_owned(), status, headers, text, bytes }).join("; ")
    };
    let page = r#"{"items":[],"next":null,"prev":null,"self":"http://127.0.0.1/v1/bays","total":null}"#;
    assert_eq!(noticed("/v1/bays?limit=1", 200, "application/json", page), "");
    assert!(noticed("/v1/bays", 200, "application/json", &page.replace("null,\"prev", "7,\"prev")).contains("/next"));
    assert!(noticed("/v1/bays", 200, "application/json", "{}").contains("items"));
    assert!(noticed("/v1/bays", 200, "application/json", "[").contains("no JSON"));
    assert!(noticed("/v1/bays", 200, "text/html", page).contains("text/html"));
    assert!(noticed("/v1/bays", 409, "application/json", page).contains("409"));
    let other = "/v1/quotes/0198c0de-0000-7000-8000-000000000001/plan";
    assert!(noticed(other, 200, "application/json", "{}").contains("required"));
    assert_eq!(noticed("/desk", 200, "text/html", ""), "");
}
