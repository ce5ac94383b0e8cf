//! Creditor references of ISO 11649: `RF`, two check digits, up to 21 letters and digits.
//!
//! The check digits are those of ISO/IEC 7064, MOD 97-10: with the first four characters moved to the end and letters
//! counted from A = 10, the number leaves 1 when divided by 97.

use alloc::string::String;
use core::fmt;

use crate::refusal::{Kind, Refusal};

/// A creditor reference whose check digits are right.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Reference(String);

/// Reason why text is not a creditor reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadReference {
    /// Not `RF`, two digits, and 1 to 21 letters and digits.
    #[error("a payment reference is RF, two digits, then 1 to 21 letters or digits")]
    Form,
    /// The check digits don't fit the rest.
    #[error("the reference has a typing mistake: its check digits don't fit; compare it with the invoice")]
    CheckDigits,
}

impl Refusal for BadReference {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "payment-reference"
    }
}

/// Maximum length of the text after the check digits.
const MOST: usize = 21;

/// Remainder of a number written in letters and digits when divided by 97, with letters counted from A = 10. `None` if
/// another character is in it.
fn remainder_97(characters: impl Iterator<Item = char>) -> Option<u32> {
    characters.into_iter().try_fold(0, |rest, c| {
        let value = c.to_digit(36).filter(|_| !c.is_ascii_lowercase())?;
        Some((rest * if value < 10 { 10 } else { 100 } + value) % 97)
    })
}

/// Whether characters three and four are the check digits of the rest. Only 02 to 98 are ever given out: 00, 01 and 99
/// leave the same remainder as 97, 98 and 02, and are typing mistakes.
pub(super) fn fits_check_digits(text: &str) -> bool {
    let (head, body) = text.split_at(4);
    let given_out = !matches!(&head[2..], "00" | "01" | "99");
    given_out && remainder_97(body.chars().chain(head.chars())) == Some(1)
}

/// The text without spaces and in capitals, as people may write it otherwise.
pub(super) fn compact(text: &str) -> String {
    text.chars().filter(|c| *c != ' ').map(|c| c.to_ascii_uppercase()).collect()
}

/// The text in groups of four, as it is printed.
pub(super) fn grouped(text: &str, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    for (at, c) in text.chars().enumerate() {
        if at > 0 && at % 4 == 0 {
            f.write_str(" ")?;
        }
        write!(f, "{c}")?;
    }
    Ok(())
}

impl Reference {
    /// The reference for a document number: what is no letter or digit in it is left out.
    ///
    /// # Errors
    /// [`BadReference::Form`] if nothing is left, or more than 21 characters.
    pub fn for_number(number: &str) -> Result<Self, BadReference> {
        let body: String = compact(number).chars().filter(char::is_ascii_alphanumeric).collect();
        if body.is_empty() || body.len() > MOST {
            return Err(BadReference::Form);
        }
        let rest = remainder_97(body.chars().chain("RF00".chars())).ok_or(BadReference::Form)?;
        Ok(Self(alloc::format!("RF{:02}{body}", 98 - rest)))
    }

    /// Reads a reference, with or without spaces, in capitals or not.
    ///
    /// # Errors
    /// [`BadReference`] says whether its form or its check digits are wrong.
    pub fn parse(text: &str) -> Result<Self, BadReference> {
        let text = compact(text);
        let form = text.is_ascii()
            && text.starts_with("RF")
            && (5..=4 + MOST).contains(&text.len())
            && text[2..4].chars().all(|c| c.is_ascii_digit())
            && text[4..].chars().all(|c| c.is_ascii_alphanumeric());
        if !form {
            return Err(BadReference::Form);
        }
        if fits_check_digits(&text) { Ok(Self(text)) } else { Err(BadReference::CheckDigits) }
    }

    /// The reference without spaces.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Reference {
    /// In groups of four, as it is printed.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        grouped(&self.0, f)
    }
}

#[cfg(test)]
mod tests {
    use alloc::string::ToString;

    use super::*;

    #[test]
    fn a_document_number_becomes_a_reference_that_reads_back() {
        let reference = Reference::for_number("INV-2026-0042").unwrap();
        assert_eq!(reference.as_str(), "RF73INV20260042");
        assert_eq!(reference.to_string(), "RF73 INV2 0260 042");
        assert_eq!(Reference::parse("rf73 inv2 0260 042"), Ok(reference));
        assert_eq!(Reference::for_number("--"), Err(BadReference::Form));
        assert_eq!(Reference::for_number("ABCDEFGHIJKLMNOPQRSTUV"), Err(BadReference::Form));
    }

    #[test]
    fn a_reference_with_a_wrong_form_or_check_digit_is_refused() {
        for text in ["", "RF", "RF18", "XX18539007547034", "RFAA1", "RF18-5390", "RF18é", "RF180123456789012345678901"]
        {
            assert_eq!(Reference::parse(text), Err(BadReference::Form), "{text}");
        }
        assert_eq!(Reference::parse("RF17539007547034"), Err(BadReference::CheckDigits));
    }
}
