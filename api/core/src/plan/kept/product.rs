//! The stored amount of a product, and how it is mixed.

use baywright_domain::menu::Unit;
use baywright_domain::mixing::{Mixed, Ratio, recipe};
use baywright_domain::plan::Measured;
use serde::{Deserialize, Serialize};

use super::{code, corrupt};
use crate::platform::fail::DbError;
use crate::platform::kept::{Number, Word};

/// Amount of a product, ready to use.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProductAmountForm {
    /// Code of the product.
    pub product: String,
    /// Name of the product.
    pub name: String,
    /// Unit of the product: millilitre, gram or piece.
    pub unit: Word<Unit>,
    /// Amount used, ready to use, thus after mixing.
    pub amount: Number,
    /// Mix with water; null if the product is used undiluted.
    pub mix: Option<MixForm>,
    /// Dwell time on the surface, in seconds; null if its label states none.
    pub dwell_seconds: Option<u32>,
}

/// Mix of a product with water.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MixForm {
    /// Mixing ratio as stated on the label.
    pub ratio: String,
    /// Amount of the product, in millilitres.
    pub product_ml: Number,
    /// Amount of water, in millilitres.
    pub water_ml: Number,
    /// Mixing instruction as a sentence.
    pub recipe: String,
}

impl ProductAmountForm {
    pub(super) fn of(measured: &Measured) -> Self {
        let mix = measured.mix.map(|(ratio, mixed)| MixForm {
            ratio: ratio.to_string(),
            product_ml: Number(mixed.product_ml),
            water_ml: Number(mixed.water_ml),
            recipe: recipe(ratio, mixed),
        });
        Self {
            product: measured.product.to_string(),
            name: measured.name.clone(),
            unit: Word(measured.unit),
            amount: Number(measured.amount),
            mix,
            dwell_seconds: measured.dwell_seconds,
        }
    }

    pub(super) fn read(&self) -> Result<Measured, DbError> {
        let mix = match &self.mix {
            None => None,
            Some(mix) => {
                let ratio = Ratio::parse(&mix.ratio).map_err(corrupt)?;
                Some((ratio, Mixed { product_ml: mix.product_ml.0, water_ml: mix.water_ml.0 }))
            }
        };
        Ok(Measured {
            product: code(&self.product)?,
            name: self.name.clone(),
            unit: self.unit.0,
            amount: self.amount.0,
            mix,
            dwell_seconds: self.dwell_seconds,
        })
    }
}
