//! The shop's own numbers: factors for size and condition, the labour rate, the price step, and changeover minutes.

use alloc::borrow::ToOwned;
use alloc::format;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use crate::inspection::{ByCondition, ConditionClass};
use crate::money::{Currency, Money};
use crate::refusal::Fault;
use crate::time::Minutes;
use crate::vehicle::{BySize, SizeClass};

/// Factors and rates from which prices and budgets are computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Factors {
    /// Size factors of budgets, amounts and areas; a medium car is 1.
    pub size: BySize<Decimal>,
    /// Condition factors of budgets and prices; fair is 1.
    pub condition: ByCondition<Decimal>,
    /// Price of one hour of work by one person.
    pub labour_rate: Money,
    /// Step to which prices are rounded up.
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

    /// Warnings about allowed but suspicious values: work that costs nothing, and prices rounded up so far that they
    /// mean little. The pointers are those of the fields by their names.
    pub fn warnings(&self, currency: Currency) -> Vec<Fault> {
        let mut warnings = Vec::new();
        if self.labour_rate == Money::ZERO {
            let detail = "the labour rate is 0, so work whose price is built from time costs nothing: enter the price of \
                          an hour";
            let (pointer, detail) = ("/labour_rate".to_owned(), detail.to_owned());
            warnings.push(Fault { pointer, code: "labour_rate_zero", detail });
        }
        if self.price_step.major(currency) > Decimal::from(LARGE_STEP) && self.price_step > self.labour_rate {
            let step = self.price_step.to_major(currency);
            let detail = format!("every price is rounded up to a multiple of {step}: check the price step for a slip");
            warnings.push(Fault { pointer: "/price_step".to_owned(), code: "price_step_large", detail });
        }
        warnings
    }
}

/// Number of units of the currency above which a price step, if it is also above the hourly rate, counts as a typing
/// error (common practice, no source).
const LARGE_STEP: u32 = 100;

/// Changeover minutes between two consecutive steps, by kind of change; they add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChangeoverRates {
    /// From wet work to dry work, or back.
    pub wet_dry: Minutes,
    /// From outside the car to inside, or back.
    pub outside_inside: Minutes,
    /// From one zone of the car to another.
    pub zone: Minutes,
    /// Fetching a tool.
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_labour_rate_of_nothing_and_a_step_that_is_a_slip_are_warned_of() {
        let codes = |labour_rate: i64, price_step: i64| -> Vec<&'static str> {
            let (labour_rate, price_step) = (Money::from_minor(labour_rate), Money::from_minor(price_step));
            let factors = Factors { price_step, ..Factors::usual(labour_rate, Currency::EUR) };
            factors.warnings(Currency::EUR).iter().map(|warning| warning.code).collect()
        };
        assert_eq!(codes(6_000, 100), Vec::<&str>::new());
        assert_eq!(codes(0, 100), ["labour_rate_zero"]);
        assert_eq!(codes(6_000, 10_000), Vec::<&str>::new());
        assert_eq!(codes(6_000, 10_001), ["price_step_large"]);
        assert_eq!(codes(20_000, 15_000), Vec::<&str>::new(), "an hour costs more than that");
        assert_eq!(codes(0, 10_001), ["labour_rate_zero", "price_step_large"]);
    }
}
