//! One object if a view takes another's fields in.
//!
//! `#[serde(flatten)]` gives utoipa's `allOf` of two objects, of which a strict one would refuse the other's fields.

use serde_json::{Map, Value, json};

/// Rewrites the named schemas.
pub(super) fn flatten(document: &mut Value) {
    let Some(schemas) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) else { return };
    let known = schemas.clone();
    for schema in schemas.values_mut().filter_map(Value::as_object_mut) {
        let Some(parts) = schema.get("allOf").and_then(Value::as_array).cloned() else { continue };
        let (mut fields, mut required) = (Map::new(), Vec::new());
        for part in &parts {
            gather(part, &known, &mut fields, &mut required);
        }
        schema.remove("allOf");
        schema.insert("type".into(), json!("object"));
        schema.insert("properties".into(), Value::Object(fields));
        schema.insert("required".into(), Value::Array(required));
    }
}

/// The fields of one part, including those that it takes from others.
fn gather(part: &Value, known: &Map<String, Value>, fields: &mut Map<String, Value>, required: &mut Vec<Value>) {
    let name = part.get("$ref").and_then(Value::as_str).and_then(|r| r.strip_prefix("#/components/schemas/"));
    let part = name.and_then(|name| known.get(name)).unwrap_or(part);
    for inner in part.get("allOf").and_then(Value::as_array).into_iter().flatten() {
        gather(inner, known, fields, required);
    }
    fields.extend(part.get("properties").and_then(Value::as_object).cloned().unwrap_or_default());
    required.extend(part.get("required").and_then(Value::as_array).cloned().unwrap_or_default());
}
