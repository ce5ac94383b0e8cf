//! Check digits of VAT identifiers, if a country publishes how they are made.
//!
//! A number whose check digits are wrong was mistyped; one whose check digits are right may still not have been issued,
//! which only the tax office knows. Sources: ISO/IEC 7064 (MOD 11,10; MOD 97-10) and ISO/IEC 7812-1, annex B (the
//! formula of Luhn) for the methods; which country uses which method and weights is from memory, and is compared with
//! an independent implementation in `tests/outside/vat_stdnum.py`. For Britain and Spain that one accepts more than
//! memory did, and so does this.
//!
//! Wrong check digits are a warning and never a refusal, because some of these rules are from memory and a number that
//! a tax office printed must never stop a sale.

mod forms;

use alloc::vec::Vec;

use super::VatId;

/// Result of checking a number's check digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VatCheck {
    /// They are right.
    Right,
    /// They are wrong, or the number does not have its country's form: it was mistyped.
    Wrong,
    /// The check for this country, or this form of its numbers, is not known here.
    Unknown,
}

impl VatId {
    /// Checks the check digits.
    pub fn check(&self) -> VatCheck {
        let (prefix, number) = self.as_str().split_at(2);
        let right = match prefix {
            "AT" => austria(number),
            "BE" => belgium(number),
            "BG" => return forms::bulgaria(number),
            "CH" => switzerland(number),
            "CY" => cyprus(number),
            "CZ" => return forms::czechia(number),
            "DE" => digits::<9>(number).is_some_and(|d| d[0] != 0 && iso_7064_mod_11_10(&d)),
            "DK" => digits::<8>(number)
                .is_some_and(|d| d[0] != 0 && weighted(&d, &[2, 7, 6, 5, 4, 3, 2, 1]).is_multiple_of(11)),
            "EE" => digits::<9>(number).is_some_and(|d| weighted(&d, &[3, 7, 1, 3, 7, 1, 3, 7, 1]).is_multiple_of(10)),
            "EL" => greece(number),
            "ES" => return forms::spain(number),
            "FI" => finland(number),
            "FR" => return forms::france(number),
            "GB" | "XI" => return forms::britain(number),
            "HR" => digits::<11>(number).is_some_and(|d| iso_7064_mod_11_10(&d)),
            "HU" => digits::<8>(number).is_some_and(|d| weighted(&d, &[9, 7, 3, 1, 9, 7, 3, 1]).is_multiple_of(10)),
            "IE" => return forms::ireland(number),
            "IT" => italy(number),
            "LT" => return forms::lithuania(number),
            "LU" => digits::<8>(number).is_some_and(|d| value(&d[..6]) % 89 == value(&d[6..])),
            "LV" => return forms::latvia(number),
            "MT" => malta(number),
            "NL" => netherlands(self.as_str(), number),
            "PL" => poland(number),
            "PT" => portugal(number),
            "RO" => return forms::romania(number),
            "SE" => sweden(number),
            "SI" => slovenia(number),
            "SK" => return forms::slovakia(number),
            _ => return VatCheck::Unknown,
        };
        if right { VatCheck::Right } else { VatCheck::Wrong }
    }
}

/// The number as exactly `N` digits.
fn digits<const N: usize>(text: &str) -> Option<[u32; N]> {
    let all: Vec<u32> = text.chars().map(|c| c.to_digit(10)).collect::<Option<_>>()?;
    all.try_into().ok()
}

fn value(digits: &[u32]) -> u64 {
    digits.iter().fold(0, |value, digit| value * 10 + u64::from(*digit))
}

fn weighted(digits: &[u32], weights: &[u32]) -> u32 {
    digits.iter().zip(weights).map(|(digit, weight)| digit * weight).sum()
}

/// ISO/IEC 7064, hybrid system MOD 11,10, over all digits with the check digit last.
fn iso_7064_mod_11_10(digits: &[u32]) -> bool {
    let Some((last, others)) = digits.split_last() else { return false };
    let product = others.iter().fold(10, |product, digit| {
        let sum = (product + digit) % 10;
        (if sum == 0 { 10 } else { sum }) * 2 % 11
    });
    (product + last) % 10 == 1
}

