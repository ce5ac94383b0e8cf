//! Products in requests.

use baywright_core::menu::kept::ProductForm;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{texts, words};
use crate::menu::words::{ChemistryWord, HazardWord, UnitWord};
use crate::platform::wire::{Amount, Code, Line, at_most, whole_or_null};

/// Product as the shop uses it, named by what it is.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuProduct)]
#[serde(deny_unknown_fields)]
pub struct ProductBody {
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

impl From<ProductBody> for ProductForm {
    fn from(body: ProductBody) -> Self {
        Self {
            code: body.code.into(),
            name: body.name.into(),
            unit: body.unit.into(),
            mix: body.mix.map(Into::into),
            price: body.price.map(Into::into),
            chemistry: words(body.chemistry),
            never_with: texts(body.never_with),
            dwell_seconds: body.dwell_seconds,
            hazards: words(body.hazards),
            own_cautions: texts(body.own_cautions),
            customer_cautions: texts(body.customer_cautions),
            common_practice: body.common_practice,
        }
    }
}
