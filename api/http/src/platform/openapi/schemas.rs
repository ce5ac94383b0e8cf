//! Rules for every schema: named ones are referenced, versions have bounds, answers leave no field out.

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
    refer_or_null(document);
    name_forms(document);
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

/// Gives versions of records the minimum 1.
fn bounded(schema: &mut Map<String, Value>) {
    let Some(version) = schema.get_mut("properties").and_then(|properties| properties.get_mut("version")) else {
        return;
    };
    if let Some(version) = version.as_object_mut().filter(|version| version.get("type") == Some(&json!("integer"))) {
        version.entry("minimum").or_insert(json!(1));
        version.entry("maximum").or_insert(json!(LARGEST));
    }
}

/// Gives each whole number the number of bits that hold it.
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

/// Gives files the size of the largest one that the program takes.
fn file(schema: &mut Map<String, Value>) {
    if schema.get("format").is_some_and(|format| format == "binary") {
        schema.entry("maxLength").or_insert(json!(64 << 20));
    }
}

/// Closes each one-field form of a schema with several forms, so that it has no other field.
fn form(schema: &mut Map<String, Value>) {
    let Some(choices) = schema.get_mut("oneOf").and_then(Value::as_array_mut) else { return };
    for choice in choices.iter_mut().filter_map(Value::as_object_mut) {
        if choice.get("properties").and_then(Value::as_object).is_some_and(|fields| fields.len() == 1) {
            choice.entry("additionalProperties").or_insert(json!(false));
        }
    }
}

/// Writes a reference if a page holds a copy of a named schema, as generic types do.
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

/// Writes a reference or null if an optional field holds a copy of a named schema: generators would make a type of each
/// copy, and name it after the first field that has one.
///
/// This runs last: a copy in an answer may promise more fields than the named schema does, and a schema that is only
/// used as a copy may mean one thing in requests and another in answers; it then has no name.
fn refer_or_null(document: &mut Value) {
    let Some(schemas) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) else { return };
    let named: Vec<(String, Map<String, Value>)> =
        schemas.iter().filter_map(|(name, schema)| Some((name.clone(), bare(schema.as_object()?)))).collect();
    for part in schemas.values_mut().filter_map(Value::as_object_mut).flat_map(|schema| schema.values_mut()) {
        walk(part, &mut |place| {
            let Some(copy) = without_null(place) else { return };
            if let Some((name, _)) = named.iter().find(|(_, schema)| *schema == copy) {
                place.retain(|key, _| OWN_WORDS.contains(&key.as_str()));
                let reference = json!({ "$ref": format!("#/components/schemas/{name}") });
                place.insert("oneOf".into(), json!([reference, { "type": "null" }]));
            }
        });
    }
}

/// Keys that each use of a schema sets by itself.
const OWN_WORDS: [&str; 2] = ["description", "example"];

/// A schema without the keys that each use sets by itself.
fn bare(schema: &Map<String, Value>) -> Map<String, Value> {
    let shared = schema.iter().filter(|(key, _)| !OWN_WORDS.contains(&key.as_str()));
    shared.map(|(key, value)| (key.clone(), value.clone())).collect()
}

/// The alternatives to null of an object or one of several forms, without null; `None` if it may not be null.
fn without_null(schema: &Map<String, Value>) -> Option<Map<String, Value>> {
    let mut rest = bare(schema);
    if rest.get("type") == Some(&json!(["object", "null"])) {
        rest.insert("type".into(), json!("object"));
        return Some(rest);
    }
    let forms = rest.get_mut("oneOf")?.as_array_mut()?;
    let all = forms.len();
    forms.retain(|form| form.get("type") != Some(&json!("null")));
    (forms.len() < all).then_some(rest)
}

/// Names each form of a named schema after its one field: generators would count them.
fn name_forms(document: &mut Value) {
    let Some(schemas) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) else { return };
    for (name, schema) in schemas {
        let Some(forms) = schema.get_mut("oneOf").and_then(Value::as_array_mut) else { continue };
        for form in forms.iter_mut().filter_map(Value::as_object_mut) {
            let Some(fields) = form.get("properties").and_then(Value::as_object) else { continue };
            let Some(field) = fields.keys().next().filter(|_| fields.len() == 1) else { continue };
            let title = format!("{name}{}", capitalised(field));
            form.entry("title").or_insert(json!(title));
        }
    }
}

/// `in_person` as `InPerson`.
fn capitalised(field: &str) -> String {
    let words = field.split('_').filter_map(|word| {
        let mut letters = word.chars();
        letters.next().map(|first| first.to_uppercase().chain(letters).collect::<String>())
    });
    words.collect()
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

/// Makes every field of an answer required: a field without a value is null, so that clients need not tell the two apart.
/// A sealed document is sent as it was written, so its fields that came later say that they are left out in older ones.
/// A schema that requests use as well stays as it is.
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
                let fields = inner.get("properties").and_then(Value::as_object);
                let names: Option<Vec<String>> = fields.map(|all| {
                    all.iter().filter(|(_, field)| !is_left_out(field)).map(|(name, _)| name.clone()).collect()
                });
                if let Some(names) = names
                    && inner.get("type").is_some_and(|kind| kind == "object" || kind == &json!(["object", "null"]))
                {
                    inner.insert("required".into(), json!(names));
                }
            });
        }
    }
}

/// Whether the field's description says that it can be left out.
fn is_left_out(field: &Value) -> bool {
    field.get("description").and_then(Value::as_str).is_some_and(|text| text.contains("left out"))
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
