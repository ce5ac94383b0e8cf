//! Amount of a product, and how it is mixed, as the API returns it.

use baywright_core::plan::kept::{MixForm, ProductAmountForm};
use baywright_domain::menu::Unit;
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::{Number, Word};

/// A unit as it is sent over HTTP.
type UnitWord = Word<Unit>;

/// Amount of a product, ready to use.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ProductAmount)]
pub struct ProductAmountView {
    /// Code of the product.
    #[schema(max_length = 40, example = "ph-neutral-shampoo")]
    product: String,
    /// Name of the product.
    #[schema(max_length = 200, example = "pH-neutral shampoo")]
    name: String,
    /// Unit of the product: millilitre, gram or piece.
    unit: UnitWord,
    /// Amount used, ready to use, thus after mixing.
    amount: Number,
    /// Mix with water; null if the product is used undiluted.
    mix: Option<MixView>,
    /// Dwell time on the surface, in seconds; null if its label states none.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 30)]
    dwell_seconds: Option<u32>,
}

/// Mix of a product with water.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Mix)]
pub struct MixView {
    /// Mixing ratio as stated on the label.
    #[schema(max_length = 80, example = "1:4")]
    ratio: String,
    /// Amount of the product, in millilitres.
    product_ml: Number,
    /// Amount of water, in millilitres.
    water_ml: Number,
    /// Mixing instruction as a sentence.
    #[schema(max_length = 300, example = "1:4: 200 ml of product and 800 ml of water")]
    recipe: String,
}

impl From<ProductAmountForm> for ProductAmountView {
    fn from(product: ProductAmountForm) -> Self {
        Self {
            product: product.product,
            name: product.name,
            unit: product.unit.into(),
            amount: product.amount.into(),
            mix: product.mix.map(MixView::from),
            dwell_seconds: product.dwell_seconds,
        }
    }
}

impl From<MixForm> for MixView {
    fn from(mix: MixForm) -> Self {
        Self { ratio: mix.ratio, product_ml: mix.product_ml.into(), water_ml: mix.water_ml.into(), recipe: mix.recipe }
    }
}
