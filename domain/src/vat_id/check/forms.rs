//! Countries that give numbers of several forms, to businesses, branches and people. A form whose check is not known here
//! is not checked.

use alloc::format;

use super::{VatCheck, digits, luhn, value, weighted};

fn checked(right: bool) -> VatCheck {
    if right { VatCheck::Right } else { VatCheck::Wrong }
}

/// The old form has two digits before the nine of the business; a newer one with letters there is not checked.
pub(super) fn france(number: &str) -> VatCheck {
    let Some((key, business)) = number.split_at_checked(2) else { return VatCheck::Wrong };
    let Some(business) = digits::<9>(business) else { return VatCheck::Wrong };
    let Some(key) = digits::<2>(key) else { return VatCheck::Unknown };
    // Numbers of Monaco have three zeros and no digit by Luhn's formula.
    let business_is_right = if value(&business[..3]) == 0 { value(&business) > 0 } else { luhn(&business) };
    let right = business_is_right && (12 + 3 * (value(&business) % 97)) % 97 == value(&key);
    checked(right)
}

/// Seven digits and one or two letters; an old form with a letter or a sign as its second character is not checked.
pub(super) fn ireland(number: &str) -> VatCheck {
    let Some((start, letters)) = number.split_at_checked(7) else { return VatCheck::Wrong };
    let Some(d) = digits::<7>(start) else {
        return if number.len() == 8 { VatCheck::Unknown } else { VatCheck::Wrong };
    };
    // `W` counts as nothing, `A` as 1.
    let worth = |letter: u8| if letter == b'W' { 0 } else { u32::from(letter - b'A') + 1 };
    let second = match letters.as_bytes() {
        [first, rest @ ..] if first.is_ascii_uppercase() && rest.iter().all(u8::is_ascii_uppercase) => match rest {
            [] => 0,
            [second] => worth(*second),
            _ => return VatCheck::Wrong,
        },
        _ => return VatCheck::Wrong,
    };
    let sum = (weighted(&d, &[8, 7, 6, 5, 4, 3, 2]) + 9 * second) % 23;
    let expected = b"WABCDEFGHIJKLMNOPQRSTUV"[sum as usize % 23];
    checked(letters.as_bytes()[0] == expected)
}

/// Nine digits of the business, and three more for a branch. Numbers of the government and of health authorities, with
/// letters, are not checked.
pub(super) fn britain(number: &str) -> VatCheck {
    if number.starts_with("GD") || number.starts_with("HA") {
        return VatCheck::Unknown;
    }
    let Some((business, branch)) = number.split_at_checked(9) else { return VatCheck::Wrong };
    let Some(d) = digits::<9>(business) else { return VatCheck::Wrong };
    if !branch.is_empty() && digits::<3>(branch).is_none() {
        return VatCheck::Wrong;
    }
    let rest = weighted(&d, &[8, 7, 6, 5, 4, 3, 2, 10, 1]) % 97;
    // Since 2010 there is a second series, whose check digits differ by 55.
    let second_series = value(&d[..3]) >= 100 && matches!(rest, 42 | 55);
    checked(value(&d[..7]) > 0 && (rest == 0 || second_series))
}

/// A person's number ends with a letter by 23; a company's starts with the letter of its kind and ends with a digit by
/// Luhn's formula, or the letter in its place. Which kinds have the letter is not checked.
pub(super) fn spain(number: &str) -> VatCheck {
    const LETTERS: &[u8; 23] = b"TRWAGMYFPDXBNJZSQVHLCKE";
    const COMPANIES: &[u8; 17] = b"ABCDEFGHJNPQRSUVW";
    let &[first, .., last] = number.as_bytes() else { return VatCheck::Wrong };
    let Some(d) = number.get(1..8).and_then(digits::<7>).filter(|_| number.len() == 9) else { return VatCheck::Wrong };
    let person = match first {
        b'0'..=b'9' => Some(u64::from(first - b'0')),
        b'K' | b'L' | b'M' | b'X' => Some(0),
        b'Y' => Some(1),
        b'Z' => Some(2),
        _ => None,
    };
    if let Some(lead) = person {
        let rest = (lead * 10_000_000 + value(&d)) % 23;
        return checked(LETTERS.iter().zip(0..).any(|(letter, at)| (*letter, at) == (last, rest)));
    }
    let check = match last {
        b'0'..=b'9' => last - b'0',
        b'A'..=b'I' => last - b'A' + 1,
        b'J' => 0,
        _ => return VatCheck::Wrong,
    };
    let mut whole = [0; 8];
    whole[..7].copy_from_slice(&d);
    whole[7] = u32::from(check);
    checked(COMPANIES.contains(&first) && luhn(&whole))
}

