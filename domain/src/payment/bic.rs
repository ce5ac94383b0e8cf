//! Business identifier codes of banks (ISO 9362).

use alloc::string::String;
use core::fmt;

use super::reference::compact;
use crate::refusal::{Kind, Refusal};

/// A bank's code: four letters or digits, a country, two letters or digits, and three more for a branch.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Bic(String);

/// Text that is not a bank's code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a bank's code (BIC) has 8 or 11 letters and digits, of which the fifth and sixth are the country")]
pub struct BadBic;

impl Refusal for BadBic {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bank-code"
    }
}

impl Bic {
    /// Parses a code, with or without spaces, in upper or lower case.
    ///
    /// # Errors
    /// [`BadBic`] if its length or its characters are wrong.
    pub fn parse(text: &str) -> Result<Self, BadBic> {
        let text = compact(text);
        let form = matches!(text.len(), 8 | 11)
            && text.chars().all(|c| c.is_ascii_alphanumeric())
            && text[4..6].chars().all(|c| c.is_ascii_uppercase());
        if form { Ok(Self(text)) } else { Err(BadBic) }
    }

    /// The code without spaces.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Bic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_banks_code_has_eight_or_eleven_characters_with_the_country_inside() {
        // Codes from the published examples in EPC069-12.
        for right in ["BHBLDEHHXXX", "BPOTBEB1"] {
            assert_eq!(Bic::parse(&right.to_ascii_lowercase()).map(|bic| String::from(bic.as_str())), Ok(right.into()));
        }
        for wrong in ["", "BHBLDEHH1", "BHBL12HH", "BHBLDEHHXXXX", "BHBL\u{c9}HHX"] {
            assert_eq!(Bic::parse(wrong), Err(BadBic), "{wrong}");
        }
    }
}
