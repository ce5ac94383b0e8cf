//! Decimal numbers as strings, so that no client's floating point changes them.

use baywright_core::platform::kept;
use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{described, string};

/// A decimal number written as a string: up to 9 digits before the point and 6 after, such as `"0.85"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Number(pub Decimal);

const PATTERN: &str = r"^-?[0-9]{1,9}(\.[0-9]{1,6})?$";

impl Number {
    /// Reads the text.
    ///
    /// # Errors
    /// A sentence that says what it must look like.
    pub fn parse(text: &str) -> Result<Self, String> {
        let digits = text.strip_prefix('-').unwrap_or(text);
        let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
        let all = |s: &str| s.chars().all(|c| c.is_ascii_digit());
        let fine = (1..=9).contains(&whole.len()) && (1..=6).contains(&part.len()) && all(whole) && all(part);
        fine.then(|| text.parse().ok()).flatten().map(Self).ok_or_else(|| {
            "write the number as text with a point, such as \"0.85\", with at most 6 decimals".to_owned()
        })
    }
}

impl From<Number> for kept::Number {
    fn from(Number(number): Number) -> Self {
        Self(number)
    }
}

impl From<kept::Number> for Number {
    fn from(kept::Number(number): kept::Number) -> Self {
        Self(number)
    }
}

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.collect_str(&self.0.normalize())
    }
}

impl<'de> Deserialize<'de> for Number {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(reader)?).map_err(serde::de::Error::custom)
    }
}

described!([] Number, "Number", string().min_length(Some(1)).max_length(Some(17)).pattern(Some(PATTERN))
    .examples(["0.85"]).build());
