//! What every operation shares: its refusals, the headers of its answers, the keys and tags that changes need.

use std::collections::BTreeSet;

use baywright_core::platform::warning::CONFIRM;
use serde_json::{Map, Value, json};

use super::{headers, refusals, tags};
use crate::platform::etag::MOST_TAGS;
use crate::platform::prefer::{MOST_PREFERENCES, TOTAL_COUNT};
use crate::platform::warned::MOST_CONFIRMED;

const METHODS: [&str; 5] = ["get", "put", "post", "delete", "patch"];

/// Calls `f` with path, method and each operation.
pub(super) fn operations(document: &mut Value, mut f: impl FnMut(&str, &str, &mut Map<String, Value>)) {
    let Some(paths) = document.get_mut("paths").and_then(Value::as_object_mut) else { return };
    for (path, item) in paths {
        for method in METHODS {
            if let Some(operation) = item.get_mut(method).and_then(Value::as_object_mut) {
                f(path, method, operation);
            }
        }
    }
}

/// Completes the whole document.
pub(super) fn add(document: &mut Value) {
    let mut used = BTreeSet::new();
    operations(document, |path, method, operation| {
        complete(path, method, operation);
        used.extend(operation.get("tags").and_then(|tags| tags[0].as_str()).map(str::to_owned));
    });
    document["tags"] = tags::described(&used);
    // Two fields that catalogues of APIs expect of each document.
    document["info"]["x-api-id"] = json!("0198c0de-0000-7000-8000-0000000000ba");
    document["info"]["x-audience"] = json!("external-public");
    if let Some(server) = document.pointer_mut("/servers/0") {
        server["x-internal"] = json!(false);
        server["description"] = json!("Service that returned this document: a local one, or the one in production.");
    }
    let Some(components) = document.get_mut("components").and_then(Value::as_object_mut) else { return };
    for (kind, values) in [
        ("schemas", problem_schema()),
        ("responses", refusals::components()),
        ("headers", headers::components()),
        ("parameters", parameters()),
    ] {
        if let Some(all) = components.entry(kind).or_insert_with(|| json!({})).as_object_mut() {
            all.extend(values);
        }
    }
}

fn problem_schema() -> Map<String, Value> {
    use utoipa::{PartialSchema, ToSchema};
    let mut schemas = Vec::new();
    crate::platform::problem::ProblemBody::schemas(&mut schemas);
    schemas.push(("Problem".to_owned(), crate::platform::problem::ProblemBody::schema()));
    schemas.into_iter().filter_map(|(name, schema)| Some((name, serde_json::to_value(schema).ok()?))).collect()
}

fn parameters() -> Map<String, Value> {
    let tag = |name: &str, required: bool, text: &str, pattern: &str, most: u32| {
        json!({
            "name": name, "in": "header", "required": required, "description": text, "example": "\"1\"",
            "schema": { "type": "string", "maxLength": most, "pattern": pattern }
        })
    };
    let list = [
        (
            "IfMatch",
            tag(
                "If-Match",
                true,
                "ETag of the record as it was last read; the answer is 412 if the record has changed since.",
                "^\"[0-9]{1,18}\"$",
                20,
            ),
        ),
        (
            "IfNoneMatch",
            // No pattern: an unknown tag simply does not match (RFC 9110, section 13.1.2), and only length is refused.
            json!({
                "name": "If-None-Match", "in": "header", "required": false, "example": "\"1\"",
                "description": "ETag that was read before; the answer is 304 if the record is unchanged.",
                "schema": { "type": "string", "maxLength": MOST_TAGS }
            }),
        ),
        (
            "IdempotencyKey",
            idempotency_key(
                true,
                "Fresh key for each new request. A repeated request with the same key gets the first answer.",
            ),
        ),
        (
            "OptionalIdempotencyKey",
            idempotency_key(
                false,
                "Fresh key for each new change. With it, a request whose answer was lost can be sent again: it gets \
                    the first answer, and the change is made once.",
            ),
        ),
        (
            "Prefer",
            // No pattern: an unknown preference is ignored (RFC 7240, section 2), and only length is refused.
            json!({
                "name": "Prefer", "in": "header", "required": false, "example": TOTAL_COUNT,
                "description": format!("Preference (RFC 7240): `{TOTAL_COUNT}` counts the whole list, for `total`."),
                "schema": { "type": "string", "maxLength": MOST_PREFERENCES }
            }),
        ),
    ];
    list.into_iter().map(|(name, parameter)| (name.to_owned(), parameter)).collect()
}

fn idempotency_key(required: bool, text: &str) -> Value {
    json!({
        "name": "Idempotency-Key", "in": "header", "required": required, "description": text,
        "schema": { "type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!#-~]+$" },
        "example": "6f0ad6a0-94c0-4b6c-9ba2-3f0f0a3a4f11"
    })
}

