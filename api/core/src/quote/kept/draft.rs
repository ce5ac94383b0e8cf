//! A draft as the desk writes it, stored until it is sent. Its faults are found when it is priced, and point into the
//! request.

use baywright_domain::document::{Discount, DiscountSize, Prices};
use baywright_domain::id::InspectionId;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::invoice::DepositSize;
use baywright_domain::menu::Code;
use baywright_domain::money::{Currency, Percent};
use baywright_domain::pricing::{Choice, Item, LineDiscount, Off};
use baywright_domain::vehicle::SizeClass;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::platform::fail::DbError;
use crate::platform::kept::{Amount, AmountOrPercent, Number, Word};
use crate::platform::refusal::Refused;

/// Content from which a quote is made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteDraft {
    /// Id of the completed inspection that states the condition and the recorded damage; null if there is none, in which
    /// case there is a condition.
    #[serde(default)]
    pub inspection_id: Option<String>,
    /// Size class, if it differs from the vehicle's record; null otherwise.
    #[serde(default)]
    pub size_class: Option<Word<SizeClass>>,
    /// Condition class, if there is no inspection; null otherwise.
    #[serde(default)]
    pub condition: Option<Word<ConditionClass>>,
    /// Price display, before tax (`NET`) or with tax (`GROSS`); null for the customer's usual one.
    #[serde(default)]
    pub prices: Option<Word<Prices>>,
    /// Lines of the quote.
    pub lines: Vec<DraftLine>,
    /// Discounts on the whole quote, independent of the customer's choices.
    #[serde(default)]
    pub discounts: Vec<DraftDiscount>,
    /// Deposit; null for the shop's usual one, 0 percent for none. An amount is with tax.
    #[serde(default)]
    pub deposit: Option<AmountOrPercent>,
    /// Note of the studio in its own words.
    #[serde(default)]
    pub notes: String,
    /// Days for which the quote is valid; null for the shop's usual number.
    #[serde(default)]
    pub valid_days: Option<u32>,
}

/// Line of a draft.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DraftLine {
    /// Service, package or custom item of the line.
    pub item: DraftItem,
    /// Quantity of the line.
    #[serde(default = "one")]
    pub quantity: Number,
    /// Whether the line is required; else the customer may choose it.
    #[serde(default = "yes")]
    pub required: bool,
    /// Code of the line's tax, as in the shop's settings; null for the tax of the service.
    #[serde(default)]
    pub tax: Option<String>,
    /// Discount on the line; null for none.
    #[serde(default)]
    pub discount: Option<DraftDiscount>,
}

/// Service, package or custom item of a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DraftItem {
    /// Code of a service on the menu.
    Service(String),
    /// Code of a package on the menu.
    Package(String),
    /// Custom item that is not on the menu.
    #[serde(rename = "typed", alias = "custom")]
    Custom(DraftCustomItem),
}

/// Custom item that is not on the menu.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DraftCustomItem {
    /// Name of the item, as the customer reads it.
    pub name: String,
    /// Price of one unit, with or before tax as the quote states prices.
    pub price: Amount,
}

/// Discount with its reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DraftDiscount {
    /// Size of the discount; an amount is with or before tax as the quote states prices.
    pub off: AmountOrPercent,
    /// Reason for the discount, as the customer reads it.
    pub reason: String,
}

fn one() -> Number {
    Number(Decimal::ONE)
}

fn yes() -> bool {
    true
}

impl QuoteDraft {
    /// Reads a stored draft.
    ///
    /// # Errors
    /// If the text was not written by this program.
    pub fn parse(text: &str) -> Result<Self, DbError> {
        serde_json::from_str(text).map_err(|error| DbError::Corrupt(format!("a draft: {error}")))
    }

    /// Id of its inspection.
    pub fn inspection(&self) -> Option<InspectionId> {
        self.inspection_id.as_deref().map(InspectionId::new)
    }

    /// Its lines for the rules.
    ///
    /// # Errors
    /// `Invalid` that points at the faulty value.
    pub fn choices(&self, currency: Currency) -> Result<Vec<Choice>, Refused> {
        self.lines.iter().enumerate().map(|(at, line)| line.choice(currency, &format!("/lines/{at}"))).collect()
    }

    /// Its discounts on the whole quote for the rules.
    ///
    /// # Errors
    /// `Invalid` that points at the faulty value.
    pub fn document_discounts(&self, currency: Currency) -> Result<Vec<Discount>, Refused> {
        let one = |(at, discount): (usize, &DraftDiscount)| {
            let pointer = format!("/discounts/{at}/off");
            let size = match &discount.off {
                AmountOrPercent::Amount(amount) => {
                    DiscountSize::Amount(amount.sent_positive(currency, &format!("{pointer}/amount"))?)
                }
                AmountOrPercent::Percent(number) => {
                    DiscountSize::Percent(percent(*number, &format!("{pointer}/percent"))?)
                }
            };
            Ok(Discount { size, reason: discount.reason.clone() })
        };
        self.discounts.iter().enumerate().map(one).collect()
    }

    /// Its deposit: the shop's usual one if it states none.
    ///
    /// # Errors
    /// `Invalid` that points at the faulty value.
    pub fn deposit_size(&self, currency: Currency, usual: Option<DepositSize>) -> Result<Option<DepositSize>, Refused> {
        match &self.deposit {
            None => Ok(usual),
            Some(AmountOrPercent::Amount(amount)) => {
                let amount = amount.sent_positive(currency, "/deposit/amount")?;
                Ok((!amount.is_zero()).then_some(DepositSize::Amount(amount)))
            }
            Some(AmountOrPercent::Percent(number)) => {
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
                    AmountOrPercent::Amount(amount) => {
                        Off::Amount(amount.sent_positive(currency, &format!("{pointer}/discount/off/amount"))?)
                    }
                    AmountOrPercent::Percent(number) => Off::Percent(number.0),
                };
                Some(LineDiscount { off, reason: discount.reason.clone() })
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
        let code = |code: &str, kind: &str| {
            Code::parse(code)
                .map_err(|error| Refused::field(format!("{pointer}/item/{kind}"), "bad_code", format!("{error}.")))
        };
        Ok(match self {
            Self::Service(text) => Item::Service(code(text, "service")?),
            Self::Package(text) => Item::Package(code(text, "package")?),
            Self::Custom(custom) => Item::Custom {
                name: custom.name.clone(),
                price: custom.price.sent_positive(currency, &format!("{pointer}/item/custom/price"))?,
            },
        })
    }
}

fn percent(number: Number, pointer: &str) -> Result<Percent, Refused> {
    Percent::new(number.0).map_err(|error| Refused::field(pointer, "not_a_percentage", format!("{error}.")))
}
