//! Numbers and times of day as people write them: `1.250,50`, `1,250.50`, `12:30`.

use baywright_domain::money::{Currency, Money, read_decimal};
use rust_decimal::Decimal;

/// Minutes of a day.
const DAY: u16 = 24 * 60;

/// A number in the spelling of any country, with at most `decimals` decimals.
///
/// The last of points and commas is the decimal sign, and the others group thousands. A single one before three digits
/// groups them too if the number can't have three decimals: `1.250` is more than a thousand euros.
///
/// # Errors
/// A sentence that says how to write it.
pub fn number(text: &str, decimals: u32) -> Result<Decimal, String> {
    let told = || "write a number, such as 12,50 or 1.250,50".to_owned();
    let text: String = text.trim().chars().filter(|c| !is_space(*c)).collect();
    let text = text.replace(['\u{2212}', '\u{2013}'], "-");
    let plain = plain(&text, decimals).ok_or_else(told)?;
    let number = read_decimal(&plain).map_err(|_| told())?;
    if number.normalize().scale() > decimals {
        return Err(match decimals {
            0 => "write a whole number".to_owned(),
            1 => "use at most one decimal".to_owned(),
            _ => format!("use at most {decimals} decimals"),
        });
    }
    Ok(number)
}

/// An amount of money in the spelling of any country, with or without the currency's code.
///
/// # Errors
/// As [`number`], and if the amount is below nothing or too large.
pub fn amount(text: &str, currency: Currency) -> Result<Money, String> {
    let upper = text.trim().to_uppercase();
    let bare = upper.strip_prefix(currency.code()).or_else(|| upper.strip_suffix(currency.code())).unwrap_or(&upper);
    let number = number(bare, currency.decimals())?;
    if number.is_sign_negative() && !number.is_zero() {
        return Err("write an amount that is not below 0".to_owned());
    }
    Money::parse(&number.normalize().to_string(), currency).map_err(|error| error.to_string())
}

/// A time of day as minutes after midnight: `12:30`, `12.30`, `1230`, `12 h 30` or `9`.
///
/// # Errors
/// A sentence that says how to write it.
pub fn minute_of_day(text: &str) -> Result<u16, String> {
    let told = || "write a time from 00:00 to 23:59, such as 8:30".to_owned();
    let text: String = text.trim().to_lowercase().chars().filter(|c| !is_space(*c)).collect();
    let text = text.trim_end_matches('h');
    let (hour, minute) = match text.split_once([':', '.', 'h']) {
        Some((hour, minute)) if minute.len() == 2 => (hour, minute),
        Some(_) => return Err(told()),
        None if text.len() > 2 && text.is_ascii() => text.split_at(text.len() - 2),
        None => (text, "0"),
    };
    let digits = |part: &str| (1..=2).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(hour) || !digits(minute) {
        return Err(told());
    }
    let (hour, minute): (u16, u16) = (hour.parse().map_err(|_| told())?, minute.parse().map_err(|_| told())?);
    let at = hour * 60 + minute;
    if minute < 60 && at < DAY { Ok(at) } else { Err(told()) }
}

/// The time of day at which hours end, which may be midnight at the end of the day: `24:00`.
///
/// # Errors
/// As [`minute_of_day`].
pub fn closing_minute(text: &str) -> Result<u16, String> {
    if matches!(text.trim(), "24:00" | "24.00" | "2400" | "24") { Ok(DAY) } else { minute_of_day(text) }
}

/// Blanks of all widths, and the apostrophes that group thousands in some countries.
fn is_space(c: char) -> bool {
    c.is_whitespace() || matches!(c, '\'' | '\u{2019}')
}

/// The number with a point before its decimals and without groups, or `None` if points and commas contradict each other.
fn plain(text: &str, decimals: u32) -> Option<String> {
    let last = text.rfind(['.', ',']);
    let Some(at) = last else { return Some(text.to_owned()) };
    let (before, after) = (&text[..at], &text[at + 1..]);
    let sign = &text[at..=at];
    let other = if sign == "." { "," } else { "." };
    if before.contains(sign) {
        // The same sign several times groups, so there are no decimals.
        return (!text.contains(other)).then(|| ungrouped(text, sign)).flatten();
    }
    if before.contains(other) {
        return ungrouped(before, other).map(|whole| format!("{whole}.{after}"));
    }
    if after.len() == 3 && decimals < 3 && before.trim_start_matches('-') != "0" {
        return ungrouped(text, sign);
    }
    Some(format!("{before}.{after}"))
}

/// The number without the sign that groups its thousands, if every group but the first has three digits.
fn ungrouped(text: &str, sign: &str) -> Option<String> {
    let mut groups = text.split(sign);
    let first = groups.next()?.trim_start_matches('-');
    let fits = (1..=3).contains(&first.len()) && groups.all(|group| group.len() == 3);
    fits.then(|| text.replace(sign, ""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_in_the_spelling_of_any_country() {
        for (text, plain) in [
            ("1.250,50", "1250.50"),
            ("1,250.50", "1250.50"),
            ("1 250,50", "1250.50"),
            ("1\u{202f}250,50", "1250.50"),
            ("1\u{2019}250.50", "1250.50"),
            ("1.250", "1250"),
            ("1,250", "1250"),
            ("1.250.000", "1250000"),
            ("12,5", "12.5"),
            ("12.5", "12.5"),
            (" 60 ", "60"),
            ("-3,20", "-3.20"),
            ("\u{2212}3", "-3"),
        ] {
            assert_eq!(number(text, 2).map(|number| number.to_string()).as_deref(), Ok(plain), "{text}");
        }
        assert_eq!(number("0,125", 4).unwrap().to_string(), "0.125");
        assert_eq!(number("1,250", 4).unwrap().to_string(), "1.250");
        for bad in ["", "x", "1,2,3", "1.25.000", "1,250,00", "1..2", "12,", ",5", "1.2,3.4", "0,125", "1e3"] {
            assert!(number(bad, 2).is_err(), "{bad}");
        }
    }

    #[test]
    fn an_amount_may_name_its_currency_and_is_never_below_nothing() {
        for text in ["EUR 1.250,50", "1.250,50 eur", "1250.5"] {
            assert_eq!(amount(text, Currency::EUR), Ok(Money::from_minor(125_050)), "{text}");
        }
        assert!(amount("-1", Currency::EUR).is_err() && amount("USD 5", Currency::EUR).is_err());
        assert_eq!(amount("0", Currency::EUR), Ok(Money::ZERO));
    }

    #[test]
    fn a_time_of_day_is_read_however_it_is_divided() {
        for (text, minutes) in
            [("12:30", 750), ("8.05", 485), ("0830", 510), ("830", 510), ("9", 540), ("12 h 30", 750)]
        {
            assert_eq!(minute_of_day(text), Ok(minutes), "{text}");
        }
        assert_eq!(minute_of_day("17h"), Ok(17 * 60));
        assert_eq!((closing_minute(" 24:00"), closing_minute("17:30")), (Ok(DAY), Ok(1050)));
        for bad in ["", "24:00", "12:60", "12:3", "noon", "-1:00", "12:30:00", "ä30"] {
            assert!(minute_of_day(bad).is_err(), "{bad}");
        }
    }
}
