//! Telephone numbers: the part of what was typed that can be dialled, and the forms by which a number is found.
//!
//! The tables of country codes and national prefixes change several times a year, so numbers are parsed by a library outside
//! the domain. The typed text is kept as it is and shown; the parsed form is used only for searching and comparing.

use alloc::string::String;

use unicode_normalization::UnicodeNormalization;

/// Minimum number of digits of a telephone number; short codes of a company or an emergency service have three.
pub const FEWEST_DIGITS: usize = 3;
/// Maximum number of digits that are read. ITU-T E.164 allows 15; an international prefix and a trunk zero come on top.
pub const MOST_DIGITS: usize = 20;

/// A number that was parsed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhoneNumber {
    /// `+`, country code and number, digits only: the form of ITU-T E.164.
    pub international: String,
    /// The digits to dial inside the number's own country, with the national prefix, such as a zero.
    pub national: String,
}

/// The part of a text that can be dialled: digits, with a `+` before them if there was one. A word before the number
/// (`Tel.`), remarks in brackets (`(mobil)`), the zero in brackets that is dialled at home only (`+49 (0)171 …`) and all
/// that follows the first letter after the number (`ext. 12`) are left out. Blanks of any kind, dots, hyphens, slashes
/// and brackets make no difference. Empty if the text has no digit.
pub fn dialable(written: &str) -> String {
    read(written).0
}

/// The part that can be dialled, and the number of typed digits, including the zero in brackets.
fn read(written: &str) -> (String, usize) {
    let mut passed_over = 0;
    let text: String = written.nfkc().collect();
    let mut number = String::new();
    let mut rest = text.as_str();
    while let Some(c) = rest.chars().next() {
        if c == '('
            && let Some(end) = rest.find(')')
            && is_remark(&rest[1..end], number.starts_with('+'))
        {
            // A remark after the number ends it; one before it, or inside a short beginning, is passed over.
            if number.len() > FEWEST_DIGITS + 2 && rest[1..end].contains(char::is_alphabetic) {
                break;
            }
            passed_over += rest[1..end].chars().filter(char::is_ascii_digit).count();
            rest = &rest[end + 1..];
            continue;
        }
        match c {
            '0'..='9' => number.push(c),
            '+' if number.is_empty() => number.push(c),
            // What follows is an extension, a remark or another number.
            _ if number.len() > 1 && (c.is_alphabetic() || matches!(c, '+' | '#' | ';' | ',' | '*')) => break,
            _ => {}
        }
        rest = &rest[c.len_utf8()..];
    }
    let digits = number.chars().filter(char::is_ascii_digit).count();
    if digits == 0 { (String::new(), 0) } else { (number, digits + passed_over) }
}

/// Whether text in brackets is no part of the number: a remark, or the zero after a country's code.
fn is_remark(inside: &str, international: bool) -> bool {
    let inside = inside.trim();
    (international && inside == "0") || !inside.chars().any(|c| c.is_ascii_digit())
}

/// Whether a text holds a telephone number at all.
pub fn is_phone(written: &str) -> bool {
    (FEWEST_DIGITS..=MOST_DIGITS).contains(&read(written).1)
}

/// The form in which two numbers are compared: the international one, or the digits if the number could not be parsed.
pub fn phone_key(written: &str, parsed: Option<&PhoneNumber>) -> String {
    match parsed {
        Some(number) => number.international.clone(),
        None => String::from(dialable(written).trim_start_matches(['+', '0'])),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Numbers are from ranges that regulators keep free for fiction: 01632 960 000 to 960 999 (Ofcom), from memory.
    #[test]
    fn remarks_extensions_and_blanks_are_no_part_of_the_number() {
        for written in [
            "+44 1632 960123",
            "+44 (0)1632 960-123",
            "+44 (0) 1632/960.123 (mobil)",
            "Tel.: +44 1632\u{a0}960\u{202f}123",
            "+44 1632 960123 ext. 12",
            "+44 1632 960123x12",
            "+44 1632 960123;ext=12",
            "+44 1632 960123 (work) 9 to 5",
            "+44 1632 960123, +44 1632 960124",
            "(mobile) +44 1632 960123",
            "\u{ff0b}\u{ff14}\u{ff14} 1632 960123",
        ] {
            assert_eq!(dialable(written), "+441632960123", "{written}");
        }
        assert_eq!(dialable("(01632) 960.123"), "01632960123");
        assert_eq!(dialable("(0) 1632 960123"), "01632960123", "at home the zero is dialled");
        assert_eq!(dialable("0044 1632 960123"), "00441632960123");
    }

    #[test]
    fn text_without_a_number_is_none() {
        for written in ["", "12", "call me", "+", "(mobil)", "a1b2c3", "123456789012345678901"] {
            assert!(!is_phone(written), "{written:?}");
        }
        assert!(is_phone("112") && is_phone("01632 960123 (mobil)"));
    }

    #[test]
    fn a_number_that_was_not_parsed_is_compared_by_its_digits() {
        let parsed = PhoneNumber { international: "+441632960123".into(), national: "01632960123".into() };
        assert_eq!(phone_key("01632 960 123", Some(&parsed)), "+441632960123");
        assert_eq!(phone_key("01632 960 123 (mobil)", None), "1632960123");
    }
}
