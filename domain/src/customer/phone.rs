//! Telephone numbers as they are searched for.

use alloc::string::String;

use crate::refusal::{Kind, Refusal};

/// Text that is no telephone number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a telephone number has 5 to 15 digits; write it as you would dial it, such as +1 202 555 0143")]
pub struct BadPhone;

impl Refusal for BadPhone {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-phone"
    }
}

/// A number in one form however it was typed: `+`, country code and number, digits only (the form of ITU-T E.164, at
/// most 15 digits). A number without `+` or `00` is of the country whose calling code is given; its trunk zero is
/// dropped. Countries whose numbers keep their zero abroad (such as Italy) still get one form for one number, which is
/// all that a search needs; dial what the customer wrote.
///
/// # Errors
/// [`BadPhone`] with letters, or with fewer than 5 or more than 15 digits.
pub fn searchable_phone(written: &str, calling_code: &str) -> Result<String, BadPhone> {
    // "+44 (0)1632 …": the zero in brackets is dialled at home only.
    let written = written.trim().replace("(0)", "");
    let international = written.strip_prefix('+').or_else(|| written.strip_prefix("00"));
    let digits = |text: &str| -> Result<String, BadPhone> {
        let separators =
            |c: char| c.is_whitespace() || matches!(c, '-' | '.' | '/' | '(' | ')' | '\u{2010}'..='\u{2015}');
        let kept = text.chars().filter(|c| !separators(*c));
        kept.map(|c| c.to_digit(10).and_then(|digit| char::from_digit(digit, 10)).ok_or(BadPhone)).collect()
    };
    let all = if let Some(rest) = international {
        digits(rest)?
    } else {
        let national = digits(&written)?;
        let calling: String = calling_code.chars().filter(char::is_ascii_digit).collect();
        calling + national.strip_prefix('0').unwrap_or(&national)
    };
    let fits = (5..=15).contains(&all.len()) && !all.starts_with('0');
    fits.then(|| String::from("+") + &all).ok_or(BadPhone)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Numbers are from ranges that regulators keep free for fiction: 555 0100 to 0199 (North American Numbering Plan)
    // and 01632 960 000 to 960 999 (Ofcom); from memory.
    #[test]
    fn a_number_has_one_form_however_it_is_written() {
        for written in
            ["+44 1632 960123", "0044 1632/960123", "01632 960-123", "+44 (0)1632 960 123", "(01632) 960.123"]
        {
            assert_eq!(searchable_phone(written, "44").as_deref(), Ok("+441632960123"), "{written}");
        }
        assert_eq!(searchable_phone("(202) 555-0143", "+1").as_deref(), Ok("+12025550143"));
    }

    #[test]
    fn text_that_is_no_number_is_refused() {
        for written in
            ["", "12", "call me", "+44 1632 960123 ext 4", "+1234567890123456", "+0123456789", "++441632960123"]
        {
            assert_eq!(searchable_phone(written, "44"), Err(BadPhone), "{written:?}");
        }
    }
}
