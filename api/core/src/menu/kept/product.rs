//! Products as they are stored.

use baywright_domain::caution::Hazard;
use baywright_domain::menu::{Chemistry, Product, Unit};
use baywright_domain::mixing::Ratio;
use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};

use super::{caution_lists, cautions, code, codes, money, texts};
use crate::platform::kept::{Amount, Word};
use crate::platform::refusal::Refused;

/// Product as the shop uses it, named by what it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProductForm {
    /// Code of the product within the shop.
    pub code: String,
    /// Name of the product as people read it.
    pub name: String,
    /// Unit of the product: millilitre, gram or piece.
    pub unit: Word<Unit>,
    /// Mixing ratio with water: `1:4` is one part of product to four parts of water; null if it is used undiluted.
    pub mix: Option<String>,
    /// Purchase price before mixing, per litre, kilogram or piece, with or before tax as the menu states prices; null
    /// if the product is not charged for.
    pub price: Option<Amount>,
    /// Chemical properties of the product that can be dangerous.
    pub chemistry: Vec<Word<Chemistry>>,
    /// Codes of products that it must never be combined with, in addition to the rules for its chemistry.
    pub never_with: Vec<String>,
    /// Dwell time on the surface, in seconds; null if its label states none.
    #[serde(default)]
    pub dwell_seconds: Option<u32>,
    /// Hazards of using the product.
    pub hazards: Vec<Word<Hazard>>,
    /// Cautions for the crew, in the shop's own words. A caution for both crew and customer belongs in both lists.
    pub own_cautions: Vec<String>,
    /// Cautions for the customer, in the shop's own words, such as not to wash the car for a week; shown on the quote.
    /// Empty if left out.
    #[serde(default)]
    pub customer_cautions: Vec<String>,
    /// Whether the values are still unchecked common practice from the starter menu. Leave it out once this shop has
    /// checked them.
    #[serde(default)]
    pub common_practice: bool,
}

impl ProductForm {
    /// The product of the rules; `at` is the position of the form.
    ///
    /// # Errors
    /// `Invalid` that points at a mix or price that can't be read.
    pub fn read(&self, currency: Currency, at: &str) -> Result<Product, Refused> {
        let mix = self.mix.as_ref().map(|text| Ratio::parse(text)).transpose();
        Ok(Product {
            code: code(&self.code)?,
            name: self.name.clone(),
            unit: self.unit.0,
            mix: mix.map_err(|bad| Refused::field(format!("{at}/mix"), "bad_mix", format!("{bad}.")))?,
            price: money(self.price.as_ref(), currency, &format!("{at}/price"))?,
            chemistry: self.chemistry.iter().map(|word| word.0).collect(),
            never_with: codes(&self.never_with)?,
            dwell_seconds: self.dwell_seconds,
            cautions: cautions(&self.hazards, &self.own_cautions, &self.customer_cautions),
        })
    }

    /// The form of a product.
    pub fn of(product: &Product, currency: Currency) -> Self {
        let lists = caution_lists(&product.cautions);
        Self {
            code: product.code.to_string(),
            name: product.name.clone(),
            unit: Word(product.unit),
            mix: product.mix.map(|ratio| ratio.to_string()),
            price: product.price.map(|price| Amount::of(price, currency)),
            chemistry: product.chemistry.iter().copied().map(Word).collect(),
            never_with: texts(&product.never_with),
            dwell_seconds: product.dwell_seconds,
            hazards: lists.hazards,
            own_cautions: lists.own,
            customer_cautions: lists.for_customer,
            common_practice: false,
        }
    }
}