/// ISO/IEC 7812-1, annex B: every second digit from the right but one is doubled.
fn luhn(digits: &[u32]) -> bool {
    let sum: u32 = digits
        .iter()
        .rev()
        .enumerate()
        .map(|(place, digit)| if place % 2 == 0 { *digit } else { digit * 2 / 10 + digit * 2 % 10 })
        .sum();
    sum.is_multiple_of(10)
}

fn austria(number: &str) -> bool {
    let Some(d) = number.strip_prefix('U').and_then(digits::<8>) else { return false };
    let doubled = |digit: u32| digit * 2 / 10 + digit * 2 % 10;
    let sum = d[0] + doubled(d[1]) + d[2] + doubled(d[3]) + d[4] + doubled(d[5]) + d[6] + 4;
    (10 - sum % 10) % 10 == d[7]
}

fn belgium(number: &str) -> bool {
    // Older numbers have nine digits; a zero goes before them.
    let d = digits::<10>(number).or_else(|| {
        let nine = digits::<9>(number)?;
        let mut ten = [0; 10];
        ten[1..].copy_from_slice(&nine);
        Some(ten)
    });
    d.is_some_and(|d| d[0] < 2 && value(&d[..8]) > 0 && 97 - value(&d[..8]) % 97 == value(&d[8..]))
}

/// The number of a Swiss business, `CHE-123.456.788`, with or without the letters that say it is registered for VAT.
fn switzerland(number: &str) -> bool {
    let Some(rest) = number.strip_prefix('E') else { return false };
    let bare = ["MWST", "TVA", "IVA"].iter().find_map(|end| rest.strip_suffix(end)).unwrap_or(rest);
    digits::<9>(bare).is_some_and(|d| (11 - weighted(&d[..8], &[5, 4, 3, 2, 7, 6, 5, 4]) % 11) % 11 == d[8])
}

/// Eight digits and a letter, for which the digits in odd places count by a table.
fn cyprus(number: &str) -> bool {
    const ODD: [u32; 10] = [1, 0, 5, 7, 9, 13, 15, 17, 19, 21];
    let Some((start, rest)) = number.split_at_checked(8) else { return false };
    let (Some(d), &[letter]) = (digits::<8>(start), rest.as_bytes()) else { return false };
    let worth = |(place, digit): (usize, &u32)| if place % 2 == 0 { ODD[*digit as usize] } else { *digit };
    let sum: u32 = d.iter().enumerate().map(worth).sum();
    d[..2] != [1, 2] && u32::from(letter) == u32::from(b'A') + sum % 26
}

fn greece(number: &str) -> bool {
    // Older numbers have eight digits; a zero goes before them.
    let d = digits::<9>(number).or_else(|| {
        let eight = digits::<8>(number)?;
        let mut nine = [0; 9];
        nine[1..].copy_from_slice(&eight);
        Some(nine)
    });
    d.is_some_and(|d| value(&d) > 0 && weighted(&d[..8], &[256, 128, 64, 32, 16, 8, 4, 2]) % 11 % 10 == d[8])
}

fn finland(number: &str) -> bool {
    digits::<8>(number).is_some_and(|d| value(&d) > 0 && weighted(&d, &[7, 9, 10, 5, 8, 4, 2, 1]).is_multiple_of(11))
}

/// Seven digits of the business, three of the province or the kind of office, and one by Luhn's formula.
fn italy(number: &str) -> bool {
    digits::<11>(number).is_some_and(|d| {
        let office = matches!(value(&d[7..10]), 1..=100 | 120 | 121 | 888 | 999);
        value(&d[..7]) > 0 && office && luhn(&d)
    })
}

fn malta(number: &str) -> bool {
    digits::<8>(number).is_some_and(|d| {
        value(&d[..6]) >= 100_000 && u64::from(37 - weighted(&d[..6], &[3, 4, 6, 7, 8, 9]) % 37) == value(&d[6..])
    })
}