/// Two to ten digits of a business; the 13 digits of a person are not checked.
pub(super) fn romania(number: &str) -> VatCheck {
    if digits::<13>(number).is_some() {
        return VatCheck::Unknown;
    }
    // Zeros go before a shorter number.
    let Some(d) = digits::<10>(&format!("{number:0>10}")) else { return VatCheck::Wrong };
    let check = weighted(&d[..9], &[7, 5, 3, 2, 1, 7, 5, 3, 2]) * 10 % 11 % 10;
    checked(number.len() >= 2 && !number.starts_with('0') && check == d[9])
}

/// Eight digits of a company; the nine or ten digits of a person are not checked.
pub(super) fn czechia(number: &str) -> VatCheck {
    if digits::<9>(number).is_some() || digits::<10>(number).is_some() {
        return VatCheck::Unknown;
    }
    checked(digits::<8>(number).is_some_and(|d| {
        let check = match 11 - weighted(&d[..7], &[8, 7, 6, 5, 4, 3, 2]) % 11 {
            11 => 1,
            other => other % 10,
        };
        d[0] != 9 && check == d[7]
    }))
}

/// Ten digits that are divisible by 11. A number that could only be a person's number of birth is not called right or wrong.
pub(super) fn slovakia(number: &str) -> VatCheck {
    let Some(d) = digits::<10>(number) else { return VatCheck::Wrong };
    let rest = value(&d[..9]) % 11;
    if rest == u64::from(d[9]) {
        let of_business = d[0] != 0 && matches!(d[2], 2..=4 | 7..=9);
        return if of_business { VatCheck::Right } else { VatCheck::Unknown };
    }
    // Until 1985 numbers of birth with a rest of 10 were given as well; they end with 0.
    if rest == 10 && d[9] == 0 { VatCheck::Unknown } else { VatCheck::Wrong }
}

/// Nine digits of a business; the ten digits of a person are not checked.
pub(super) fn bulgaria(number: &str) -> VatCheck {
    if digits::<10>(number).is_some() {
        return VatCheck::Unknown;
    }
    checked(digits::<9>(number).is_some_and(|d| {
        let check = match weighted(&d[..8], &[1, 2, 3, 4, 5, 6, 7, 8]) % 11 {
            10 => weighted(&d[..8], &[3, 4, 5, 6, 7, 8, 9, 10]) % 11 % 10,
            first => first,
        };
        value(&d) > 0 && check == d[8]
    }))
}

/// Nine digits of a business, or twelve of one that is registered for a time.
pub(super) fn lithuania(number: &str) -> VatCheck {
    let right = |d: &[u32]| {
        let Some((last, others)) = d.split_last() else { return false };
        let check = match weighted(others, &[1, 2, 3, 4, 5, 6, 7, 8, 9, 1, 2]) % 11 {
            10 => weighted(others, &[3, 4, 5, 6, 7, 8, 9, 1, 2, 3, 4]) % 11 % 10,
            first => first,
        };
        others.last() == Some(&1) && check == *last
    };
    checked(digits::<9>(number).is_some_and(|d| right(&d)) || digits::<12>(number).is_some_and(|d| right(&d)))
}

/// Eleven digits, of which a business's begin with 4 or more; those of a person are not checked.
pub(super) fn latvia(number: &str) -> VatCheck {
    let Some(d) = digits::<11>(number) else { return VatCheck::Wrong };
    if d[0] < 4 {
        return VatCheck::Unknown;
    }
    checked(weighted(&d, &[9, 1, 4, 8, 3, 10, 2, 5, 7, 6, 1]) % 11 == 3)
}
