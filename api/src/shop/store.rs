//! Rows of the shop and its settings.

pub(super) mod bay;
pub(super) mod hours;
pub(super) mod profile;
pub(super) mod rates;
pub(super) mod tax;
pub(super) mod terms;

use baywright_domain::word::UnknownWord;
use rust_decimal::Decimal;

use crate::platform::fail::{DbError, Stored};

/// A stored word, read back.
fn word<T>(read: Result<T, UnknownWord>) -> Stored<T> {
    read.map_err(|unknown| DbError::Corrupt(unknown.to_string()))
}

/// A stored decimal number, read back.
fn decimal(text: &str) -> Stored<Decimal> {
    text.parse().map_err(|_| DbError::Corrupt(format!("decimal number {text:?}")))
}

/// A stored whole number, read back as a smaller one.
fn small<T: TryFrom<i32>>(number: i32) -> Stored<T> {
    T::try_from(number).map_err(|_| DbError::Corrupt(format!("small number {number}")))
}

/// A stored day, read back.
fn day(text: &str) -> Stored<chrono::NaiveDate> {
    text.parse().map_err(|_| DbError::Corrupt(format!("day {text:?}")))
}

/// A stored text that may be empty.
fn some(text: String) -> Option<String> {
    (!text.is_empty()).then_some(text)
}
