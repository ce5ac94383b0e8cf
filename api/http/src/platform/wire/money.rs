//! Amounts of money: `{"amount": "123.45", "currency": "EUR"}`.

use baywright_core::platform::kept;
use baywright_core::platform::refusal::Refused;
use baywright_domain::money::{Currency, Money};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Amount of money in the currency's major unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Amount {
    /// Decimal number with at most as many decimals as the currency has, such as `12.50`.
    #[schema(min_length = 1, max_length = 16, pattern = r"^-?[0-9]{1,9}(\.[0-9]{1,2})?$", example = "123.45")]
    amount: String,
    /// Currency code, ISO 4217; in a request it must be the shop's currency.
    #[schema(min_length = 3, max_length = 3, pattern = "^[A-Z]{3}$", example = "EUR")]
    currency: String,
}

impl Amount {
    /// The amount as it goes out.
    pub fn of(money: Money, currency: Currency) -> Self {
        Self { amount: money.to_major(currency), currency: currency.code().to_owned() }
    }

    /// The amount in the shop's currency; `pointer` is its position in the body.
    ///
    /// # Errors
    /// 422 at that pointer, for another currency or text that is no amount.
    pub fn money(&self, currency: Currency, pointer: &str) -> Result<Money, Refused> {
        kept::Amount::from(self.clone()).sent(currency, pointer)
    }

    /// The same, for amounts that must not be negative.
    ///
    /// # Errors
    /// 422 at that pointer.
    pub fn positive(&self, currency: Currency, pointer: &str) -> Result<Money, Refused> {
        kept::Amount::from(self.clone()).sent_positive(currency, pointer)
    }
}

impl From<Amount> for kept::Amount {
    fn from(amount: Amount) -> Self {
        Self::written(amount.amount, amount.currency)
    }
}

impl From<kept::Amount> for Amount {
    fn from(kept: kept::Amount) -> Self {
        let (amount, currency) = kept.into_parts();
        Self { amount, currency }
    }
}
