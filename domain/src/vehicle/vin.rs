//! The vehicle identification number: form of ISO 3779, check digit of 49 CFR 565.15.

use alloc::string::String;
use core::fmt;

use crate::refusal::{Kind, Refusal};
use crate::word::words;

words! {
    /// Market for which the vehicle was made, which decides whether the check digit is compulsory.
    pub enum Market("market") {
        /// Sold in North America, where position nine must be the check digit (49 CFR 565.15(c)).
        NorthAmerica = "NORTH_AMERICA" "North America",
        /// Sold elsewhere, where position nine may be anything.
        Elsewhere = "ELSEWHERE" "elsewhere",
    }
}

/// A vehicle identification number of 17 characters, upper case, without I, O and Q.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Vin(String);

/// Reason why text is not a vehicle identification number.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadVin {
    /// It does not have 17 characters after removing spaces and dashes.
    #[error("a vehicle identification number has 17 characters, this has {0}")]
    Length(usize),
    /// It has a character that no number contains.
    #[error("{0:?} can't be in a vehicle identification number: only A to Z without I, O and Q, and 0 to 9")]
    Character(char),
    /// Position nine is not the check digit, in a market where it must be.
    #[error("the check digit (position 9) should be {expected} but is {found}: compare each character with the plate")]
    CheckDigit {
        /// The check digit computed from the other characters.
        expected: char,
        /// The character at position nine.
        found: char,
    },
}

impl Refusal for BadVin {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-vin"
    }
}

/// Position nine is not the check digit, in a market where it needn't be: compare the number with the plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VinWarning {
    /// The check digit computed from the other characters.
    pub expected: char,
    /// The character at position nine.
    pub found: char,
}

impl fmt::Display for VinWarning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "Position 9 is {} where the North American check digit would be {}. Outside North America that is allowed; \
             compare the number with the plate once more.",
            self.found, self.expected
        )
    }
}

impl Vin {
    /// Reads a number as it was typed: spaces and dashes are dropped and letters upper-cased. The check digit is
    /// compulsory in North America; elsewhere a wrong one is a warning beside the number.
    ///
    /// # Errors
    /// [`BadVin`] if length or characters are wrong, or the check digit is and must not be.
    pub fn parse(written: &str, market: Market) -> Result<(Self, Option<VinWarning>), BadVin> {
        let vin = Self::form(written)?;
        let (expected, found) = (check_digit(vin.as_str())?, vin.position_nine());
        match market {
            _ if expected == found => Ok((vin, None)),
            Market::NorthAmerica => Err(BadVin::CheckDigit { expected, found }),
            Market::Elsewhere => Ok((vin, Some(VinWarning { expected, found }))),
        }
    }

    /// Reads the form of ISO 3779 alone, without checking the check digit.
    ///
    /// # Errors
    /// [`BadVin::Length`] or [`BadVin::Character`].
    pub fn form(written: &str) -> Result<Self, BadVin> {
        let text: String = written
            .chars()
            .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '\u{2010}'..='\u{2015}'))
            .map(|c| c.to_ascii_uppercase())
            .collect();
        if let Some(wrong) = text.chars().find(|c| value(*c).is_none()) {
            return Err(BadVin::Character(wrong));
        }
        match text.chars().count() {
            17 => Ok(Self(text)),
            other => Err(BadVin::Length(other)),
        }
    }

    /// The 17 characters.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    fn position_nine(&self) -> char {
        self.0.chars().nth(8).unwrap_or('?')
    }
}

impl fmt::Display for Vin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// The weights of the 17 positions (49 CFR 565.15, table IV); position nine, the check digit's own, has weight zero.
const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// The value of a character (49 CFR 565.15, table III), or `None` for one that no number contains.
const fn value(character: char) -> Option<u32> {
    Some(match character {
        '0'..='9' => character as u32 - '0' as u32,
        'A' | 'J' => 1,
        'B' | 'K' | 'S' => 2,
        'C' | 'L' | 'T' => 3,
        'D' | 'M' | 'U' => 4,
        'E' | 'N' | 'V' => 5,
        'F' | 'W' => 6,
        'G' | 'P' | 'X' => 7,
        'H' | 'Y' => 8,
        'R' | 'Z' => 9,
        _ => return None,
    })
}

/// The check digit for 17 characters (49 CFR 565.15(c)): the weighted sum modulo 11, with `X` for ten.
///
/// # Errors
/// [`BadVin::Length`] or [`BadVin::Character`].
pub fn check_digit(vin: &str) -> Result<char, BadVin> {
    let length = vin.chars().count();
    if length != WEIGHTS.len() {
        return Err(BadVin::Length(length));
    }
    let mut sum = 0;
    for (character, weight) in vin.chars().zip(WEIGHTS) {
        sum += value(character).ok_or(BadVin::Character(character))? * weight;
    }
    Ok(match sum % 11 {
        10 => 'X',
        digit => char::from_digit(digit, 10).unwrap_or('X'),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spaces_and_dashes_are_dropped_and_letters_upper_cased() {
        let (vin, warning) = Vin::parse(" 1g4ah59h-45g 118341", Market::NorthAmerica).unwrap();
        assert_eq!((vin.as_str(), warning), ("1G4AH59H45G118341", None));
    }

    #[test]
    fn a_wrong_check_digit_is_an_error_in_north_america_and_a_warning_elsewhere() {
        let wrong = "1G4AH59H55G118341";
        let expected = BadVin::CheckDigit { expected: '4', found: '5' };
        assert_eq!(Vin::parse(wrong, Market::NorthAmerica), Err(expected));
        let (_, warning) = Vin::parse(wrong, Market::Elsewhere).unwrap();
        assert_eq!(warning, Some(VinWarning { expected: '4', found: '5' }));
    }

    #[test]
    fn i_o_and_q_and_a_wrong_length_are_refused_everywhere() {
        for (text, why) in [
            ("1M8GDM9AXKP0427O8", BadVin::Character('O')),
            ("1M8GDM9AXKP0427I8", BadVin::Character('I')),
            ("1M8GDM9AXKP0427Q8", BadVin::Character('Q')),
            ("1M8GDM9AXKP04278", BadVin::Length(16)),
            ("", BadVin::Length(0)),
            ("1M8GDM9AXKP04278é", BadVin::Character('é')),
        ] {
            assert_eq!(Vin::parse(text, Market::Elsewhere), Err(why));
        }
    }

    #[test]
    fn any_single_wrong_character_that_changes_the_sum_is_caught() {
        let right = "1G4AH59H45G118341";
        for at in (0..17).filter(|at| *at != 8) {
            let old = right.as_bytes()[at] as char;
            for new in "0123456789ABCDEFGHJKLMNPRSTUVWXYZ".chars() {
                let changed: String = right.chars().enumerate().map(|(i, c)| if i == at { new } else { c }).collect();
                // Weights run from 2 to 10 and 11 is prime, so only a character of equal value goes unnoticed.
                let seen = Vin::parse(&changed, Market::NorthAmerica).is_err();
                assert_eq!(seen, value(old) != value(new), "{changed}");
            }
        }
    }
}
