//! Warnings, and questions that a person has to confirm.
//!
//! **A warning is not a refusal.** A use case that succeeds may add what a careful person would check, such as a price
//! of 0 or a skill that nobody has. [`Tx::warn`] adds it: the change is made, and its answer contains `warnings`.
//!
//! **A refusal can be confirmed.** For a change that should not happen without a second thought, [`Tx::must_confirm`]
//! refuses until the request contains the slug of the question in `?confirm=`.
//!
//! There is one mechanism for each of the two, so that pages and clients handle all of them in the same way.

use super::fail::Done;
use super::refusal::{Question, Refused};
use super::tx::Tx;

/// Maximum number of warnings that one answer carries.
pub const MOST_WARNINGS: usize = 200;

/// Name of the query parameter that lists what the client confirms.
pub const CONFIRM: &str = "confirm";

/// Warning about a change that was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Stable code of the kind of warning.
    pub code: String,
    /// JSON pointer to the value of the request that the warning concerns; empty for the whole request.
    pub pointer: String,
    /// Advice on what to check, and what to do if it was not intended.
    pub detail: String,
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

    /// The list of a request that confirms `slug` as well. Earlier confirmations stay in it, because one request may
    /// need several; words that can't be slugs are left out.
    fn adding(&self, slug: &str) -> String {
        let is_slug = |word: &&str| {
            !word.is_empty()
                && word.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
        };
        self.0.iter().map(String::as_str).filter(is_slug).chain([slug]).collect::<Vec<_>>().join(",")
    }
}

impl Tx<'_> {
    /// Adds a warning to the answer of this change. What the code means is in `problems/warnings.txt`.
    pub fn warn(&mut self, code: &str, pointer: impl Into<String>, detail: impl Into<String>) {
        let warning = Warning { code: code.to_owned(), pointer: pointer.into(), detail: detail.into() };
        if self.warnings.len() < MOST_WARNINGS && !self.warnings.contains(&warning) {
            self.warnings.push(warning);
        }
    }

    /// Succeeds only if the client has confirmed `slug`.
    ///
    /// # Errors
    /// `Conflict` with the code `slug`, `detail` and the confirmations with which the same request succeeds.
    pub fn must_confirm(&self, slug: &'static str, detail: impl std::fmt::Display) -> Done<()> {
        if self.is_confirmed(slug) {
            return Ok(());
        }
        let question = Question { text: detail.to_string(), confirm: self.confirmed.adding(slug) };
        let all = &question.confirm;
        let detail = format!("{detail} If this is right, send the request again with ?{CONFIRM}={all}.");
        Err(Refused::conflict(slug, detail).with_question(question).into())
    }

    /// Whether the client has confirmed `slug`.
    pub fn is_confirmed(&self, slug: &str) -> bool {
        self.confirmed.0.iter().any(|one| one == slug)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
