//! Products as they travel.

use baywright_domain::menu::{Chemistry, Product, Unit};
use baywright_domain::mixing::Ratio;
use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{HazardWord, caution_lists, cautions, code, code_form, codes, codes_form, money};
use crate::platform::problem::Problem;
use crate::platform::wire::{Amount, Code, Line, Word, at_most, whole_or_null};

crate::wire_words! { Unit => "ProductUnit", Chemistry => "Chemistry" }

// The API document's derive reads a plain name better than one with parameters.
/// A word for [`Unit`].
pub type UnitWord = Word<Unit>;
/// A word for [`Chemistry`].
pub type ChemistryWord = Word<Chemistry>;

/// A product as the shop uses it, called by what it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuProduct)]
#[serde(deny_unknown_fields)]
pub struct ProductForm {
    /// Its code within the shop.
    #[schema(example = "shampoo-ph-neutral")]
    pub code: Code,
    /// Its name for people.
    #[schema(example = "pH-neutral shampoo")]
    pub name: Line<200>,
    /// What it is counted in.
    pub unit: UnitWord,
    /// How it is mixed with water: `1:4` is one part of product to four of water; null where it is used as it comes.
    #[schema(example = "50 ml in 10 l")]
    pub mix: Option<Line<40>>,
    /// Its price as bought, before mixing, per litre, kilogram or piece; null where it isn't charged for.
    pub price: Option<Amount>,
    /// What it is made of, as far as that is dangerous.
    #[serde(deserialize_with = "at_most::<6, _, _>")]
    #[schema(max_items = 6)]
    pub chemistry: Vec<ChemistryWord>,
    /// Codes of products that it must never meet, beside what its chemistry forbids.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub never_with: Vec<Code>,
    /// How long it works on the surface, in seconds, where its label says.
    #[serde(default, deserialize_with = "whole_or_null::<1, 86_400, _>")]
    #[schema(minimum = 1, maximum = 86_400, example = 30)]
    pub dwell_seconds: Option<u32>,
    /// Hazards of using it.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub hazards: Vec<HazardWord>,
    /// Cautions for the crew, in the shop's own words. A caution for crew and customer stands in both lists.
    #[serde(deserialize_with = "at_most::<10, _, _>")]
    #[schema(max_items = 10)]
    pub own_cautions: Vec<Line<400>>,
    /// What the customer should know, in the shop's own words, such as not to wash the car for a week: it stands on the
    /// quote. None if left out.
    #[serde(default, deserialize_with = "at_most::<10, _, _>")]
    #[schema(max_items = 10, required = false)]
    pub customer_cautions: Vec<Line<400>>,
    /// Whether its values still are common practice that nobody has checked for this shop, as the menu to begin from has
    /// them. Leave it out once they are checked.
    #[serde(default)]
    #[schema(required = false)]
    pub common_practice: bool,
}

impl ProductForm {
    /// The product of the rules; `at` is where the form stands.
    ///
    /// # Errors
    /// 422 that points at a mix or price that can't be read.
    pub fn read(&self, currency: Currency, at: &str) -> Result<Product, Problem> {
        let mix = self.mix.as_ref().map(|text| Ratio::parse(text.as_str())).transpose();
        Ok(Product {
            code: code(&self.code)?,
            name: self.name.to_string(),
            unit: self.unit.0,
            mix: mix.map_err(|bad| Problem::field(format!("{at}/mix"), "bad_mix", format!("{bad}.")))?,
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
