//! The four digits with which a person signs in on a tablet beside the bays.
//!
//! They are typed with gloves on, so they are few. That is safe enough only because they open nothing but the pages of the bays,
//! only on a device that the owner has enrolled, and because wrong ones make that device wait.

use alloc::string::ToString;
use alloc::vec;
use alloc::vec::Vec;

use crate::refusal::{Fault, Kind, Refusal};

/// Number of digits.
pub const LENGTH: usize = 4;

/// Reason why digits can't be chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadDigits {
    /// They are not four digits.
    #[error("write exactly {LENGTH} digits")]
    Malformed,
    /// They are among the first that somebody would try.
    #[error("choose digits that are harder to guess: not one digit four times, and not a row such as 1234")]
    Guessable,
}

impl Refusal for BadDigits {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-digits"
    }

    fn faults(&self) -> Vec<Fault> {
        let code = match self {
            Self::Malformed => "malformed",
            Self::Guessable => "easily_guessed",
        };
        vec![Fault { pointer: "/digits".into(), code, detail: self.to_string() }]
    }
}

/// Whether a text can be somebody's digits at all.
pub fn are_digits(text: &str) -> bool {
    text.len() == LENGTH && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// Checks digits that somebody chooses.
///
/// # Errors
/// [`BadDigits`] if they are not four digits, or are easily guessed: the same digit four times, or a row up or down.
pub fn judge(text: &str) -> Result<(), BadDigits> {
    if !are_digits(text) {
        return Err(BadDigits::Malformed);
    }
    let bytes = text.as_bytes();
    let all = |step: i16| bytes.windows(2).all(|pair| i16::from(pair[1]) - i16::from(pair[0]) == step);
    if all(0) || all(1) || all(-1) { Err(BadDigits::Guessable) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_four_and_no_row() {
        for good in ["4071", "1235", "0090", "9010"] {
            assert_eq!(judge(good), Ok(()), "{good}");
        }
        for row in ["0000", "7777", "1234", "6789", "4321", "3210"] {
            assert_eq!(judge(row), Err(BadDigits::Guessable), "{row}");
        }
        for bad in ["", "123", "12345", "12a4", "١٢٣٤", "12 4"] {
            assert_eq!(judge(bad), Err(BadDigits::Malformed), "{bad}");
        }
        assert_eq!(BadDigits::Malformed.faults()[0].pointer, "/digits");
    }
}
