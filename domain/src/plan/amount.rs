//! Amount of each product that a step needs on one car.

use alloc::string::String;

use rust_decimal::Decimal;

use super::PlanRefusal;
use crate::menu::{Code, Dose, Menu, Step, Unit};
use crate::mixing::{Mixed, Ratio, amount_for_job};
use crate::vehicle::Car;

/// Number of times the planned amount is unlikely to have been used (common practice, no source).
pub const FAR_MORE: Decimal = Decimal::from_parts(3, 0, 0, false, 0);

/// An amount of a product, ready to use, and how it is mixed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measured {
    /// The product's code.
    pub product: Code,
    /// The product's name.
    pub name: String,
    /// Unit of the product.
    pub unit: Unit,
    /// Amount that is used, after mixing, to a tenth.
    pub amount: Decimal,
    /// The mix and what goes into it, if the product is mixed with water.
    pub mix: Option<(Ratio, Mixed)>,
    /// Dwell time on the surface, in seconds, if its label states one.
    pub dwell_seconds: Option<u32>,
}

impl Measured {
    /// Amount of the product as bought, in its unit.
    pub fn bought(&self) -> Decimal {
        self.mix.map_or(self.amount, |(_, mixed)| mixed.product_ml)
    }

    /// Whether an amount is far above the plan: more than [`FAR_MORE`] times as much. Any amount exceeds a planned
    /// amount of zero.
    pub fn is_far_exceeded(&self, used: Decimal) -> bool {
        self.amount.checked_mul(FAR_MORE).is_some_and(|most| used > most)
    }

    /// Both amounts together, or `None` if that is too much to mix.
    pub(super) fn plus(&self, other: &Self) -> Option<Self> {
        let amount = self.amount.checked_add(other.amount)?;
        let mix = match self.mix {
            Some((ratio, _)) => Some((ratio, ratio.make(amount).ok()?)),
            None => None,
        };
        Some(Self { amount, mix, ..self.clone() })
    }
}

/// Amount of one product that a step needs on a car: area or count × rate × size factor × quantity of the step, then
/// its mix.
///
/// # Errors
/// [`PlanRefusal::UnknownProduct`], or [`PlanRefusal::Amount`] if the amount is out of range.
pub fn measure(menu: &Menu, step: &Step, dose: &Dose, car: Car, quantity: Decimal) -> Result<Measured, PlanRefusal> {
    let product = menu
        .product(&dose.product)
        .ok_or_else(|| PlanRefusal::UnknownProduct { step: step.name.clone(), product: dose.product.clone() })?;
    let factor = if dose.by_size { *menu.factors.size.get(car.size) } else { Decimal::ONE };
    let out_of_range = |_| PlanRefusal::Amount { step: step.name.clone(), product: dose.product.clone() };
    let units = dose.basis.units().saturating_mul(quantity);
    let amount = amount_for_job(units, dose.rate, factor).map_err(out_of_range)?;
    let mix = match product.mix {
        Some(ratio) => Some((ratio, ratio.make(amount).map_err(out_of_range)?)),
        None => None,
    };
    Ok(Measured {
        product: product.code.clone(),
        name: product.name.clone(),
        unit: product.unit,
        amount,
        mix,
        dwell_seconds: product.dwell_seconds,
    })
}
