//! Reading and writing variations over HTTP.

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_core::agreement::kept::VariationDraft;
use baywright_core::agreement::usecase::of_quote;
use baywright_core::platform::identity::{Accounts, Desk};
use baywright_core::variation::usecase;
use baywright_domain::id::{QuoteId, VariationId};

use super::body::VariationDraftBody;
use super::view::{VariationHead, VariationView, VariationsView};
use crate::platform::answer::{Answer, Created, item, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::Reference;

/// List the variations of a quote.
///
/// Returns all variations, first one first; a quote has at most 100, and none before it is signed.
#[utoipa::path(tag = "variation", params(("id" = Reference, Path, description = "Id of the quote.")),
    responses((status = 200, description = "Variations of the quote.", body = VariationsView)))]
#[get("/v1/quotes/{id}/variations")]
pub(super) async fn list(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let view = call.read(move |tx| {
        let all = of_quote(tx, &id)?;
        Ok(VariationsView { items: all.into_iter().map(|one| VariationHead::of(one, tx.studio.currency)).collect() })
    });
    Ok(plain(&view.await?))
}

/// Create a variation.
///
/// Possible while the car is in its bay; before that, a change is a new revision of the quote. The variation is priced
/// from the menu that the signed quote froze, and stored as a draft, which only the studio sees until it is sent.
#[utoipa::path(tag = "variation", request_body = VariationDraftBody,
    params(("id" = Reference, Path, description = "Id of the signed quote.")),
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["service-sold-again"]))),
    responses((status = 201, description = "The new variation.", body = VariationView)))]
#[post("/v1/quotes/{id}/variations")]
pub(super) async fn create(
    call: Call<Desk>,
    id: Path<String>,
    _: IdempotencyKey,
    body: Body<VariationDraftBody>,
) -> Answer {
    let (id, draft) = (QuoteId::new(id.into_inner()), VariationDraft::from(body.value));
    call.create(move |tx| {
        let view = VariationView::of(usecase::create(tx, &id, &draft)?, tx.studio.currency);
        Ok(Created { location: view.location(), view })
    })
    .await
}

/// Read a variation.
#[utoipa::path(tag = "variation", params(("id" = Reference, Path, description = "Id of the variation.")),
    responses((status = 200, description = "The requested variation.", body = VariationView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/variations/{id}")]
pub(super) async fn show(call: Call<Accounts>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = VariationId::new(id.into_inner());
    let (view, draft) = call
        .read(move |tx| {
            let shown = usecase::show(tx, &id)?;
            let draft = shown.variation.frozen.is_none();
            Ok((VariationView::of(shown, tx.studio.currency), draft))
        })
        .await?;
    // The price of a draft changes with what is agreed, without a change of its version.
    Ok(item(&view, &if draft { IfNoneMatch::default() } else { known }))
}

/// Change the draft of a variation.
///
/// Replaces the whole draft. A variation that was sent cannot be changed: create a new one.
#[utoipa::path(tag = "variation", request_body = VariationDraftBody,
    params(("id" = Reference, Path, description = "Id of the variation.")),
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["service-sold-again"]))),
    responses((status = 200, description = "The variation after the change.", body = VariationView)))]
#[put("/v1/variations/{id}")]
pub(super) async fn change(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<VariationDraftBody>,
) -> Answer {
    let (id, draft) = (VariationId::new(id.into_inner()), VariationDraft::from(body.value));
    call.change(move |tx| Ok(VariationView::of(usecase::replace_draft(tx, &id, seen, &draft)?, tx.studio.currency)))
        .await
}