/// The query parameter `confirm` of an operation that asks for a confirmation of those slugs.
fn confirmation(slugs: &[Value]) -> Value {
    let named: Vec<String> = slugs.iter().filter_map(Value::as_str).map(|slug| format!("`{slug}`")).collect();
    let text = format!(
        "Problems that the caller has read and confirms, separated by commas. Without it, the operation answers 409 \
            if one of these applies: {}.",
        named.join(", ")
    );
    json!({
        "name": CONFIRM, "in": "query", "required": false, "description": text, "example": slugs.first(),
        "schema": { "type": "string", "maxLength": MOST_CONFIRMED }
    })
}

fn complete(path: &str, method: &str, operation: &mut Map<String, Value>) {
    let open = operation
        .get("security")
        .and_then(Value::as_array)
        .is_some_and(|list| list.is_empty() || list.iter().any(|way| way.as_object().is_some_and(Map::is_empty)));
    if open {
        operation.insert("security".into(), json!([]));
    } else if !operation.contains_key("security") {
        operation.insert("security".into(), json!([{ "bearer": [] }]));
    }
    name(path, operation);
    if let Some(summary) = operation.get("summary").cloned() {
        operation.entry("description").or_insert(summary);
    }
    let if_match = operation.remove("x-if-match").is_some();
    let key = operation.remove("x-idempotency-key").is_some();
    let unkeyed = operation.remove("x-unkeyed").is_some();
    // Every change by a signed-in person may be repeated with its key, and its answer may carry warnings.
    let changes = method != "get" && !open && !unkeyed;
    let confirms = operation.remove("x-confirm");
    let body = operation.contains_key("requestBody");
    let remembered = operation.get("responses").is_some_and(|responses| responses.get("304").is_some());
    let has_cursor =
        |parameters: &Value| parameters.as_array().is_some_and(|all| all.iter().any(|one| one["name"] == "cursor"));
    let list = operation.get("parameters").is_some_and(has_cursor);
    let wanted = [
        (if_match, "IfMatch"),
        (remembered, "IfNoneMatch"),
        (key, "IdempotencyKey"),
        (changes && !key, "OptionalIdempotencyKey"),
        (list, "Prefer"),
    ];
    let parameters = operation.entry("parameters").or_insert_with(|| json!([]));
    if let Some(parameters) = parameters.as_array_mut() {
        let names = wanted.into_iter().filter(|(wanted, _)| *wanted);
        parameters.extend(names.map(|(_, name)| json!({ "$ref": format!("#/components/parameters/{name}") })));
        parameters.extend(confirms.as_ref().and_then(Value::as_array).map(|slugs| confirmation(slugs)));
        if parameters.is_empty() {
            operation.remove("parameters");
        }
    }
    let mut statuses = vec![400, 429, 500, 503];
    if !open {
        statuses.extend([401, 403]);
    }
    if path.contains('{') || body {
        statuses.push(404);
    }
    if method != "get" {
        statuses.extend([409, 422]);
    }
    if if_match {
        statuses.extend([412, 428]);
    }
    if body {
        statuses.extend([408, 413, 415]);
    }
    let Some(responses) = operation.get_mut("responses").and_then(Value::as_object_mut) else { return };
    for status in statuses {
        responses.entry(status.to_string()).or_insert_with(|| refusals::reference(status));
    }
    responses.sort_keys();
    for (status, response) in responses.iter_mut() {
        let status: u16 = status.parse().unwrap_or(500);
        if response.get("$ref").is_some() {
            continue;
        }
        if let Some(response) = response.as_object_mut().filter(|r| status >= 400 && !r.contains_key("content")) {
            response.insert("content".into(), refusals::content(status));
        }
        headers::add(status, key || changes, list, response);
    }
}

/// Verbs that handlers of many records share.
const VERBS: [&str; 5] = ["list", "create", "show", "replace", "remove"];

/// A name that no other operation has: `list` of the feature `customer` becomes `customer_list`, and `list` at
/// `/v1/bays` of the feature `shop`, which has more than one kind of record, becomes `shop_bays_list`.
fn name(path: &str, operation: &mut Map<String, Value>) {
    let tag = operation.get("tags").and_then(|tags| tags[0].as_str()).unwrap_or_default().to_owned();
    let Some(own) = operation.get("operationId").and_then(Value::as_str).map(str::to_owned) else { return };
    if own.starts_with(&format!("{tag}_")) {
        return;
    }
    let noun = path.rsplit('/').find(|part| !part.starts_with('{')).unwrap_or_default().replace('-', "_");
    let is_tag = [tag.clone(), format!("{tag}s"), format!("{}ies", tag.trim_end_matches('y'))].contains(&noun);
    let name =
        if VERBS.contains(&own.as_str()) && !is_tag { format!("{tag}_{noun}_{own}") } else { format!("{tag}_{own}") };
    operation.insert("operationId".into(), json!(name));
}
