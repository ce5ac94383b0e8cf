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
        ("RateLimit-Limit", number("Requests per minute that this address may send.")),
        ("RateLimit-Remaining", number("Number of requests left within the limit.")),
        ("RateLimit-Reset", number("Seconds until the full limit is available again.")),
        ("Retry-After", number("Seconds to wait before the next try.")),
        ("X-Request-Id", text("Id of the request, as in the log.", true, id, 80)),
        ("Location", text("Path of the new record.", true, "/v1/customers/0198c0de-0000-7000-8000-000000000001", 300)),
        ("ETag", text("Version of the record; absent if it has none.", false, "\"1\"", 80)),
        ("WWW-Authenticate", text("Scheme for signing in.", true, "Bearer", 200)),
        (
            "Idempotency-Replayed",
            text(
                "Value `true` if this is the stored answer to an earlier request with the same key.",
                false,
                "true",
                5,
            ),
        ),
        (
            "Preference-Applied",
            text(
                "Preference that was applied (RFC 7240): `return=total-count` if the list was counted.",
                false,
                "return=total-count",
                40,
            ),
        ),
        ("Link", text("Links to the previous and next page (RFC 8288).", false, "<…>; rel=\"next\"", 9000)),
    ];
    list.into_iter().map(|(name, header)| (name.to_owned(), header)).collect()
}

/// Adds the headers that an answer of that status has. `replays`: whether a repeated request gets the kept answer; `list`:
/// whether the answer is a page of a list.
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
