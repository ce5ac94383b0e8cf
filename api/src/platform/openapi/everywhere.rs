//! What every operation shares, written into each so that readers of one operation see it.

use serde_json::{Map, Value, json};

const METHODS: [&str; 5] = ["get", "put", "post", "delete", "patch"];

/// Adds refusals, headers and request headers to every operation.
pub(super) fn add(document: &mut Value) {
    let problem = problem_schema();
    if let Some(schemas) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) {
        schemas.extend(problem);
    }
    let Some(paths) = document.get_mut("paths").and_then(Value::as_object_mut) else { return };
    for (path, item) in paths {
        for method in METHODS {
            if let Some(operation) = item.get_mut(method).and_then(Value::as_object_mut) {
                complete(path, method, operation);
            }
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

fn complete(path: &str, method: &str, operation: &mut Map<String, Value>) {
    let open = operation.get("security").and_then(Value::as_array).is_some_and(Vec::is_empty);
    if !operation.contains_key("security") {
        operation.insert("security".into(), json!([{ "bearer": [] }]));
    }
    let marks: Vec<String> = ["x-if-match", "x-idempotency-key"]
        .into_iter()
        .filter(|mark| operation.remove(*mark).is_some())
        .map(str::to_owned)
        .collect();
    let needs = |mark: &str| marks.iter().any(|m| m == mark);
    let parameters = operation.entry("parameters").or_insert_with(|| json!([]));
    if let Some(parameters) = parameters.as_array_mut() {
        if needs("x-if-match") {
            parameters.push(json!({
                "name": "If-Match", "in": "header", "required": true,
                "description": "The ETag that was read last; 412 where the record has changed since.",
                "schema": { "type": "string", "maxLength": 22, "pattern": "^\"[0-9]{1,18}\"$" }, "example": "\"1\""
            }));
        }
        if needs("x-idempotency-key") {
            parameters.push(json!({
                "name": "Idempotency-Key", "in": "header", "required": true,
                "description": "A fresh key for each thing to make; a repeated request gets the first one's answer.",
                "schema": { "type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!#-~]+$" },
                "example": "6f0ad6a0-94c0-4b6c-9ba2-3f0f0a3a4f11"
            }));
        }
        if parameters.is_empty() {
            operation.remove("parameters");
        }
    }
    let body = operation.contains_key("requestBody");
    let has_path = path.contains('{');
    let mut refusals: Vec<(u16, &str)> = vec![
        (400, "The request can't be read as what it should be."),
        (429, "Too many requests; Retry-After says how long to wait."),
        (500, "Something went wrong here; nothing was changed."),
        (503, "Not just now; Retry-After says when to try again."),
    ];
    if !open {
        refusals.push((401, "Nobody is signed in, or no longer."));
        refusals.push((403, "This is not for the caller's role."));
    }
    if has_path {
        refusals.push((404, "There is no such record in this shop."));
    }
    if method != "get" {
        refusals.push((409, "The record's state, or another record, stands in the way."));
        refusals.push((422, "Well formed, but a rule says no."));
    }
    if needs("x-if-match") {
        refusals.push((412, "The record changed since it was read."));
        refusals.push((428, "If-Match is missing."));
    }
    if body {
        refusals.push((413, "The body is too large."));
        refusals.push((415, "The body is not in the media type asked for."));
    }
    let Some(responses) = operation.get_mut("responses").and_then(Value::as_object_mut) else { return };
    for (status, description) in refusals {
        responses.entry(status.to_string()).or_insert_with(|| refusal(status, description));
    }
    responses.sort_keys();
    for (status, response) in responses.iter_mut() {
        let Some(response) = response.as_object_mut() else { continue };
        let refused = status.starts_with('4') || status.starts_with('5');
        if refused && !response.contains_key("content") {
            response.insert("content".into(), problem_content(status));
        }
        headers(status, needs("x-idempotency-key"), response);
    }
}

fn problem_content(status: &str) -> Value {
    let mut example = json!({
        "type": "/problems/not-found", "title": "Not found", "status": 404, "detail": "There is no such customer.",
        "instance": "/v1/customers/0198c0de-0000-7000-8000-000000000001",
        "request_id": "0198c0de-0000-7000-8000-000000000002", "errors": []
    });
    example["status"] = json!(status.parse::<u16>().unwrap_or(500));
    json!({ "application/problem+json": { "schema": { "$ref": "#/components/schemas/Problem" }, "example": example } })
}

fn refusal(status: u16, description: &str) -> Value {
    json!({ "description": description, "content": problem_content(&status.to_string()) })
}

fn headers(status: &str, replays: bool, response: &mut Map<String, Value>) {
    let headers = response.entry("headers").or_insert_with(|| json!({}));
    let Some(headers) = headers.as_object_mut() else { return };
    let number = |text: &str| {
        json!({ "description": text, "required": true,
            "schema": { "type": "integer", "format": "int32", "minimum": 0, "maximum": 2_147_483_647 } })
    };
    headers.insert("RateLimit-Limit".into(), number("Requests a minute that this address may send."));
    headers.insert("RateLimit-Remaining".into(), number("How many of them are left."));
    headers.insert("RateLimit-Reset".into(), number("Seconds until all are there again."));
    let text = |text: &str, required: bool| json!({ "description": text, "required": required, "schema": { "type": "string", "maxLength": 4000 } });
    headers.insert("X-Request-Id".into(), text("The request's id, as the log has it.", true));
    match status {
        "201" => {
            headers.insert("Location".into(), text("Path of the new record.", true));
            headers.insert("ETag".into(), text("Version of the new record.", false));
            if replays {
                headers
                    .insert("Idempotency-Replayed".into(), text("`true` where this answer was given before.", false));
            }
        }
        "200" => {
            headers.insert("ETag".into(), text("Version of the record, where it has one.", false));
        }
        "401" => {
            headers.insert("WWW-Authenticate".into(), text("How to sign in.", false));
        }
        "429" => {
            headers.insert("Retry-After".into(), number("Seconds to wait."));
        }
        "503" => {
            headers.insert("Retry-After".into(), text("Seconds to wait.", false));
        }
        _ => {}
    }
}
