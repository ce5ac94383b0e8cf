//! An example for each body that has none of its own, composed from the examples of its fields.

use serde_json::{Map, Value, json};

use super::everywhere::operations;

/// Greatest depth, deeper than any schema of ours, so that schemas that refer to each other in a circle end.
const DEPTH: usize = 24;

/// Adds the examples.
pub(super) fn add(document: &mut Value) {
    let Some(schemas) = document.pointer("/components/schemas").and_then(Value::as_object).cloned() else { return };
    operations(document, |_, _, operation| {
        if let Some(content) = operation.get_mut("requestBody").and_then(|body| body.get_mut("content")) {
            fill(content, &schemas, Whose::Request);
        }
        let Some(responses) = operation.get_mut("responses").and_then(Value::as_object_mut) else { return };
        for response in responses.values_mut() {
            if let Some(content) = response.get_mut("content") {
                fill(content, &schemas, Whose::Answer);
            }
        }
    });
}

/// The example of a request has the required fields; that of an answer has all fields.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Whose {
    Request,
    Answer,
}

fn fill(content: &mut Value, schemas: &Map<String, Value>, whose: Whose) {
    let Some(content) = content.as_object_mut() else { return };
    for (kind, media) in content.iter_mut() {
        let Some(media) = media.as_object_mut() else { continue };
        let told = media.contains_key("example") || media.contains_key("examples");
        if let (false, true, Some(schema)) = (told, kind.contains("json"), media.get("schema")) {
            let example = example(schema, schemas, whose, 0);
            media.insert("example".into(), example);
        }
    }
}

fn example(schema: &Value, schemas: &Map<String, Value>, whose: Whose, depth: usize) -> Value {
    let named = schema.get("$ref").and_then(Value::as_str).and_then(|r| r.strip_prefix("#/components/schemas/"));
    if let Some(target) = named.and_then(|name| schemas.get(name)) {
        return if depth > DEPTH { Value::Null } else { example(target, schemas, whose, depth + 1) };
    }
    for key in ["example", "const", "default"] {
        if let Some(value) = schema.get(key) {
            return value.clone();
        }
    }
    if let Some(word) = schema.pointer("/enum/0") {
        return word.clone();
    }
    for key in ["oneOf", "anyOf"] {
        if let Some(first) = schema.get(key).and_then(|choices| choices.get(0)) {
            return example(first, schemas, whose, depth + 1);
        }
    }
    if let Some(parts) = schema.get("allOf").and_then(Value::as_array) {
        let mut whole = Map::new();
        for part in parts {
            if let Value::Object(more) = example(part, schemas, whose, depth + 1) {
                whole.extend(more);
            }
        }
        return Value::Object(whole);
    }
    let kinds = match schema.get("type") {
        Some(Value::Array(list)) => list.clone(),
        Some(one) => vec![one.clone()],
        None => vec![json!("object")],
    };
    match kinds.iter().filter_map(Value::as_str).find(|kind| *kind != "null") {
        Some("object") => object(schema, schemas, whose, depth),
        Some("array") => {
            let wanted = whose == Whose::Answer || schema.get("minItems").and_then(Value::as_u64) > Some(0);
            let item = schema.get("items").filter(|_| wanted).map(|items| example(items, schemas, whose, depth + 1));
            json!(item.into_iter().collect::<Vec<_>>())
        }
        Some("integer" | "number") => schema.get("minimum").cloned().unwrap_or(json!(1)),
        Some("boolean") => json!(whose == Whose::Answer),
        Some("string") if kinds.len() > 1 => Value::Null,
        Some("string") => json!(text(schema)),
        _ => Value::Null,
    }
}

fn object(schema: &Value, schemas: &Map<String, Value>, whose: Whose, depth: usize) -> Value {
    let Some(properties) = schema.get("properties").and_then(Value::as_object) else { return json!({}) };
    let required = schema.get("required").and_then(Value::as_array).cloned().unwrap_or_default();
    let told = properties.iter().filter(|(name, property)| {
        whose == Whose::Answer || required.iter().any(|r| r == name.as_str()) || property.get("example").is_some()
    });
    told.map(|(name, property)| (name.clone(), example(property, schemas, whose, depth + 1))).collect()
}

/// Text of the requested format; if a pattern is required, the field has an example of its own.
fn text(schema: &Value) -> String {
    let text = match schema.get("format").and_then(Value::as_str) {
        Some("date-time") => "2026-03-28T08:30:00Z",
        Some("date") => "2026-03-28",
        Some("email") => "aoife@example.com",
        Some("uri" | "uri-reference") => "https://bay.example.com/",
        Some("uuid") => "0198c0de-0000-7000-8000-000000000001",
        _ => "Text",
    };
    let least = schema.get("minLength").and_then(Value::as_u64).and_then(|least| usize::try_from(least).ok());
    if let Some(least) = least.filter(|least| *least > text.len()) {
        // A text of exactly that length is a digest in hexadecimal.
        return "0123456789abcdef".chars().cycle().take(least).collect();
    }
    let most = schema.get("maxLength").and_then(Value::as_u64).unwrap_or(u64::MAX);
    text.chars().take(usize::try_from(most).unwrap_or(usize::MAX)).collect()
}
