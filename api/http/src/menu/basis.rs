//! Changing the tax basis of the menu's prices.

use actix_web::post;
use baywright_core::menu::usecase::{self, PriceChange, Rebased};
use baywright_core::platform::identity::Owner;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::price::SourceWord;
use super::words::PricesWord;
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Amount, Reference, Word};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(preview_basis).service(change_basis);
}

/// Tax basis that the menu's prices should have.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "prices": "NET" }))]
pub struct PriceBasisBody {
    /// Tax basis of the prices: `GROSS` with tax, `NET` before tax.
    prices: PricesWord,
}

/// Price before and after the change.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceChangeView {
    /// Menu that contains the price: the one in force or the draft.
    menu: SourceWord,
    /// JSON pointer to the price in that menu.
    #[schema(max_length = 200, example = "/services/3/price/amounts/small")]
    pointer: String,
    /// Name of the service, package or product.
    #[schema(max_length = 200)]
    name: String,
    /// Price before the change, on the old tax basis.
    before: Amount,
    /// Price after the change, on the new tax basis, rounded to the nearest price step; product prices are rounded to
    /// the minor unit.
    after: Amount,
}

/// Effect of changing the tax basis of prices.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceBasisView {
    /// Version of the menu draft after the change, the same number as in the ETag; in a preview, the draft's current
    /// version, which If-Match of the change takes.
    #[schema(minimum = 0)]
    version: i64,
    /// Tax basis of prices before the change.
    from: PricesWord,
    /// Tax basis of prices after the change.
    to: PricesWord,
    /// All prices of the menu in force, and all prices of the draft if the draft differs from it.
    #[schema(max_items = 2000)]
    prices: Vec<PriceChangeView>,
    /// Labour rate per hour before the change, on the old tax basis.
    labour_rate_before: Amount,
    /// Labour rate per hour after the change, on the new tax basis, converted with the shop's usual tax.
    labour_rate_after: Amount,
    /// Id of the new menu revision with the converted prices; null if no menu is in force.
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

/// Preview a change between prices with tax and before tax.
///
/// Returns every price before and after the change, and changes nothing. The new menu revision in the answer is not
/// created.
#[utoipa::path(tag = "menu", request_body = PriceBasisBody, extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "Effect of the change, price by price.", body = PriceBasisView),
        (status = 409, description = "Prices have this basis already, or a published menu is not in force yet.")))]
#[post("/v1/menu/price-basis/preview")]
async fn preview_basis(call: Call<Owner>, body: Body<PriceBasisBody>) -> Answer {
    let to = body.value.prices.0;
    let (version, would_be) = call
        .write(move |tx| {
            let version = usecase::draft(tx)?.version;
            Ok((version, tx.rehearse(|tx| usecase::rebase(tx, None, to))?))
        })
        .await?;
    Ok(plain(&PriceBasisView { version, revision_id: None, ..PriceBasisView::from(would_be) }))
}

/// Change between prices with tax and before tax.
///
/// Converts every price of the draft with the tax that the menu names for it, rounded to the nearest price step;
/// product prices and the labour rate are converted with the shop's usual tax. A converted menu revision replaces the
/// one in force at once. A price that was only converted since the last menu revision on that basis gets its price from
/// there again, so that converting back and forth restores the original prices. Documents that were sent keep their
/// prices. If-Match is the ETag of the draft.
#[utoipa::path(tag = "menu", request_body = PriceBasisBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "Effect of the change, price by price.", body = PriceBasisView),
        (status = 409, description = "Prices have this basis already, or a published menu is not in force yet.")))]
#[post("/v1/menu/price-basis")]
async fn change_basis(call: Call<Owner>, IfMatch(seen): IfMatch, body: Body<PriceBasisBody>) -> Answer {
    let to = body.value.prices.0;
    call.change(move |tx| Ok(PriceBasisView::from(usecase::rebase(tx, Some(seen), to)?))).await
}
