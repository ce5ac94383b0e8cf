//! Refusals: the errors of the rules.
//!
//! Every error type of this crate implements [`Refusal`], so that one place in the program can turn any of them into an
//! answer without knowing the rule. The `Display` text is for people and says what to do; [`Refusal::code`] is for
//! programs and never changes once released.
//!
//! Rules name times in UTC, since errors know no time zone, but readers think in the shop's time. [`Refusal::moment`]
//! therefore returns the time apart from the text, and the program writes it in the shop's local time.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use chrono::{DateTime, Utc};

/// Kind of a refusal; the edge maps it to a status code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The values given break a rule; other values may be accepted.
    Invalid,
    /// The values are fine, but the current state of this or another record prevents it.
    Conflict,
    /// The requested record existed and has ended (a lapsed quote, a used link).
    Gone,
}

/// One faulty value of the input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// JSON pointer (RFC 6901) into the input, such as `/lines/2/quantity`; empty for the whole input.
    pub pointer: String,
    /// Stable code of the fault, such as `too_long`.
    pub code: &'static str,
    /// Description of the fault and how to correct it, for people.
    pub detail: String,
}

/// Number of faults a sentence names; [`Refusal::faults`] has all.
const NAMED: usize = 5;

/// All faults in one sentence: each once, the first few, and the number of the others.
pub(crate) fn told(faults: &[Fault]) -> String {
    let mut details: Vec<&str> = Vec::new();
    for fault in faults {
        if !details.contains(&fault.detail.as_str()) {
            details.push(&fault.detail);
        }
    }
    let more = details.len().saturating_sub(NAMED);
    details.truncate(NAMED);
    let named = details.join("; ");
    if more == 0 { named } else { format!("{named}; and {more} more") }
}

/// An error with which a rule refuses.
pub trait Refusal: core::error::Error {
    /// Kind of refusal.
    fn kind(&self) -> Kind;

    /// Stable code of the rule in `kebab-case`, such as `quote-lapsed`; ends the problem's `type`.
    fn code(&self) -> &'static str;

    /// The time that the text or the details of its faults name, if they name one: the program writes it in the shop's
    /// local time instead.
    fn moment(&self) -> Option<DateTime<Utc>> {
        None
    }

    /// The faulty values, if the rule knows them.
    fn faults(&self) -> Vec<Fault> {
        Vec::new()
    }
}

/// A move that a record's state does not allow. Every state machine of this crate refuses with this one type.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the {record} is {state} and can't be {wanted}{hint}")]
pub struct WrongState {
    /// Kind of the record, such as `quote`.
    pub record: &'static str,
    /// State of the record in words, such as `part paid`.
    pub state: &'static str,
    /// The move as a past participle, such as `signed`.
    pub wanted: &'static str,
    /// What to do instead, starting with `; `, or empty.
    pub hint: &'static str,
}

impl Refusal for WrongState {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        "wrong-state"
    }
}

#[cfg(test)]
mod tests {
    use alloc::string::ToString;

    use super::*;

    fn faults(details: &[&str]) -> Vec<Fault> {
        let one = |detail: &&str| Fault { pointer: String::new(), code: "wrong", detail: (*detail).to_string() };
        details.iter().map(one).collect()
    }

    #[test]
    fn a_sentence_names_each_fault_once_and_not_too_many() {
        assert_eq!(told(&[]), "");
        assert_eq!(told(&faults(&["a", "b", "a"])), "a; b");
        assert_eq!(told(&faults(&["a", "b", "c", "d", "e"])), "a; b; c; d; e");
        assert_eq!(told(&faults(&["a", "b", "c", "d", "e", "f", "a", "g"])), "a; b; c; d; e; and 2 more");
    }
}
