//! Warnings in the answer to a change, in its field `warnings`.

use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::warning::{MOST_WARNINGS, Warning};
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::ToSchema;

/// Maximum number of characters that the query parameter `confirm` takes.
pub const MOST_CONFIRMED: usize = 400;

/// Warning about a change that was made.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Warning)]
pub struct WarningView {
    /// Stable code of the kind of warning, or of the problem with which a later step would refuse what was written. The
    /// pages at `/problems` explain each.
    #[schema(max_length = 80, example = "price-zero")]
    code: String,
    /// JSON pointer to the value of the request that the warning concerns; empty for the whole request.
    #[schema(max_length = 500, example = "/services/3/price/amounts/small")]
    pointer: String,
    /// Advice on what to check, and what to do if it was not intended.
    #[schema(
        max_length = 2000,
        example = "Hand wash costs nothing for a small car: give it a price unless it is a gift."
    )]
    detail: String,
}

impl From<Warning> for WarningView {
    fn from(warning: Warning) -> Self {
        Self { code: warning.code, pointer: warning.pointer, detail: warning.detail }
    }
}

/// The body of an answer to a change: the view's fields and `warnings`.
///
/// # Errors
/// If the view does not serialise to an object; a defect that the first test finds.
pub fn body<V: Serialize>(view: &V, warnings: &[Warning]) -> Done<String> {
    with_warnings(serde_json::to_string(view), warnings)
}

/// Writes `warnings` after the fields of an object. It works on the text, so that no view is compiled a second time for an
/// answer with warnings.
fn with_warnings(view: serde_json::Result<String>, warnings: &[Warning]) -> Done<String> {
    let warnings: Vec<WarningView> = warnings.iter().cloned().map(WarningView::from).collect();
    let warnings = serde_json::to_string(&warnings).map_err(Fail::unexpected)?;
    let mut text = view.map_err(Fail::unexpected)?;
    if !text.starts_with('{') || text.pop() != Some('}') {
        return Err(Fail::unexpected("the answer to a change is no JSON object"));
    }
    let comma = if text.len() > 1 { "," } else { "" };
    text.extend([comma, "\"warnings\":", warnings.as_str(), "}"]);
    Ok(text)
}

/// The schema of the field `warnings`, for the API document.
pub fn field_schema() -> Map<String, Value> {
    let text = "Warnings about things to check after this change; only answers to changes have this field.";
    let schema = serde_json::json!({
        "type": "array", "maxItems": MOST_WARNINGS, "description": text,
        "items": { "$ref": "#/components/schemas/Warning" },
    });
    schema.as_object().cloned().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_body_carries_its_warnings_beside_the_views_fields() {
        let warning = Warning { code: "odd".into(), pointer: "/a".into(), detail: "Look at a.".into() };
        let said = body(&serde_json::json!({ "a": 1 }), &[warning]).unwrap();
        assert_eq!(said, r#"{"a":1,"warnings":[{"code":"odd","pointer":"/a","detail":"Look at a."}]}"#);
        assert_eq!(body(&serde_json::json!({}), &[]).unwrap(), r#"{"warnings":[]}"#);
    }

    #[test]
    fn only_an_object_can_carry_warnings() {
        for view in [serde_json::json!([]), serde_json::json!("}"), serde_json::json!(null)] {
            assert!(body(&view, &[]).is_err(), "{view}");
        }
    }
}
