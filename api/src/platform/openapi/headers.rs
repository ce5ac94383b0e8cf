//! The headers that answers share, each written once among the document's components.

use serde_json::{Map, Value, json};

/// `components.headers`.
pub(super) fn components() -> Map<String, Value> {
    let number = |text: &str| {
        json!({ "description": text, "required": true, "example": 60,
            "schema": { "type": "integer", "format": "int32", "minimum": 0, "maximum": 2_147_483_647 } })
    };
    let text = |text: &str, required: bool, example: &str, most: u32| {
        json!({ "description": text, "required": required, "example": example,
            "schema": { "type": "string", "maxLength": most } })
    };
    let id = "0198c0de-0000-7000-8000-000000000002";
    let list = [
        ("RateLimit-Limit", number("Requests a minute that this address may send.")),
        ("RateLimit-Remaining", number("How many of them are left.")),
        ("RateLimit-Reset", number("Seconds until all are there again.")),
        ("Retry-After", number("Seconds to wait before the next try.")),
        ("X-Request-Id", text("The request's id, as the log has it.", true, id, 80)),
        ("Location", text("Path of the new record.", true, "/v1/customers/0198c0de-0000-7000-8000-000000000001", 300)),
        ("ETag", text("Version of the record, where it has one.", false, "\"1\"", 80)),
        ("WWW-Authenticate", text("How to sign in.", true, "Bearer", 200)),
        ("Idempotency-Replayed", text("`true` where this answer was given before.", false, "true", 5)),
        (
            "Preference-Applied",
            text("`return=total-count` where the list was counted (RFC 7240).", false, "return=total-count", 40),
        ),
        ("Link", text("The pages before and after, as RFC 8288 writes links.", false, "<…>; rel=\"next\"", 9000)),
    ];
    list.into_iter().map(|(name, header)| (name.to_owned(), header)).collect()
}

/// Adds the headers that an answer of that status has. `replays`: whether a repeated request is answered from memory;
/// `list`: whether it answers with a page.
pub(super) fn add(status: u16, replays: bool, list: bool, response: &mut Value) {
    let mut names = vec!["RateLimit-Limit", "RateLimit-Remaining", "RateLimit-Reset", "X-Request-Id"];
    match status {
        200 => names.extend(["ETag", "Link"]),
        201 => names.extend(["Location", "ETag"]),
        304 => names.push("ETag"),
        401 => names.push("WWW-Authenticate"),
        429 | 503 => names.push("Retry-After"),
        _ => {}
    }
    if replays && (200..300).contains(&status) {
        names.push("Idempotency-Replayed");
    }
    if list && status == 200 {
        names.push("Preference-Applied");
    }
    let Some(response) = response.as_object_mut() else { return };
    let Some(headers) = response.entry("headers").or_insert_with(|| json!({})).as_object_mut() else { return };
    for name in names {
        headers.entry(name).or_insert_with(|| json!({ "$ref": format!("#/components/headers/{name}") }));
    }
}
