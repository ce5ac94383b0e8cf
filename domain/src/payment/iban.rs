//! International bank account numbers (ISO 13616).

use alloc::string::String;
use core::fmt;

use super::reference::{compact, fits_check_digits, grouped};
use crate::refusal::{Kind, Refusal};

/// A bank account number with the length of its country and the right check digits.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Iban(String);

/// Reason why text is not a bank account number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadIban {
    /// The text is not two letters, two digits, then letters and digits.
    #[error("a bank account number is two letters, two digits, then letters or digits")]
    Form,
    /// A country that the registry has no length for.
    #[error("no country with that code has international bank account numbers")]
    Country,
    /// Too short or too long for its country.
    #[error("a bank account number of this country has {0} characters; count them again")]
    Length(u8),
    /// The check digits don't fit the rest.
    #[error("the bank account number has a typing mistake: its check digits don't fit")]
    CheckDigits,
}

impl Refusal for BadIban {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bank-account"
    }
}

/// Length of each country's numbers, by the registry of ISO 13616; ascending by code.
#[rustfmt::skip]
const LENGTHS: &[(&str, u8)] = &[
    ("AD", 24), ("AE", 23), ("AL", 28), ("AT", 20), ("AZ", 28), ("BA", 20), ("BE", 16), ("BG", 22), ("BH", 22),
    ("BI", 27), ("BR", 29), ("BY", 28), ("CH", 21), ("CR", 22), ("CY", 28), ("CZ", 24), ("DE", 22), ("DJ", 27),
    ("DK", 18), ("DO", 28), ("EE", 20), ("EG", 29), ("ES", 24), ("FI", 18), ("FK", 18), ("FO", 18), ("FR", 27),
    ("GB", 22), ("GE", 22), ("GI", 23), ("GL", 18), ("GR", 27), ("GT", 28), ("HN", 28), ("HR", 21), ("HU", 28),
    ("IE", 22), ("IL", 23), ("IQ", 23), ("IS", 26), ("IT", 27), ("JO", 30), ("KW", 30), ("KZ", 20), ("LB", 28),
    ("LC", 32), ("LI", 21), ("LT", 20), ("LU", 20), ("LV", 21), ("LY", 25), ("MC", 27), ("MD", 24), ("ME", 22),
    ("MK", 19), ("MN", 20), ("MR", 27), ("MT", 31), ("MU", 30), ("NI", 28), ("NL", 18), ("NO", 15), ("OM", 23),
    ("PK", 24), ("PL", 28), ("PS", 29), ("PT", 25), ("QA", 29), ("RO", 24), ("RS", 22), ("RU", 33), ("SA", 24),
    ("SC", 31), ("SD", 18), ("SE", 24), ("SI", 19), ("SK", 24), ("SM", 27), ("SO", 23), ("ST", 25), ("SV", 28),
    ("TL", 23), ("TN", 24), ("TR", 26), ("UA", 29), ("VA", 22), ("VG", 24), ("XK", 20), ("YE", 30),
];

impl Iban {
    /// Reads a number, with or without spaces, in capitals or not.
    ///
    /// # Errors
    /// [`BadIban`] says what is wrong with it.
    pub fn parse(text: &str) -> Result<Self, BadIban> {
        let text = compact(text);
        let letters = |part: &str| part.chars().all(|c| c.is_ascii_uppercase());
        let form = text.len() > 4
            && text.chars().all(|c| c.is_ascii_alphanumeric())
            && letters(&text[..2])
            && text[2..4].chars().all(|c| c.is_ascii_digit());
        if !form {
            return Err(BadIban::Form);
        }
        let found = LENGTHS.binary_search_by_key(&&text[..2], |(country, _)| country);
        let length = found.ok().map(|at| LENGTHS[at].1).ok_or(BadIban::Country)?;
        if text.len() != usize::from(length) {
            return Err(BadIban::Length(length));
        }
        if fits_check_digits(&text) { Ok(Self(text)) } else { Err(BadIban::CheckDigits) }
    }

    /// The number without spaces.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The country's code.
    pub fn country(&self) -> &str {
        &self.0[..2]
    }
}

impl fmt::Display for Iban {
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
    fn a_number_reads_with_or_without_spaces_and_prints_in_fours() {
        let iban = Iban::parse("de89 3704 0044 0532 0130 00").unwrap();
        assert_eq!(iban.as_str(), "DE89370400440532013000");
        assert_eq!(iban.to_string(), "DE89 3704 0044 0532 0130 00");
        assert_eq!(iban.country(), "DE");
    }

    #[test]
    fn what_is_wrong_with_a_number_is_said() {
        for (text, bad) in [
            ("", BadIban::Form),
            ("DE89", BadIban::Form),
            ("D\u{c9}89370400440532013000", BadIban::Form),
            ("XX89370400440532013000", BadIban::Country),
            ("DE8937040044053201300", BadIban::Length(22)),
            ("DE88370400440532013000", BadIban::CheckDigits),
        ] {
            assert_eq!(Iban::parse(text), Err(bad), "{text}");
        }
    }

    #[test]
    fn the_list_of_countries_is_in_order_for_the_search() {
        assert!(LENGTHS.is_sorted_by(|a, b| a.0 < b.0));
        // ISO 13616: at most 34 characters.
        assert!(LENGTHS.iter().all(|&(_, length)| (15..=34).contains(&length)));
    }
}