/// Nine digits, `B` and two digits. Numbers of companies have a check digit in the ninth place; those of people since 2020
/// are checked as a whole by ISO/IEC 7064, MOD 97-10.
fn netherlands(whole: &str, number: &str) -> bool {
    let Some((company, place)) = number.split_once('B') else { return false };
    let (Some(d), Some(place)) = (digits::<9>(company), digits::<2>(place)) else { return false };
    if value(&d) == 0 || value(&place) == 0 {
        return false;
    }
    let eleven = weighted(&d[..8], &[9, 8, 7, 6, 5, 4, 3, 2]) % 11 == d[8];
    eleven || mod_97(whole) == Some(1)
}

/// The text as a number, `A` as 10 to `Z` as 35, by 97.
fn mod_97(text: &str) -> Option<u32> {
    text.chars().try_fold(0, |rest, c| {
        let worth = c.to_digit(36)?;
        Some((if worth < 10 { rest * 10 } else { rest * 100 } + worth) % 97)
    })
}

fn poland(number: &str) -> bool {
    digits::<10>(number).is_some_and(|d| value(&d) > 0 && weighted(&d[..9], &[6, 5, 7, 2, 3, 4, 5, 6, 7]) % 11 == d[9])
}

fn portugal(number: &str) -> bool {
    digits::<9>(number).is_some_and(|d| {
        let rest = weighted(&d[..8], &[9, 8, 7, 6, 5, 4, 3, 2]) % 11;
        d[0] != 0 && d[8] == if rest < 2 { 0 } else { 11 - rest }
    })
}

fn sweden(number: &str) -> bool {
    digits::<12>(number).is_some_and(|d| value(&d[..10]) > 0 && d[10..] == [0, 1] && luhn(&d[..10]))
}

fn slovenia(number: &str) -> bool {
    digits::<8>(number).is_some_and(|d| {
        let check = 11 - weighted(&d[..7], &[8, 7, 6, 5, 4, 3, 2]) % 11;
        d[0] != 0 && check != 11 && d[7] == check % 10
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(number: &str) -> VatCheck {
        VatId::parse(number).unwrap().check()
    }

    #[test]
    fn numbers_that_authorities_print_as_examples_are_right() {
        // From memory: the tax offices of Ireland (with the second letter since 2013) and the Netherlands (the form of 2020),
        // and the Swiss register of businesses.
        for number in ["IE1234567FA", "NL123456789B13", "CHE-123.456.788", "CHE-123.456.788 MWST"] {
            assert_eq!(check(number), VatCheck::Right, "{number}");
        }
    }

    #[test]
    fn zeros_and_sevens_are_wrong_wherever_numbers_are_checked() {
        for number in [
            "DE000000000",
            "ATU00000000",
            "BE0000000000",
            "DK00000000",
            "EL000000000",
            "FI00000000",
            "FR00000000000",
            "IT00000000000",
            "NL000000000B00",
            "PL0000000000",
            "PT000000000",
            "SE000000000001",
            "SI00000000",
            "MT00000000",
            "CHE-777.777.777",
            "DE777777777",
            "IE7777777A",
            "HU77777778",
            "BG000000000",
            "CY77777777A",
            "CZ77777777",
            "ES77777777A",
            "GB000000000",
            "LT777777777",
            "LV77777777777",
            "RO7777777777",
            "SK7777777778",
            "XI777777777",
        ] {
            assert_eq!(check(number), VatCheck::Wrong, "{number}");
        }
    }

    #[test]
    fn one_wrong_digit_or_two_that_changed_places_are_found() {
        let right = "DE123456788";
        assert_eq!(check(right), VatCheck::Right);
        for wrong in ["DE123456789", "DE123456888", "DE213456788", "DE12345678", "DE1234567888", "DE12345678A"] {
            assert_eq!(check(wrong), VatCheck::Wrong, "{wrong}");
        }
    }

    #[test]
    fn what_is_not_known_is_not_called_wrong() {
        for number in [
            "GBGD001",
            "RO1234567890123",
            "CZ123456789",
            "BG1234567890",
            "LV01234567890",
            "FRXX123456789",
            "IE8A12345I",
            "NO123456785MVA",
            "US123456",
        ] {
            assert_eq!(check(number), VatCheck::Unknown, "{number}");
        }
    }
}
