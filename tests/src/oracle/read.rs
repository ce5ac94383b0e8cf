//! Reading what several kinds of case have in common.

use std::fmt::Display;

use baywright_domain::money::{Currency, Money, Percent, read_decimal};
use rust_decimal::Decimal;

use super::Answer;

/// Puts the place in front of a refusal.
pub fn at<E: Display>(place: &str) -> impl Fn(E) -> String {
    move |refusal| format!("{place}: {refusal}")
}

/// A plain decimal number.
pub fn decimal(text: &str, place: &str) -> Answer<Decimal> {
    read_decimal(text).map_err(at(place))
}

/// A percentage.
pub fn percent(text: &str, place: &str) -> Answer<Percent> {
    Percent::new(decimal(text, place)?).map_err(at(place))
}

/// An amount in the currency's major unit; nothing where it is not given.
pub fn money(text: Option<&str>, currency: Currency, place: &str) -> Answer<Money> {
    text.map_or(Ok(Money::ZERO), |text| Money::parse(text, currency).map_err(at(place)))
}
