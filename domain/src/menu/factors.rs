//! The shop's own numbers: factors for size and condition, the labour rate, the price step, and what changeovers cost.

use rust_decimal::Decimal;

use crate::inspection::{ByCondition, ConditionClass};
use crate::money::{Currency, Money};
use crate::time::Minutes;
use crate::vehicle::{BySize, SizeClass};

/// Factors and rates that prices and budgets are made with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Factors {
    /// How budgets, amounts and areas grow with the vehicle; a medium car is 1.
    pub size: BySize<Decimal>,
    /// How budgets and prices grow with the condition; fair is 1.
    pub condition: ByCondition<Decimal>,
    /// The price of an hour of one pair of hands.
    pub labour_rate: Money,
    /// Prices are rounded up to a whole number of these.
    pub price_step: Money,
}

impl Factors {
    /// The defaults of a new shop (common practice, no source): size 0.85, 1, 1.25, 1.5; condition 0.9, 1, 1.3, 1.7;
    /// prices rounded up to whole units of the currency. A labour rate has no common value, so the shop states it.
    pub fn usual(labour_rate: Money, currency: Currency) -> Self {
        Self {
            size: BySize::from_fn(|size| match size {
                SizeClass::Small => Decimal::new(85, 2),
                SizeClass::Medium => Decimal::ONE,
                SizeClass::Large => Decimal::new(125, 2),
                SizeClass::ExtraLarge => Decimal::new(15, 1),
            }),
            condition: ByCondition::from_fn(|condition| match condition {
                ConditionClass::Light => Decimal::new(9, 1),
                ConditionClass::Fair => Decimal::ONE,
                ConditionClass::Heavy => Decimal::new(13, 1),
                ConditionClass::Severe => Decimal::new(17, 1),
            }),
            labour_rate,
            price_step: Money::from_minor(10_i64.pow(currency.decimals())),
        }
    }
}

/// Minutes lost between two consecutive steps, by what has to change; they add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChangeoverRates {
    /// From wet work to dry work, or back.
    pub wet_dry: Minutes,
    /// From outside the car to inside, or back.
    pub outside_inside: Minutes,
    /// From one zone of the car to another.
    pub zone: Minutes,
    /// Taking a tool out.
    pub tool_out: Minutes,
    /// Putting a tool away.
    pub tool_away: Minutes,
    /// Masking.
    pub mask_on: Minutes,
    /// Taking masking off.
    pub mask_off: Minutes,
    /// Washing hands and tools between dirty and clean products.
    pub clean_up: Minutes,
}

impl ChangeoverRates {
    /// The defaults of a new shop (common practice, no source).
    pub const USUAL: Self = Self {
        wet_dry: Minutes::new(10),
        outside_inside: Minutes::new(5),
        zone: Minutes::new(2),
        tool_out: Minutes::new(5),
        tool_away: Minutes::new(5),
        mask_on: Minutes::new(15),
        mask_off: Minutes::new(10),
        clean_up: Minutes::new(5),
    };
}
