//! Decimal numbers as text, so that the canonical form represents them exactly.

use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A decimal number written as text, such as `"0.85"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Number(pub Decimal);

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.collect_str(&self.0.normalize())
    }
}

impl<'de> Deserialize<'de> for Number {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        String::deserialize(reader)?.parse().map(Self).map_err(serde::de::Error::custom)
    }
}
