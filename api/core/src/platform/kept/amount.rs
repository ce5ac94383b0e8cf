//! Amounts of money: `{"amount": "123.45", "currency": "EUR"}`, and their display form.

use baywright_domain::money::{Currency, Money};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::platform::refusal::Refused;

/// Amount of money in the currency's major unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Amount {
    /// Decimal number with at most as many decimals as the currency has, such as `12.50`.
    amount: String,
    /// Currency code, ISO 4217.
    currency: String,
}

impl Amount {
    /// The amount as it goes out.
    pub fn of(money: Money, currency: Currency) -> Self {
        Self { amount: money.to_major(currency), currency: currency.code().to_owned() }
    }

    /// An amount as somebody wrote it: a number in the currency's major unit, and the currency's code.
    pub fn written(number: String, currency: String) -> Self {
        Self { amount: number, currency }
    }

    /// The amount in its currency's minor unit.
    ///
    /// # Errors
    /// A sentence, if it is in another currency than `currency` or its text is no amount.
    pub fn money(&self, currency: Currency) -> Result<Money, String> {
        if self.currency != currency.code() {
            return Err(format!("an amount is in {} instead of {}", self.currency, currency.code()));
        }
        Money::parse(&self.amount, currency).map_err(|error| error.to_string())
    }

    /// The amount in a request, in the shop's currency; `pointer` is its position in the request.
    ///
    /// # Errors
    /// `Invalid` at that pointer, for another currency or text that is no amount.
    pub fn sent(&self, currency: Currency, pointer: &str) -> Result<Money, Refused> {
        if self.currency != currency.code() {
            let detail = format!("This shop's amounts are in {}.", currency.code());
            return Err(Refused::field(format!("{pointer}/currency"), "other_currency", detail));
        }
        Money::parse(&self.amount, currency)
            .map_err(|error| Refused::field(format!("{pointer}/amount"), "not_an_amount", format!("{error}.")))
    }

    /// The same, for amounts that must not be negative.
    ///
    /// # Errors
    /// `Invalid` at that pointer.
    pub fn sent_positive(&self, currency: Currency, pointer: &str) -> Result<Money, Refused> {
        let money = self.sent(currency, pointer)?;
        if money.is_negative() {
            return Err(Refused::field(format!("{pointer}/amount"), "negative", "Write an amount of 0 or more."));
        }
        Ok(money)
    }

    /// Its number, in the currency's major unit, and its currency's code.
    pub fn into_parts(self) -> (String, String) {
        (self.amount, self.currency)
    }

    /// Whether it is zero.
    pub fn is_zero(&self) -> bool {
        is_zero(&self.amount)
    }

    /// Code of its currency.
    pub fn currency(&self) -> &str {
        &self.currency
    }

    /// The display form of an amount that is added to another: `+EUR 9.83`, `−EUR 9.83`.
    pub fn more(&self) -> String {
        if self.amount.starts_with('-') || self.is_zero() { self.to_string() } else { format!("+{self}") }
    }

    /// The display form of an amount that is deducted: `−EUR 9.83`.
    pub fn less(&self) -> String {
        said_less(&self.currency, &self.amount)
    }

    /// The display form of a price in this amount's currency, with at least as many decimals as the currency has: unit
    /// prices may have more, such as `EUR 0.085`.
    pub fn price(&self, number: Decimal) -> String {
        let decimals = self.amount.split_once('.').map_or(0, |(_, part)| part.len());
        let mut number = number.normalize();
        number.rescale(number.scale().max(u32::try_from(decimals).unwrap_or_default()));
        said(&self.currency, &number.to_string())
    }
}

impl std::fmt::Display for Amount {
    /// The display form: `EUR 123.45`, `−EUR 17.54`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&said(&self.currency, &self.amount))
    }
}

/// The display form of an amount in the currency's major unit, used everywhere: the currency's code before the number,
/// a comma between thousands, and a minus sign (U+2212, which is as wide as a digit and is never taken for a hyphen)
/// before both.
pub fn said(currency: &str, number: &str) -> String {
    match number.strip_prefix('-') {
        Some(below) => format!("\u{2212}{currency} {}", grouped(below)),
        None => format!("{currency} {}", grouped(number)),
    }
}

/// A number without a sign, with a comma between thousands: `1,234,567.89`.
fn grouped(number: &str) -> String {
    let (whole, rest) = number.split_at(number.find('.').unwrap_or(number.len()));
    let mut text = String::with_capacity(number.len() + 4);
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text + rest
}

/// The same for an amount that is deducted: deducting a negative amount adds it.
pub fn said_less(currency: &str, number: &str) -> String {
    match number.strip_prefix('-') {
        Some(below) => said(currency, below),
        None if is_zero(number) => said(currency, number),
        None => said(currency, &format!("-{number}")),
    }
}

fn is_zero(number: &str) -> bool {
    number.chars().all(|c| matches!(c, '0' | '.' | '-'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amount_is_said_in_one_way_with_a_minus_sign_before_the_currency() {
        let eur = |minor| Amount::of(Money::from_minor(minor), Currency::EUR);
        let said: Vec<String> = [17_480, -1_754, -5, 0].map(|minor| eur(minor).to_string()).to_vec();
        assert_eq!(said, ["EUR 174.80", "−EUR 17.54", "−EUR 0.05", "EUR 0.00"]);
        let large: Vec<String> = [123_456_789, 100_000, -99_999].map(|minor| eur(minor).to_string()).to_vec();
        assert_eq!(large, ["EUR 1,234,567.89", "EUR 1,000.00", "−EUR 999.99"]);
        let more: Vec<String> = [983, -146, 0].map(|minor| eur(minor).more()).to_vec();
        assert_eq!(more, ["+EUR 9.83", "−EUR 1.46", "EUR 0.00"]);
        let less: Vec<String> = [983, -146, 0].map(|minor| eur(minor).less()).to_vec();
        assert_eq!(less, ["−EUR 9.83", "EUR 1.46", "EUR 0.00"]);
        let yen = Amount::of(Money::from_minor(-500), Currency::of("JPY").unwrap());
        assert_eq!(yen.to_string(), "−JPY 500");
        let price = |text: &str| eur(0).price(text.parse().unwrap());
        assert_eq!([price("90"), price("1.5"), price("0.0850")], ["EUR 90.00", "EUR 1.50", "EUR 0.085"]);
        assert_eq!(yen.price("80".parse().unwrap()), "JPY 80");
    }
}
