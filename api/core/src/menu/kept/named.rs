//! Names of the menu's fields in the API, where the stored menu has older ones.

use serde::Serialize;
use serde_json::Value;

/// Stored names of fields, each with its name in the API. No other field of a stored menu has one of these names.
const NEWER: [(&str, &str); 3] = [("gates", "checkpoints"), ("place", "position"), ("soil", "cleanliness")];

/// JSON of a stored menu, or of an item of one, with the names of the API.
///
/// # Errors
/// If the value has no JSON.
pub fn for_programs(form: &impl Serialize) -> serde_json::Result<Value> {
    let mut value = serde_json::to_value(form)?;
    rename(&mut value);
    Ok(value)
}

fn rename(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            for (stored, newer) in NEWER {
                if let Some(value) = fields.remove(stored) {
                    fields.insert(newer.to_owned(), value);
                }
            }
            fields.values_mut().for_each(rename);
        }
        Value::Array(items) => items.iter_mut().for_each(rename),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}
