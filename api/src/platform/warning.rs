//! Warnings: "done, and look at this".
//!
//! A use case that did what was asked may add what a careful person would look at, such as a price of 0 or a skill that
//! nobody has. A warning never refuses: the change is made, and its answer carries `warnings`. What should not happen
//! without a second thought is asked instead, by [`Tx::must_confirm`].

use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::ToSchema;

use super::fail::{Done, Fail};
use super::problem::Problem;
use super::tx::Tx;

/// The most warnings that one answer carries.
pub const MOST_WARNINGS: usize = 200;

/// Name of the query parameter that lists what the client confirms.
pub const CONFIRM: &str = "confirm";

/// The most characters that the query parameter takes.
pub const MOST_CONFIRMED: usize = 400;

/// Warning about a change that was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Warning {
    /// Stable code of the kind of warning.
    #[schema(max_length = 80, example = "price-is-zero")]
    pub code: String,
    /// JSON pointer to the value of the request that the warning concerns; empty for the whole request.
    #[schema(max_length = 500, example = "/services/3/price")]
    pub pointer: String,
    /// Advice on what to check, and what to do if it was not intended.
    #[schema(max_length = 2000, example = "Hand wash costs 0.00. Enter its price if it is not free.")]
    pub detail: String,
}

/// An answer's body with the warnings of its use case.
#[derive(Serialize)]
struct Warned<'a, V> {
    #[serde(flatten)]
    view: &'a V,
    warnings: &'a [Warning],
}

/// The body of an answer to a change: the view's fields and `warnings`.
///
/// # Errors
/// If the view does not serialise to an object; a defect that the first test finds.
pub fn body<V: Serialize>(view: &V, warnings: &[Warning]) -> Done<String> {
    serde_json::to_string(&Warned { view, warnings }).map_err(Fail::unexpected)
}

/// Slugs of what the client confirms, as the query parameter `confirm` lists them.
#[derive(Debug, Clone, Default)]
pub struct Confirmed(Vec<String>);

impl Confirmed {
    /// Reads `confirm=one,two` from a query string; other parameters are read elsewhere.
    pub fn from_query(query: &str) -> Self {
        let given = url::form_urlencoded::parse(query.as_bytes()).find(|(name, _)| name == CONFIRM);
        let list = given.map(|(_, list)| list.split(',').map(|slug| slug.trim().to_owned()).collect());
        Self(list.unwrap_or_default())
    }

    /// The list of a request that confirms `slug` as well. What was confirmed before stays in it, because one request may
    /// be asked about several things; words that can't be slugs are left out.
    fn adding(&self, slug: &str) -> String {
        let is_slug = |word: &&str| {
            !word.is_empty()
                && word.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
        };
        self.0.iter().map(String::as_str).filter(is_slug).chain([slug]).collect::<Vec<_>>().join(",")
    }
}

impl Tx<'_> {
    /// Adds a warning to the answer of this change.
    pub fn warn(&mut self, code: &str, pointer: impl Into<String>, detail: impl Into<String>) {
        let warning = Warning { code: code.to_owned(), pointer: pointer.into(), detail: detail.into() };
        if self.warnings.len() < MOST_WARNINGS && !self.warnings.contains(&warning) {
            self.warnings.push(warning);
        }
    }

    /// Goes on only if the client has confirmed `slug`.
    ///
    /// # Errors
    /// 409 `slug` with `detail` and the confirmations with which the request goes on if it is meant.
    pub fn must_confirm(&self, slug: &'static str, detail: impl std::fmt::Display) -> Done<()> {
        if self.is_confirmed(slug) {
            return Ok(());
        }
        let all = self.confirmed.adding(slug);
        let detail = format!("{detail} If this is right, send the request again with ?{CONFIRM}={all}.");
        Err(Problem::conflict(slug, detail).into())
    }

    /// Whether the client has confirmed `slug`.
    pub fn is_confirmed(&self, slug: &str) -> bool {
        self.confirmed.0.iter().any(|one| one == slug)
    }
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
    }

    #[test]
    fn several_confirmations_are_read_from_the_query() {
        let given = Confirmed::from_query("limit=3&confirm=one-thing,%20another");
        assert_eq!(given.0, ["one-thing", "another"]);
        assert!(Confirmed::from_query("").0.is_empty());
    }

    #[test]
    fn a_further_question_keeps_what_was_confirmed_before() {
        let after = |query: &str| Confirmed::from_query(query).adding("third");
        assert_eq!(after(""), "third");
        assert_eq!(after("confirm="), "third");
        assert_eq!(after("confirm=one-thing,%20another"), "one-thing,another,third");
        assert_eq!(after("confirm=one-thing,%3Cb%3E"), "one-thing,third");
    }
}
