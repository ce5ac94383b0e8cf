//! A draft as the desk writes it: what is kept until it is sent.

use baywright_domain::document::{Discount, DiscountSize};
use baywright_domain::id::InspectionId;
use baywright_domain::invoice::DepositSize;
use baywright_domain::menu::Code as MenuCode;
use baywright_domain::money::{Currency, Percent};
use baywright_domain::pricing::{Choice, Item, LineDiscount, Off};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::words::{ConditionWord, PricesWord, SizeWord};
use crate::http::wire::{Amount, Code, Line, Number, Reference, Text, at_most, whole_or_null};
use crate::platform::fail::DbError;
use crate::platform::refusal::Refused;

/// Content from which a quote is made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteDraft {
    /// Id of the completed inspection that states the condition and the recorded damage; null or left out if there is
    /// none, in which case give the condition.
    #[serde(default)]
    pub inspection_id: Option<Reference>,
    /// Size class, if it differs from the vehicle's record; null or left out otherwise.
    #[serde(default)]
    pub size_class: Option<SizeWord>,
    /// Condition class, if there is no inspection; null or left out otherwise.
    #[serde(default)]
    pub condition: Option<ConditionWord>,
    /// Price display, before tax (`NET`) or with tax (`GROSS`); null or left out for the customer's usual one.
    #[serde(default)]
    pub prices: Option<PricesWord>,
    /// Lines of the quote.
    #[serde(deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60)]
    pub lines: Vec<DraftLine>,
    /// Discounts on the whole quote, independent of the customer's choices.
    #[serde(default, deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20, required = false)]
    pub discounts: Vec<DraftDiscount>,
    /// Deposit; null or left out for the shop's usual one, 0 percent for none.
    #[serde(default)]
    pub deposit: Option<DraftSize>,
    /// Note of the studio in its own words.
    #[serde(default)]
    #[schema(required = false)]
    pub notes: Text<4000>,
    /// Days for which the quote is valid; null or left out for the shop's usual number.
    #[serde(default, deserialize_with = "whole_or_null::<1, 365, _>")]
    #[schema(minimum = 1, maximum = 365)]
    pub valid_days: Option<u32>,
}

/// Line of a draft.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftLine {
    /// Service, package or custom item of the line.
    pub item: DraftItem,
    /// Quantity of the line; 1 if left out.
    #[serde(default = "one")]
    #[schema(required = false)]
    pub quantity: Number,
    /// Whether the line is required; else the customer may choose it.
    #[serde(default = "yes")]
    #[schema(required = false)]
    pub required: bool,
    /// Code of the line's tax, as in the shop's settings; null or left out for the tax of the service.
    #[serde(default)]
    pub tax: Option<Code>,
    /// Discount on the line; null or left out for none.
    #[serde(default)]
    pub discount: Option<DraftDiscount>,
}

/// Service, package or custom item of a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DraftItem {
    /// Code of a service on the menu.
    Service(Code),
    /// Code of a package on the menu.
    Package(Code),
    /// Custom item that is not on the menu.
    Typed(DraftTyped),
}

/// Custom item that is not on the menu.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftTyped {
    /// Name of the item, as the customer reads it.
    pub name: Line<200>,
    /// Price of one unit, with or before tax as the quote states prices.
    pub price: Amount,
}

/// Discount with its reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftDiscount {
    /// Size of the discount: an amount or a percentage.
    pub off: DraftSize,
    /// Reason for the discount, as the customer reads it.
    pub reason: Line<200>,
}

/// Amount of money or a percentage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DraftSize {
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

impl QuoteDraft {
    /// Reads a kept draft.
    ///
    /// # Errors
    /// Where the text is none that this program wrote.
    pub fn parse(text: &str) -> Result<Self, DbError> {
        serde_json::from_str(text).map_err(|error| DbError::Corrupt(format!("a draft: {error}")))
    }

    /// The inspection it names.
    pub fn inspection(&self) -> Option<InspectionId> {
        self.inspection_id.as_ref().map(|id| InspectionId::new(id.as_str()))
    }

    /// Its lines as the rules take them.
    ///
    /// # Errors
    /// 422 that points at the faulty value.
    pub fn choices(&self, currency: Currency) -> Result<Vec<Choice>, Refused> {
        self.lines.iter().enumerate().map(|(at, line)| line.choice(currency, &format!("/lines/{at}"))).collect()
    }

    /// Its discounts on the whole as the rules take them.
    ///
    /// # Errors
    /// 422 that points at the faulty value.
    pub fn document_discounts(&self, currency: Currency) -> Result<Vec<Discount>, Refused> {
        let one = |(at, discount): (usize, &DraftDiscount)| {
            let pointer = format!("/discounts/{at}/off");
            let size = match &discount.off {
                DraftSize::Amount(amount) => {
                    DiscountSize::Amount(amount.positive(currency, &format!("{pointer}/amount"))?)
                }
                DraftSize::Percent(number) => DiscountSize::Percent(percent(*number, &format!("{pointer}/percent"))?),
            };
            Ok(Discount { size, reason: discount.reason.to_string() })
        };
        self.discounts.iter().enumerate().map(one).collect()
    }

    /// The deposit it asks for: the shop's where it says nothing.
    ///
    /// # Errors
    /// 422 that points at the faulty value.
    pub fn deposit_size(&self, currency: Currency, usual: Option<DepositSize>) -> Result<Option<DepositSize>, Refused> {
        match &self.deposit {
            None => Ok(usual),
            Some(DraftSize::Amount(amount)) => {
                let amount = amount.positive(currency, "/deposit/amount")?;
                Ok((!amount.is_zero()).then_some(DepositSize::Amount(amount)))
            }
            Some(DraftSize::Percent(number)) => {
                let percent = percent(*number, "/deposit/percent")?;
                Ok((!percent.is_zero()).then_some(DepositSize::Percent(percent)))
            }
        }
    }
}

impl DraftLine {
    fn choice(&self, currency: Currency, pointer: &str) -> Result<Choice, Refused> {
        let discount = match &self.discount {
            None => None,
            Some(discount) => {
                let off = match &discount.off {
                    DraftSize::Amount(amount) => {
                        Off::Amount(amount.positive(currency, &format!("{pointer}/discount/off/amount"))?)
                    }
                    DraftSize::Percent(number) => Off::Percent(number.0),
                };
                Some(LineDiscount { off, reason: discount.reason.to_string() })
            }
        };
        Ok(Choice {
            item: self.item.read(currency, pointer)?,
            quantity: self.quantity.0,
            discount,
            required: self.required,
        })
    }
}

impl DraftItem {
    fn read(&self, currency: Currency, pointer: &str) -> Result<Item, Refused> {
        let code = |code: &Code, kind: &str| {
            MenuCode::parse(code.as_str())
                .map_err(|error| Refused::field(format!("{pointer}/item/{kind}"), "bad_code", format!("{error}.")))
        };
        Ok(match self {
            Self::Service(text) => Item::Service(code(text, "service")?),
            Self::Package(text) => Item::Package(code(text, "package")?),
            Self::Typed(typed) => Item::Typed {
                name: typed.name.to_string(),
                price: typed.price.positive(currency, &format!("{pointer}/item/typed/price"))?,
            },
        })
    }
}

fn percent(number: Number, pointer: &str) -> Result<Percent, Refused> {
    Percent::new(number.0).map_err(|error| Refused::field(pointer, "not_a_percentage", format!("{error}.")))
}
