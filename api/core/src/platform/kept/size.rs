//! An amount or a percentage, in the two forms that documents use.

use baywright_domain::money::{Currency, Money, Percent};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Amount, Number};

/// An amount of money or a percentage, of a discount or a deposit. By itself it is written as one field, `{"amount":
/// …}` or `{"percent": "10"}`; [`as_fields`] writes both.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AmountOrPercent {
    /// Amount of money.
    Amount(Amount),
    /// Number of percent.
    Percent(Number),
}

impl AmountOrPercent {
    /// An amount of the rules.
    pub fn of_amount(amount: Money, currency: Currency) -> Self {
        Self::Amount(Amount::of(amount, currency))
    }

    /// A percentage of the rules.
    pub fn of_percent(percent: Percent) -> Self {
        Self::Percent(Number(percent.decimal()))
    }

    /// The amount and the percentage, of which exactly one is present.
    pub fn into_parts(self) -> (Option<Amount>, Option<Number>) {
        match self {
            Self::Amount(amount) => (Some(amount), None),
            Self::Percent(number) => (None, Some(number)),
        }
    }
}

/// As two fields of the document that holds it, one of which is null; for
/// `#[serde(flatten, with = "crate::platform::kept::as_fields")]`.
pub mod as_fields {
    use super::{Amount, AmountOrPercent, Deserialize, Deserializer, Number, Serialize, Serializer};

    #[derive(Serialize)]
    struct Written<'a> {
        amount: Option<&'a Amount>,
        percent: Option<Number>,
    }

    #[derive(Deserialize)]
    struct Read {
        amount: Option<Amount>,
        percent: Option<Number>,
    }

    /// Writes both fields.
    ///
    /// # Errors
    /// Error of the serialiser.
    pub fn serialize<S: Serializer>(size: &AmountOrPercent, writer: S) -> Result<S::Ok, S::Error> {
        let written = match size {
            AmountOrPercent::Amount(amount) => Written { amount: Some(amount), percent: None },
            AmountOrPercent::Percent(number) => Written { amount: None, percent: Some(*number) },
        };
        written.serialize(writer)
    }

    /// Reads the field that is not null.
    ///
    /// # Errors
    /// If both fields have a value or none has.
    pub fn deserialize<'de, D: Deserializer<'de>>(reader: D) -> Result<AmountOrPercent, D::Error> {
        match Read::deserialize(reader)? {
            Read { amount: Some(amount), percent: None } => Ok(AmountOrPercent::Amount(amount)),
            Read { amount: None, percent: Some(number) } => Ok(AmountOrPercent::Percent(number)),
            _ => Err(serde::de::Error::custom("a size is an amount or a percentage")),
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    #[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
    struct Discount {
        #[serde(flatten, with = "as_fields")]
        size: AmountOrPercent,
        reason: String,
    }

    #[test]
    fn both_ways_of_writing_are_read_back() {
        let amount = AmountOrPercent::of_amount(Money::from_minor(1_250), Currency::EUR);
        let percent = AmountOrPercent::Percent(Number("7.5".parse().unwrap()));
        let eur = json!({ "amount": "12.50", "currency": "EUR" });
        assert_eq!(serde_json::to_value(&amount).unwrap(), json!({ "amount": eur }));
        assert_eq!(serde_json::to_value(&percent).unwrap(), json!({ "percent": "7.5" }));
        for (size, fields) in [
            (amount, json!({ "amount": eur, "percent": null, "reason": "r" })),
            (percent, json!({ "amount": null, "percent": "7.5", "reason": "r" })),
        ] {
            let alone: Value = serde_json::to_value(&size).unwrap();
            assert_eq!(serde_json::from_value::<AmountOrPercent>(alone).unwrap(), size);
            let discount = Discount { size, reason: "r".to_owned() };
            assert_eq!(serde_json::to_value(&discount).unwrap(), fields);
            assert_eq!(serde_json::from_value::<Discount>(fields).unwrap(), discount);
        }
        let none = json!({ "amount": null, "percent": null, "reason": "r" });
        assert!(serde_json::from_value::<Discount>(none).is_err());
    }
}
