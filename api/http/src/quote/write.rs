//! Writing and sending quotes.

use actix_web::web::Path;
use actix_web::{post, put};
use baywright_core::platform::identity::Desk;
use baywright_core::platform::tx::Tx;
use baywright_core::quote::kept::QuoteDraft;
use baywright_core::quote::usecase;
use baywright_domain::id::{QuoteId, VehicleId};

use super::body::{QuoteBody, QuotePriceBody, QuoteReasonBody, QuoteSendAgainBody, QuoteSendBody, indexes};
use super::draft::QuoteDraftBody;
use super::view::{QuotePriceView, QuoteView};
use crate::platform::answer::{Answer, Created, plain};
use crate::platform::body::{Body, Query, Rehearsal};
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::Reference;

/// Create a quote.
///
/// Prices the quote from the menu in force and stores it as a draft, which only the studio sees until it is sent. The
/// warning `deposit-above-total` names a deposit above the total of the required lines, `paint-not-measured` work that
/// removes paint on a car without readings of its paint.
#[utoipa::path(tag = "quote", request_body = QuoteBody, params(Rehearsal),
    extensions(("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The quote as it would be created.", body = QuoteView),
        (status = 201, description = "The new quote.", body = QuoteView)))]
#[post("/v1/quotes")]
pub(super) async fn create(
    call: Call<Desk>,
    _: IdempotencyKey,
    query: Query<Rehearsal>,
    body: Body<QuoteBody>,
) -> Answer {
    let vehicle = VehicleId::new(body.value.vehicle_id.as_str());
    let draft = QuoteDraft::from(body.value.draft);
    let make = move |tx: &mut Tx<'_>| {
        let view = QuoteView::of(usecase::create(tx, &vehicle, &draft)?, tx)?;
        Ok(Created { location: view.location(), view })
    };
    if query.0.is_asked() { call.rehearse(make).await } else { call.create(make).await }
}

/// Price a draft without storing it.
///
/// Returns the document as it would be sent, with the explanation of every line and the totals of the chosen lines.
#[utoipa::path(tag = "quote", request_body = QuotePriceBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "Document and totals of the draft.", body = QuotePriceView)))]
#[post("/v1/quote-prices")]
pub(super) async fn price(call: Call<Desk>, body: Body<QuotePriceBody>) -> Answer {
    let QuotePriceBody { vehicle_id, draft, choices } = body.value;
    let (vehicle, draft) = (VehicleId::new(vehicle_id.as_str()), QuoteDraft::from(draft));
    let ticked = indexes(&choices);
    let chosen = move || (!ticked.is_empty()).then(|| ticked.clone());
    let price = call.read(move |tx| usecase::price(tx, &vehicle, &draft, chosen().as_deref())).await?;
    Ok(plain(&QuotePriceView::from(price)))
}

/// Change the draft of a quote.
///
/// Replaces the whole draft. A revision that was sent cannot be changed: open a new one first.
#[utoipa::path(tag = "quote", request_body = QuoteDraftBody,
    params(("id" = Reference, Path, description = "Id of the quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote after the change.", body = QuoteView)))]
#[put("/v1/quotes/{id}/draft")]
pub(super) async fn change_draft(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<QuoteDraftBody>,
) -> Answer {
    let (id, draft) = (QuoteId::new(id.into_inner()), QuoteDraft::from(body.value));
    call.change(move |tx| QuoteView::of(usecase::replace_draft(tx, &id, seen, &draft)?, tx)).await
}

/// Open a new revision of a quote.
///
/// Creates a draft with the content of the latest revision. A revision that the customer has stays valid until the new
/// one is sent.
#[utoipa::path(tag = "quote", params(("id" = Reference, Path, description = "Id of the quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote with the new draft.", body = QuoteView)))]
#[post("/v1/quotes/{id}/revisions")]
pub(super) async fn revise(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = QuoteId::new(id.into_inner());
    call.change(move |tx| QuoteView::of(usecase::revise(tx, &id, seen)?, tx)).await
}

/// Send a quote.
///
/// Prices the draft once more, freezes and seals it, and mails the customer a link to it. A revision that the customer
/// had until now is replaced.
#[utoipa::path(tag = "quote", request_body = QuoteSendBody,
    params(("id" = Reference, Path, description = "Id of the quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The sent quote.", body = QuoteView)))]
#[post("/v1/quotes/{id}/send")]
pub(super) async fn send(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<QuoteSendBody>,
) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let mail = body.value.into_mail();
    call.change(move |tx| QuoteView::of(usecase::send(tx, &id, seen, mail.as_ref())?, tx)).await
}

/// Send a quote again.
///
/// Mails the revision that the customer has, with a new link: for a mail that was lost, or to another address. The
/// revision stays as it was sent, and earlier links still open it.
#[utoipa::path(tag = "quote", request_body = QuoteSendAgainBody,
    params(("id" = Reference, Path, description = "Id of the quote.")), extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote that was sent again.", body = QuoteView)))]
#[post("/v1/quotes/{id}/send-again")]
pub(super) async fn send_again(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<QuoteSendAgainBody>,
) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let mail = body.value.into_mail();
    call.change(move |tx| QuoteView::of(usecase::send_again(tx, &id, seen, &mail)?, tx)).await
}

/// Withdraw a quote.
///
/// The customer can no longer answer the revision that they have; its page says so.
#[utoipa::path(tag = "quote", request_body = QuoteReasonBody,
    params(("id" = Reference, Path, description = "Id of the quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The withdrawn quote.", body = QuoteView)))]
#[post("/v1/quotes/{id}/withdraw")]
pub(super) async fn withdraw(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<QuoteReasonBody>,
) -> Answer {
    let (id, reason) = (QuoteId::new(id.into_inner()), body.value.into_reason());
    call.change(move |tx| QuoteView::of(usecase::withdraw(tx, &id, seen, &reason)?, tx)).await
}
