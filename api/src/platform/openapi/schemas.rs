//! What is true of every schema: named ones are referred to, versions have bounds, answers leave no field out.

use std::collections::BTreeSet;

use serde_json::{Map, Value, json};

use super::everywhere::operations;

/// The largest whole number that every client reads exactly (RFC 8259, section 6).
const LARGEST: i64 = 9_007_199_254_740_991;

/// Finishes the document's schemas.
pub(super) fn finish(document: &mut Value) {
    walk(document, &mut bounded);
    walk(document, &mut sized);
    walk(document, &mut one_example);
    walk(document, &mut file);
    walk(document, &mut form);
    refer(document);
    answers_leave_nothing_out(document);
    only_those_used(document);
}

fn walk(value: &mut Value, f: &mut impl FnMut(&mut Map<String, Value>)) {
    match value {
        Value::Object(map) => {
            f(map);
            map.values_mut().for_each(|inner| walk(inner, f));
        }
        Value::Array(list) => list.iter_mut().for_each(|inner| walk(inner, f)),
        _ => {}
    }
}

/// A record's version counts from one.
fn bounded(schema: &mut Map<String, Value>) {
    let Some(version) = schema.get_mut("properties").and_then(|properties| properties.get_mut("version")) else {
        return;
    };
    if let Some(version) = version.as_object_mut().filter(|version| version.get("type") == Some(&json!("integer"))) {
        version.entry("minimum").or_insert(json!(1));
        version.entry("maximum").or_insert(json!(LARGEST));
    }
}

/// A whole number says how many bits hold it.
fn sized(schema: &mut Map<String, Value>) {
    let whole = schema.get("type").is_some_and(|kind| kind == "integer" || kind == &json!(["integer", "null"]));
    if let (true, Some(most)) = (whole, schema.get("maximum").and_then(Value::as_i64)) {
        let format = if most <= i64::from(i32::MAX) { "int32" } else { "int64" };
        schema.entry("format").or_insert(json!(format));
    }
}

/// `examples: [x]` of a schema as `example: x`, the form that all readers of the document know.
fn one_example(schema: &mut Map<String, Value>) {
    if !schema.contains_key("type") {
        return;
    }
    if let Some(Value::Array(mut list)) = schema.remove("examples")
        && !list.is_empty()
    {
        schema.entry("example").or_insert(list.swap_remove(0));
    }
}

/// A file is never larger than the largest that the program takes.
fn file(schema: &mut Map<String, Value>) {
    if schema.get("format").is_some_and(|format| format == "binary") {
        schema.entry("maxLength").or_insert(json!(64 << 20));
    }
}

/// A form with one field, of a schema that has several, has no other.
fn form(schema: &mut Map<String, Value>) {
    let Some(choices) = schema.get_mut("oneOf").and_then(Value::as_array_mut) else { return };
    for choice in choices.iter_mut().filter_map(Value::as_object_mut) {
        if choice.get("properties").and_then(Value::as_object).is_some_and(|fields| fields.len() == 1) {
            choice.entry("additionalProperties").or_insert(json!(false));
        }
    }
}

/// Writes a reference where a page holds a copy of a named schema, as generic types do.
fn refer(document: &mut Value) {
    let Some(schemas) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) else { return };
    let named: Vec<(String, Value)> = schemas.iter().map(|(name, schema)| (name.clone(), schema.clone())).collect();
    for (name, schema) in schemas.iter_mut() {
        let Some(inner) = name.strip_prefix("Page_") else { continue };
        let Some(items) = schema.pointer_mut("/properties/items/items") else { continue };
        if named.iter().any(|(other, copy)| other == inner && copy == items) {
            *items = json!({ "$ref": format!("#/components/schemas/{inner}") });
        }
    }
}

/// Names of the schemas that `value` refers to, and those that they refer to.
fn reached(value: &Value, schemas: &Map<String, Value>, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => {
            let name = map.get("$ref").and_then(Value::as_str).and_then(|r| r.strip_prefix("#/components/schemas/"));
            if let Some(name) = name
                && found.insert(name.to_owned())
                && let Some(schema) = schemas.get(name)
            {
                reached(schema, schemas, found);
            }
            map.values().for_each(|inner| reached(inner, schemas, found));
        }
        Value::Array(list) => list.iter().for_each(|inner| reached(inner, schemas, found)),
        _ => {}
    }
}

/// A field of an answer is always there, as null where there is nothing to say: clients need not tell the two apart.
/// A schema that requests use as well keeps what it says.
fn answers_leave_nothing_out(document: &mut Value) {
    let Some(schemas) = document.pointer("/components/schemas").and_then(Value::as_object).cloned() else { return };
    let (mut asked, mut answered) = (BTreeSet::new(), BTreeSet::new());
    operations(document, |_, _, operation| {
        if let Some(body) = operation.get("requestBody") {
            reached(body, &schemas, &mut asked);
        }
        if let Some(responses) = operation.get("responses") {
            reached(responses, &schemas, &mut answered);
        }
    });
    let Some(schemas) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) else { return };
    for name in answered.difference(&asked) {
        if let Some(schema) = schemas.get_mut(name) {
            walk(schema, &mut |inner| {
                let names: Option<Vec<String>> =
                    inner.get("properties").and_then(Value::as_object).map(|all| all.keys().cloned().collect());
                if let Some(names) = names
                    && inner.get("type").is_some_and(|kind| kind == "object" || kind == &json!(["object", "null"]))
                {
                    inner.insert("required".into(), json!(names));
                }
            });
        }
    }
}

/// Leaves out schemas that nothing refers to any more.
fn only_those_used(document: &mut Value) {
    let Some(schemas) = document.pointer("/components/schemas").and_then(Value::as_object).cloned() else { return };
    let mut found = BTreeSet::new();
    for part in ["/paths", "/components/responses", "/components/parameters"] {
        if let Some(value) = document.pointer(part) {
            reached(value, &schemas, &mut found);
        }
    }
    if let Some(left) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) {
        left.retain(|name, _| found.contains(name));
    }
}
