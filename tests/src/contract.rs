//! Holds every JSON answer that a test gets to the API document: its status and its media type are named there, and its
//! body fits the schema that belongs to both. The validator is the crate `jsonschema` (JSON Schema 2020-12).

use std::collections::HashMap;
use std::sync::{Arc, LazyLock, Mutex};

use jsonschema::{Registry, Validator};
use serde_json::{Value, json};

use crate::answer::Answer;
use crate::document::{Operation, document, operations};

/// The document's own address, for references into it.
const ROOT: &str = "https://document.example/openapi.json";

static REGISTRY: LazyLock<Registry<'static>> =
    LazyLock::new(|| Registry::new().add(ROOT, document().clone()).unwrap().prepare().unwrap());

/// The schemas that were needed, by where they are in the document.
static VALIDATORS: LazyLock<Mutex<HashMap<String, Arc<Validator>>>> = LazyLock::new(Mutex::default);

/// What of an answer is not as the document says; nothing where it has no such operation.
pub fn faults(method: &str, path: &str, answer: &Answer) -> Vec<String> {
    let path = path.split(['?', '#']).next().unwrap_or_default();
    let Some(operation) = operation(method, path) else { return Vec::new() };
    let Some((place, said)) = response(&operation, answer.status) else {
        return vec![format!("{} does not say that it answers {}", operation.id(), answer.status)];
    };
    let media = answer.header("content-type").split(';').next().unwrap_or_default().trim();
    if media.is_empty() && answer.bytes.is_empty() {
        return said.get("content").map(|_| format!("{} promises a body", operation.id())).into_iter().collect();
    }
    if said["content"].get(media).is_none() {
        return vec![format!("{} does not say that {} may be {media}", operation.id(), answer.status)];
    }
    if !media.ends_with("json") {
        return Vec::new();
    }
    let Ok(body) = serde_json::from_slice::<Value>(&answer.bytes) else {
        return vec![format!("{}: the body is no JSON", operation.id())];
    };
    let validator = validator(&format!("{place}/content/{}/schema", escaped(media)));
    validator.iter_errors(&body).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

/// The operation of that address.
fn operation(method: &str, path: &str) -> Option<Operation> {
    operations().into_iter().find(|operation| operation.method == method && operation.takes(path))
}

/// What the document says of that status, and where it says it.
fn response(operation: &Operation, status: u16) -> Option<(String, &'static Value)> {
    let said = operation.said["responses"].get(status.to_string())?;
    let place = if let Some(reference) = said.get("$ref").and_then(Value::as_str) {
        reference.trim_start_matches('#').to_owned()
    } else {
        let method = operation.method.to_lowercase();
        format!("/paths/{}/{method}/responses/{status}", escaped(operation.path))
    };
    let said = document().pointer(&place)?;
    Some((place, said))
}

/// A key as a part of a JSON pointer (RFC 6901, section 3).
fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

/// The validator of the schema there.
fn validator(place: &str) -> Arc<Validator> {
    let mut known = VALIDATORS.lock().unwrap();
    let make = || {
        // As a URI fragment (RFC 6901, section 6); of all that our paths have, only braces may not be in one.
        let fragment = place.replace('{', "%7B").replace('}', "%7D");
        let schema = json!({ "$ref": format!("{ROOT}#{fragment}") });
        let options = jsonschema::options().with_registry(&REGISTRY).should_validate_formats(true);
        Arc::new(options.build(&schema).unwrap_or_else(|error| panic!("{place}: {error}")))
    };
    Arc::clone(known.entry(place.to_owned()).or_insert_with(make))
}
