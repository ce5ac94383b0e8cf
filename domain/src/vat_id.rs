//! Numbers by which tax offices know a business.

mod check;

use alloc::string::String;
use core::fmt;

use crate::country::Country;
use crate::refusal::{Kind, Refusal};

pub use check::VatCheck;

/// A VAT identifier: the prefix of its country, then 2 to 18 letters and digits; upper case, without separators.
///
/// The prefix is an ISO 3166-1 code (EN 16931-1, BR-CO-09; Council Directive 2006/112/EC, article 215); Greece uses
/// `EL` and Northern Ireland `XI`. Only the tax office knows whether the number was really issued.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VatId(String);

/// Text that is no VAT identifier.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadVatId {
    /// The first two letters name no country.
    #[error("a VAT number starts with its country's code, such as IE, and then has 2 to 18 letters and digits")]
    Form,
    /// The form is right, the country does not exist.
    #[error("no country has VAT numbers that start with {0}")]
    Prefix(String),
}

impl Refusal for BadVatId {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-vat-id"
    }
}

impl VatId {
    /// Reads a number as it was typed: spaces, dots, dashes and slashes are dropped, letters upper-cased.
    ///
    /// # Errors
    /// [`BadVatId`] with a description of the valid form.
    pub fn parse(written: &str) -> Result<Self, BadVatId> {
        let text: String = written
            .chars()
            .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '-' | '/'))
            .map(|c| c.to_ascii_uppercase())
            .collect();
        let letters = text.len() >= 2 && text.bytes().take(2).all(|b| b.is_ascii_uppercase());
        if !letters || !(4..=20).contains(&text.len()) || !text.bytes().all(|b| b.is_ascii_alphanumeric()) {
            return Err(BadVatId::Form);
        }
        let prefix = &text[..2];
        if !matches!(prefix, "EL" | "XI") && Country::parse(prefix).is_err() {
            return Err(BadVatId::Prefix(prefix.into()));
        }
        Ok(Self(text))
    }

    /// The number.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for VatId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_read_without_its_separators() {
        assert_eq!(VatId::parse("ie 123-4567 fa").map(|v| String::from(v.as_str())), Ok("IE1234567FA".into()));
        assert!(VatId::parse("EL123456789").is_ok(), "Greece");
        assert!(VatId::parse("XI123456789").is_ok(), "Northern Ireland");
        assert!(VatId::parse("CHE-123.456.789").is_ok(), "a prefix is the first two letters only");
    }

    #[test]
    fn what_has_no_country_or_a_wrong_length_is_refused() {
        for text in ["", "IE", "IE1", "1234567", "IE1234567890123456789", "IEÄ123", "IE12_34"] {
            assert_eq!(VatId::parse(text), Err(BadVatId::Form), "{text}");
        }
        assert_eq!(VatId::parse("UK123456789"), Err(BadVatId::Prefix("UK".into())));
    }
}
