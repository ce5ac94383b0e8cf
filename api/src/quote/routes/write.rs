//! Writing and sending quotes.

use actix_web::web::Path;
use actix_web::{post, put};
use baywright_domain::id::{QuoteId, VehicleId};

use super::body::{QuoteBody, QuotePriceBody, QuoteReasonBody, QuoteSendAgainBody, QuoteSendBody, places};
use super::view::{QuotePriceView, QuoteView};
use crate::platform::answer::{Answer, Created, plain};
use crate::platform::body::{Body, Query, Rehearsal};
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::identity::Desk;
use crate::platform::tx::Tx;
use crate::platform::wire::Reference;
use crate::quote::form::QuoteDraft;
use crate::quote::usecase;

/// Write a quote.
///
/// It is priced from the menu in force and kept as a draft; nobody outside sees it until it is sent.
#[utoipa::path(tag = "quote", request_body = QuoteBody, params(Rehearsal),
    extensions(("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The quote as it would be.", body = QuoteView),
        (status = 201, description = "The new quote.", body = QuoteView)))]
#[post("/v1/quotes")]
pub(super) async fn create(
    call: Call<Desk>,
    _: IdempotencyKey,
    query: Query<Rehearsal>,
    body: Body<QuoteBody>,
) -> Answer {
    let (vehicle, draft) = (VehicleId::new(body.value.vehicle_id.as_str()), body.value.draft);
    let make = move |tx: &mut Tx<'_>| {
        let view = QuoteView::of(usecase::create(tx, &vehicle, &draft)?, tx)?;
        Ok(Created { location: view.location(), view })
    };
    if query.0.is_asked() { call.rehearse(make).await } else { call.create(make).await }
}

/// Price a draft without keeping anything.
///
/// The document as it would be sent, with the explanation of every line, and what the lines chosen come to.
#[utoipa::path(tag = "quote", request_body = QuotePriceBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "What it comes to.", body = QuotePriceView)))]
#[post("/v1/quote-prices")]
pub(super) async fn price(call: Call<Desk>, body: Body<QuotePriceBody>) -> Answer {
    let QuotePriceBody { vehicle_id, draft, choices } = body.value;
    let (vehicle, ticked) = (VehicleId::new(vehicle_id.as_str()), places(&choices));
    let chosen = move || (!ticked.is_empty()).then(|| ticked.clone());
    let price = call.read(move |tx| usecase::price(tx, &vehicle, &draft, chosen().as_deref())).await?;
    Ok(plain(&QuotePriceView::from(price)))
}

/// Change the draft of a quote.
///
/// Replaces the whole draft. What was sent is frozen: open a new revision for it first.
#[utoipa::path(tag = "quote", request_body = QuoteDraft, params(("id" = Reference, Path, description = "The quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote as it now stands.", body = QuoteView)))]
#[put("/v1/quotes/{id}/draft")]
pub(super) async fn change_draft(call: Call<Desk>, id: Path<String>, seen: IfMatch, body: Body<QuoteDraft>) -> Answer {
    let (id, draft) = (QuoteId::new(id.into_inner()), body.value);
    call.change(move |tx| QuoteView::of(usecase::replace_draft(tx, &id, seen, &draft)?, tx)).await
}

/// Open a new revision.
///
/// A draft that says what the latest revision said. What is with the customer stays so until the new one is sent.
#[utoipa::path(tag = "quote", params(("id" = Reference, Path, description = "The quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote with the new draft.", body = QuoteView)))]
#[post("/v1/quotes/{id}/revisions")]
pub(super) async fn revise(call: Call<Desk>, id: Path<String>, seen: IfMatch) -> Answer {
    let id = QuoteId::new(id.into_inner());
    call.change(move |tx| QuoteView::of(usecase::revise(tx, &id, seen)?, tx)).await
}

/// Send a quote.
///
/// The draft is priced once more, frozen and sealed; the customer gets a link to it by mail. A revision that was with the
/// customer until now is replaced.
#[utoipa::path(tag = "quote", request_body = QuoteSendBody, params(("id" = Reference, Path, description = "The quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote, sent.", body = QuoteView)))]
#[post("/v1/quotes/{id}/send")]
pub(super) async fn send(call: Call<Desk>, id: Path<String>, seen: IfMatch, body: Body<QuoteSendBody>) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let mail = body.value.into_mail();
    call.change(move |tx| QuoteView::of(usecase::send(tx, &id, seen, mail.as_ref())?, tx)).await
}

/// Send a quote once more.
///
/// The revision that is with the customer, by mail with a fresh link: for a mail that was lost, or to another address.
/// It stays as it was sent, and links from before go on opening it.
#[utoipa::path(tag = "quote", request_body = QuoteSendAgainBody,
    params(("id" = Reference, Path, description = "The quote.")), extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote.", body = QuoteView)))]
#[post("/v1/quotes/{id}/send-again")]
pub(super) async fn send_again(
    call: Call<Desk>,
    id: Path<String>,
    seen: IfMatch,
    body: Body<QuoteSendAgainBody>,
) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let mail = body.value.into_mail();
    call.change(move |tx| QuoteView::of(usecase::send_again(tx, &id, seen, &mail)?, tx)).await
}

/// Take a quote back.
///
/// What is with the customer can't be answered any more; its page says so.
#[utoipa::path(tag = "quote", request_body = QuoteReasonBody, params(("id" = Reference, Path, description = "The quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote, withdrawn.", body = QuoteView)))]
#[post("/v1/quotes/{id}/withdraw")]
pub(super) async fn withdraw(call: Call<Desk>, id: Path<String>, seen: IfMatch, body: Body<QuoteReasonBody>) -> Answer {
    let (id, reason) = (QuoteId::new(id.into_inner()), body.value.into_reason());
    call.change(move |tx| QuoteView::of(usecase::withdraw(tx, &id, seen, &reason)?, tx)).await
}
