//! Drafts of quotes in requests. Answers contain the stored draft in the same form (`shown.rs`).

use baywright_core::platform::kept::AmountOrPercent;
use baywright_core::quote::kept;
use rust_decimal::Decimal;
use serde::Deserialize;
use utoipa::ToSchema;

use super::words::{ConditionWord, PricesWord, SizeWord};
use crate::platform::wire::{Amount, Code, Line, Number, Reference, Text, at_most, whole_or_null};

/// Content from which a quote is made.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = QuoteDraft)]
#[serde(deny_unknown_fields)]
pub struct QuoteDraftBody {
    /// Id of the completed inspection that states the condition and the recorded damage; null or left out if there is
    /// none, in which case give the condition.
    #[serde(default)]
    inspection_id: Option<Reference>,
    /// Size class, if it differs from the vehicle's record; null or left out otherwise.
    #[serde(default)]
    size_class: Option<SizeWord>,
    /// Condition class, if there is no inspection; null or left out otherwise.
    #[serde(default)]
    condition: Option<ConditionWord>,
    /// Price display, before tax (`NET`) or with tax (`GROSS`); null or left out for the customer's usual one.
    #[serde(default)]
    prices: Option<PricesWord>,
    /// Lines of the quote.
    #[serde(deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60)]
    lines: Vec<DraftLineBody>,
    /// Discounts on the whole quote, independent of the customer's choices.
    #[serde(default, deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20, required = false)]
    discounts: Vec<DraftDiscountBody>,
    /// Deposit; null or left out for the shop's usual one, 0 percent for none.
    #[serde(default)]
    deposit: Option<DraftSizeBody>,
    /// Note of the studio in its own words.
    #[serde(default)]
    #[schema(required = false)]
    notes: Text<4000>,
    /// Days for which the quote is valid; null or left out for the shop's usual number.
    #[serde(default, deserialize_with = "whole_or_null::<1, 365, _>")]
    #[schema(minimum = 1, maximum = 365)]
    valid_days: Option<u32>,
}

/// Line of a draft.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = DraftLine)]
#[serde(deny_unknown_fields)]
pub struct DraftLineBody {
    /// Service, package or custom item of the line.
    item: DraftItemBody,
    /// Quantity of the line; 1 if left out.
    #[serde(default = "one")]
    #[schema(required = false)]
    quantity: Number,
    /// Whether the line is required; else the customer may choose it.
    #[serde(default = "yes")]
    #[schema(required = false)]
    required: bool,
    /// Code of the line's tax, as in the shop's settings; null or left out for the tax of the service.
    #[serde(default)]
    tax: Option<Code>,
    /// Discount on the line; null or left out for none.
    #[serde(default)]
    discount: Option<DraftDiscountBody>,
}

/// Service, package or custom item of a line.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = DraftItem)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DraftItemBody {
    /// Code of a service on the menu.
    Service(Code),
    /// Code of a package on the menu.
    Package(Code),
    /// Custom item that is not on the menu.
    Custom(DraftCustomItemBody),
}

/// Custom item that is not on the menu.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = DraftCustomItem)]
#[serde(deny_unknown_fields)]
pub struct DraftCustomItemBody {
    /// Name of the item, as the customer reads it.
    name: Line<200>,
    /// Price of one unit, with or before tax as the quote states prices.
    price: Amount,
}

/// Discount with its reason.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = DraftDiscount)]
#[serde(deny_unknown_fields)]
pub struct DraftDiscountBody {
    /// Size of the discount: an amount or a percentage.
    off: DraftSizeBody,
    /// Reason for the discount, as the customer reads it.
    reason: Line<200>,
}

/// Amount of money or a percentage.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = DraftSize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DraftSizeBody {
    /// Amount of money, with or before tax as the quote states prices; a deposit is always with tax.
    Amount(Amount),
    /// Percentage from 0 to 100.
    Percent(Number),
}

fn one() -> Number {
    Number(Decimal::ONE)
}

fn yes() -> bool {
    true
}

impl From<QuoteDraftBody> for kept::QuoteDraft {
    fn from(sent: QuoteDraftBody) -> Self {
        Self {
            inspection_id: sent.inspection_id.map(String::from),
            size_class: sent.size_class.map(Into::into),
            condition: sent.condition.map(Into::into),
            prices: sent.prices.map(Into::into),
            lines: sent.lines.into_iter().map(kept::DraftLine::from).collect(),
            discounts: sent.discounts.into_iter().map(kept::DraftDiscount::from).collect(),
            deposit: sent.deposit.map(AmountOrPercent::from),
            notes: sent.notes.into_string(),
            valid_days: sent.valid_days,
        }
    }
}

impl From<DraftLineBody> for kept::DraftLine {
    fn from(sent: DraftLineBody) -> Self {
        Self {
            item: sent.item.into(),
            quantity: sent.quantity.into(),
            required: sent.required,
            tax: sent.tax.map(String::from),
            discount: sent.discount.map(kept::DraftDiscount::from),
        }
    }
}

impl From<DraftItemBody> for kept::DraftItem {
    fn from(sent: DraftItemBody) -> Self {
        match sent {
            DraftItemBody::Service(code) => Self::Service(code.into_string()),
            DraftItemBody::Package(code) => Self::Package(code.into_string()),
            DraftItemBody::Custom(DraftCustomItemBody { name, price }) => {
                Self::Custom(kept::DraftCustomItem { name: name.into_string(), price: price.into() })
            }
        }
    }
}

impl From<DraftDiscountBody> for kept::DraftDiscount {
    fn from(sent: DraftDiscountBody) -> Self {
        Self { off: sent.off.into(), reason: sent.reason.into_string() }
    }
}

impl From<DraftSizeBody> for AmountOrPercent {
    fn from(sent: DraftSizeBody) -> Self {
        match sent {
            DraftSizeBody::Amount(amount) => Self::Amount(amount.into()),
            DraftSizeBody::Percent(number) => Self::Percent(number.into()),
        }
    }
}
