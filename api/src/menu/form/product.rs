//! Products as they travel.

use baywright_domain::menu::{Chemistry, Product, Unit};
use baywright_domain::mixing::Ratio;
use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{HazardWord, caution_lists, cautions, code, code_form, codes, codes_form, money};
use crate::http::wire::{Amount, Code, Line, Word, at_most, whole_or_null};
use crate::platform::refusal::Refused;

// The API document's derive reads a plain name better than one with parameters.
/// A word for [`Unit`].
pub type UnitWord = Word<Unit>;
/// A word for [`Chemistry`].
pub type ChemistryWord = Word<Chemistry>;

/// Product as the shop uses it, named by what it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuProduct)]
#[serde(deny_unknown_fields)]
pub struct ProductForm {
    /// Code of the product within the shop.
    #[schema(example = "shampoo-ph-neutral")]
    pub code: Code,
    /// Name of the product as people read it.
    #[schema(example = "pH-neutral shampoo")]
    pub name: Line<200>,
    /// Unit of the product: millilitre, gram or piece.
    pub unit: UnitWord,
    /// Mixing ratio with water: `1:4` is one part of product to four parts of water; null if it is used undiluted.
    #[schema(example = "50 ml in 10 l")]
    pub mix: Option<Line<40>>,
    /// Purchase price before mixing, per litre, kilogram or piece, with or before tax as the menu states prices; null
    /// if the product is not charged for.
    pub price: Option<Amount>,
    /// Chemical properties of the product that can be dangerous.
    #[serde(deserialize_with = "at_most::<6, _, _>")]
    #[schema(max_items = 6)]
    pub chemistry: Vec<ChemistryWord>,
    /// Codes of products that it must never be combined with, in addition to the rules for its chemistry.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub never_with: Vec<Code>,
    /// Dwell time on the surface, in seconds; null if its label states none.
    #[serde(default, deserialize_with = "whole_or_null::<1, 86_400, _>")]
    #[schema(minimum = 1, maximum = 86_400, example = 30)]
    pub dwell_seconds: Option<u32>,
    /// Hazards of using the product.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub hazards: Vec<HazardWord>,
    /// Cautions for the crew, in the shop's own words. A caution for both crew and customer belongs in both lists.
    #[serde(deserialize_with = "at_most::<10, _, _>")]
    #[schema(max_items = 10)]
    pub own_cautions: Vec<Line<400>>,
    /// Cautions for the customer, in the shop's own words, such as not to wash the car for a week; shown on the quote.
    /// Empty if left out.
    #[serde(default, deserialize_with = "at_most::<10, _, _>")]
    #[schema(max_items = 10, required = false)]
    pub customer_cautions: Vec<Line<400>>,
    /// Whether the values are still unchecked common practice from the starter menu. Leave it out once this shop has
    /// checked them.
    #[serde(default)]
    #[schema(required = false)]
    pub common_practice: bool,
}

impl ProductForm {
    /// The product of the rules; `at` is where the form stands.
    ///
    /// # Errors
    /// 422 that points at a mix or price that can't be read.
    pub fn read(&self, currency: Currency, at: &str) -> Result<Product, Refused> {
        let mix = self.mix.as_ref().map(|text| Ratio::parse(text.as_str())).transpose();
        Ok(Product {
            code: code(&self.code)?,
            name: self.name.to_string(),
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
    ///
    /// # Errors
    /// Where it holds text that no form lets in.
    pub fn of(product: &Product, currency: Currency) -> Result<Self, String> {
        let lists = caution_lists(&product.cautions)?;
        Ok(Self {
            code: code_form(&product.code)?,
            name: Line::parse(&product.name)?,
            unit: Word(product.unit),
            mix: product.mix.map(|ratio| Line::parse(&ratio.to_string())).transpose()?,
            price: product.price.map(|price| Amount::of(price, currency)),
            chemistry: product.chemistry.iter().copied().map(Word).collect(),
            never_with: codes_form(&product.never_with)?,
            dwell_seconds: product.dwell_seconds,
            hazards: lists.hazards,
            own_cautions: lists.own,
            customer_cautions: lists.for_customer,
            common_practice: false,
        })
    }
}
