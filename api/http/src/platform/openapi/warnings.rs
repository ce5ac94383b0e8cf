//! The field `warnings` of every answer to a change.
//!
//! It is added to the view's own schema as a field that may be missing, because only answers to changes have it: a schema of
//! its own for each changed record would double the types that clients are generated with.

use std::collections::BTreeSet;

use baywright_core::problems::warnings;
use serde_json::{Map, Value};

use super::everywhere::operations;
use crate::platform::warned::{WarningView, field_schema};

/// Adds the field to all schemas that answer a change.
pub(super) fn add(document: &mut Value) {
    let mut named = BTreeSet::new();
    operations(document, |_, method, operation| {
        let takes_key = operation.get("parameters").and_then(Value::as_array).is_some_and(|all| {
            all.iter().filter_map(|one| one["$ref"].as_str()).any(|name| name.ends_with("IdempotencyKey"))
        });
        if method == "get" || !takes_key {
            return;
        }
        for status in ["200", "201"] {
            let place = format!("/{status}/content/application~1json/schema");
            let schema = operation.get_mut("responses").and_then(|answers| answers.pointer_mut(&place));
            let Some(schema) = schema.and_then(Value::as_object_mut) else { continue };
            match schema.get("$ref").and_then(Value::as_str).and_then(|reference| reference.rsplit('/').next()) {
                Some(name) => drop(named.insert(name.to_owned())),
                None => extend(schema),
            }
        }
    });
    let Some(schemas) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) else { return };
    for name in named {
        if let Some(schema) = schemas.get_mut(&name).and_then(Value::as_object_mut) {
            extend(schema);
        }
    }
    let mut warning = serde_json::to_value(<WarningView as utoipa::PartialSchema>::schema()).unwrap_or_default();
    if let Some(Value::String(text)) = warning.pointer_mut("/properties/code/description") {
        // Named in the text and not as an `enum`, which would break clients with each new kind.
        let codes: Vec<String> = warnings().map(|kind| format!("`{}`", kind.slug)).collect();
        *text = format!("{} Kinds of warning: {}.", text.replace('\n', " "), codes.join(", "));
    }
    schemas.insert("Warning".to_owned(), warning);
}

fn extend(schema: &mut Map<String, Value>) {
    if let Some(fields) = schema.get_mut("properties").and_then(Value::as_object_mut) {
        fields.insert("warnings".to_owned(), Value::Object(field_schema()));
    }
}
