//! Nullable values as `type: [T, "null"]`, and small string types written out where they are used.
//!
//! utoipa writes an optional value of a named type as `oneOf: [null, $ref]`. Generators make clumsy types of that if
//! the type is a bare value, so the named type is written in its place with `null` added; if that type is one of
//! several forms, null becomes another. What has a name in the finished document gets its reference back in `schemas`.

use serde_json::{Map, Value, json};

/// Rewrites the whole document.
pub(super) fn rewrite(document: &mut Value) {
    let Some(schemas) = document.pointer("/components/schemas").and_then(Value::as_object).cloned() else { return };
    walk(document, &schemas, 0);
    if let Some(left) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) {
        left.retain(|_, schema| !is_plain(schema));
    }
}

/// Whether a named schema is a plain value, which reads better in place than as a reference.
fn is_plain(schema: &Value) -> bool {
    matches!(schema.get("type").and_then(Value::as_str), Some("string" | "integer" | "boolean"))
}

fn referred<'a>(value: &Value, schemas: &'a Map<String, Value>) -> Option<&'a Value> {
    let name = value.get("$ref")?.as_str()?.strip_prefix("#/components/schemas/")?;
    schemas.get(name)
}

/// Greatest depth, deeper than any schema of ours, so that schemas that refer to each other in a circle end.
const DEPTH: usize = 60;

fn walk(value: &mut Value, schemas: &Map<String, Value>, depth: usize) {
    if depth > DEPTH {
        return;
    }
    if let Some(plain) = referred(value, schemas).filter(|schema| is_plain(schema)) {
        merge(value, plain);
    }
    if let Some(mut choice) = null_or(value) {
        // utoipa writes the field's own description beside the reference.
        if let Some(target) = referred(&choice, schemas) {
            merge(&mut choice, target);
        }
        add_null(&mut choice);
        if let Some(object) = value.as_object_mut() {
            object.remove("oneOf");
        }
        merge(value, &choice);
    }
    match value {
        Value::Object(map) => map.values_mut().for_each(|v| walk(v, schemas, depth + 1)),
        Value::Array(list) => list.iter_mut().for_each(|v| walk(v, schemas, depth + 1)),
        _ => {}
    }
}

/// The other schema of a `oneOf` of null and one schema.
fn null_or(value: &Value) -> Option<Value> {
    let choices = value.get("oneOf")?.as_array()?;
    let (nulls, others): (Vec<&Value>, Vec<&Value>) =
        choices.iter().partition(|choice| choice.get("type").and_then(Value::as_str) == Some("null"));
    match (nulls.len(), others.as_slice()) {
        (1, [other]) => Some((*other).clone()),
        _ => None,
    }
}

fn add_null(schema: &mut Value) {
    let Some(object) = schema.as_object_mut() else { return };
    if let Some(kind) = object.get("type").cloned() {
        object.insert("type".into(), json!([kind, "null"]));
    }
    if let Some(words) = object.get_mut("enum").and_then(Value::as_array_mut) {
        words.push(Value::Null);
    }
    // A schema with several forms has no type of its own to extend.
    if let Some(choices) = object.get_mut("oneOf").and_then(Value::as_array_mut) {
        choices.push(json!({ "type": "null" }));
    }
}

/// Inserts the target's keys, and keeps those of the place itself (its description, its example).
fn merge(place: &mut Value, target: &Value) {
    let (Some(place), Some(target)) = (place.as_object_mut(), target.as_object()) else { return };
    place.remove("$ref");
    for (key, value) in target {
        place.entry(key.clone()).or_insert_with(|| value.clone());
    }
}
