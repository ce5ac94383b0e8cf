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
use crate::platform::fail::DbError;
use crate::platform::problem::Problem;
use crate::platform::wire::{Amount, Code, Line, Number, Reference, Text, at_most, whole_or_null};

/// What a quote is made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuoteDraft {
    /// The completed inspection that gives the condition and the damage on record; without one, say the condition.
    #[serde(default)]
    pub inspection_id: Option<Reference>,
    /// The size class, where it is another one than the vehicle's record says.
    #[serde(default)]
    pub size_class: Option<SizeWord>,
    /// The condition, where there is no inspection.
    #[serde(default)]
    pub condition: Option<ConditionWord>,
    /// Prices without tax or with it, where it is not what the customer usually gets.
    #[serde(default)]
    pub prices: Option<PricesWord>,
    /// What is offered.
    #[serde(deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60)]
    pub lines: Vec<DraftLine>,
    /// What is taken off the whole, whatever the customer chooses.
    #[serde(default, deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20, required = false)]
    pub discounts: Vec<DraftDiscount>,
    /// The deposit, where it is not what the shop usually asks for; 0 percent asks for none.
    #[serde(default)]
    pub deposit: Option<DraftSize>,
    /// What the studio adds in its own words.
    #[serde(default)]
    #[schema(required = false)]
    pub notes: Text<4000>,
    /// Days for which it holds, where it is not what the shop usually gives.
    #[serde(default, deserialize_with = "whole_or_null::<1, 365, _>")]
    #[schema(minimum = 1, maximum = 365)]
    pub valid_days: Option<u32>,
}

/// One line of a draft.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftLine {
    /// What it is for.
    pub item: DraftItem,
    /// How many; one where not said.
    #[serde(default = "one")]
    #[schema(required = false)]
    pub quantity: Number,
    /// Whether the quote stands or falls with it; else the customer may tick it.
    #[serde(default = "yes")]
    #[schema(required = false)]
    pub required: bool,
    /// The shop's own name of its tax, where it is not the service's.
    #[serde(default)]
    pub tax: Option<Code>,
    /// A discount on the line.
    #[serde(default)]
    pub discount: Option<DraftDiscount>,
}

/// What a line is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DraftItem {
    /// A service of the menu, by code.
    Service(Code),
    /// A package of the menu, by code.
    Package(Code),
    /// Something that isn't on the menu.
    Typed(DraftTyped),
}

/// Something that isn't on the menu.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftTyped {
    /// What it is, as the customer reads it.
    pub name: Line<200>,
    /// The price of one, in the prices of the quote.
    pub price: Amount,
}

/// A discount with its reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftDiscount {
    /// How much is taken off.
    pub off: DraftSize,
    /// Why, as the customer reads it.
    pub reason: Line<200>,
}

/// An amount, or a percentage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DraftSize {
    /// An amount.
    Amount(Amount),
    /// A percentage from 0 to 100.
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
    pub fn choices(&self, currency: Currency) -> Result<Vec<Choice>, Problem> {
        self.lines.iter().enumerate().map(|(at, line)| line.choice(currency, &format!("/lines/{at}"))).collect()
    }

    /// Its discounts on the whole as the rules take them.
    ///
    /// # Errors
    /// 422 that points at the faulty value.
    pub fn document_discounts(&self, currency: Currency) -> Result<Vec<Discount>, Problem> {
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
    pub fn deposit_size(&self, currency: Currency, usual: Option<DepositSize>) -> Result<Option<DepositSize>, Problem> {
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
    fn choice(&self, currency: Currency, pointer: &str) -> Result<Choice, Problem> {
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
    fn read(&self, currency: Currency, pointer: &str) -> Result<Item, Problem> {
        let code = |code: &Code, kind: &str| {
            MenuCode::parse(code.as_str())
                .map_err(|error| Problem::field(format!("{pointer}/item/{kind}"), "bad_code", format!("{error}.")))
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

fn percent(number: Number, pointer: &str) -> Result<Percent, Problem> {
    Percent::new(number.0).map_err(|error| Problem::field(pointer, "not_a_percentage", format!("{error}.")))
}
