//! Changing the menu between prices with tax and without.

use actix_web::post;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::price::SourceWord;
use crate::menu::form::PricesWord;
use crate::menu::usecase::{self, PriceChange, Rebased};
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::identity::Owner;
use crate::platform::wire::{Amount, Reference, Word};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(preview_basis).service(change_basis);
}

/// The basis that the menu's prices are to have.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "prices": "NET" }))]
pub struct PriceBasisBody {
    /// `GROSS` for prices with tax, `NET` for prices without.
    prices: PricesWord,
}

/// A price before and after the change.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceChangeView {
    /// Whether the price is on the menu in force or in the draft.
    menu: SourceWord,
    /// JSON pointer to the price in that menu.
    #[schema(max_length = 200, example = "/services/3/price/amounts/small")]
    pointer: String,
    /// Name of the service, package or product.
    #[schema(max_length = 200)]
    name: String,
    /// The price before.
    before: Amount,
    /// The price after, rounded to the nearest price step; the price of a product to the minor unit.
    after: Amount,
}

/// What the change of basis does.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceBasisView {
    /// Version of the draft after the change; the same as the ETag.
    #[schema(minimum = 0)]
    version: i64,
    /// What prices were before.
    from: PricesWord,
    /// What prices are after.
    to: PricesWord,
    /// Every price of the menu in force, and every price of the draft if it differs from it.
    #[schema(max_items = 2000)]
    prices: Vec<PriceChangeView>,
    /// The labour rate before.
    labour_rate_before: Amount,
    /// The labour rate after, converted by the shop's usual tax.
    labour_rate_after: Amount,
    /// The new edition with the converted prices; null if no menu is in force.
    revision_id: Option<Reference>,
}

crate::versioned!(PriceBasisView);

impl From<Rebased> for PriceBasisView {
    fn from(done: Rebased) -> Self {
        let amount = |money| Amount::of(money, done.currency);
        let row = |row: PriceChange| PriceChangeView {
            menu: Word(row.menu),
            pointer: row.pointer,
            name: row.name,
            before: amount(row.before),
            after: amount(row.after),
        };
        Self {
            version: done.draft.version,
            from: Word(done.from),
            to: Word(done.to),
            prices: done.prices.into_iter().map(row).collect(),
            labour_rate_before: amount(done.labour_rate[0]),
            labour_rate_after: amount(done.labour_rate[1]),
            revision_id: done.revision.as_ref().map(|revision| Reference::from(&revision.id)),
        }
    }
}

/// Preview a change between prices with tax and without.
///
/// Shows every price before and after, and changes nothing. The new edition in the answer is not made.
#[utoipa::path(tag = "menu", request_body = PriceBasisBody, extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "What the change would do.", body = PriceBasisView),
        (status = 409, description = "Prices are so already, or an edition is published that is not in force yet.")))]
#[post("/v1/menu/price-basis/preview")]
async fn preview_basis(call: Call<Owner>, body: Body<PriceBasisBody>) -> Answer {
    let to = body.value.prices.0;
    let would_be = call.write(move |tx| tx.rehearse(|tx| usecase::rebase(tx, None, to))).await?;
    Ok(plain(&PriceBasisView { revision_id: None, ..PriceBasisView::from(would_be) }))
}

/// Change between prices with tax and without.
///
/// Converts every price of the draft by the tax that the menu names for it and rounds it to the nearest price step;
/// product prices and the labour rate are converted by the shop's usual tax. A converted edition takes over from the one
/// in force at once. Documents that were sent keep their prices. Give the draft's ETag.
#[utoipa::path(tag = "menu", request_body = PriceBasisBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "What was changed.", body = PriceBasisView),
        (status = 409, description = "Prices are so already, or an edition is published that is not in force yet.")))]
#[post("/v1/menu/price-basis")]
async fn change_basis(call: Call<Owner>, seen: IfMatch, body: Body<PriceBasisBody>) -> Answer {
    let to = body.value.prices.0;
    call.change(move |tx| Ok(PriceBasisView::from(usecase::rebase(tx, Some(seen), to)?))).await
}
