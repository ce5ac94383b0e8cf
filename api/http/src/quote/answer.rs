//! Links for customers, and answers that the desk records.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::answer;
use baywright_core::platform::identity::Desk;
use baywright_core::quote::usecase;
use baywright_domain::id::QuoteId;

use super::body::{QuoteEarlyStartBody, QuoteLinkBody, QuoteReasonBody, QuoteSignOffBody};
use super::view::{QuoteLinkView, QuoteView};
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::Reference;

/// Create a link to a quote.
///
/// Creates a link for signing in person on the studio's device (works once, for half an hour), or for sending by
/// another way than mail. The address is shown once; only its digest is stored.
#[utoipa::path(tag = "quote", request_body = QuoteLinkBody,
    params(("id" = Reference, Path, description = "Id of the quote.")),
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "The new link.", body = QuoteLinkView),
        (status = 410, description = "The quote is no longer valid.")))]
#[post("/v1/quotes/{id}/links")]
pub(super) async fn link(call: Call<Desk>, id: Path<String>, body: Body<QuoteLinkBody>) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let (method, contact) = body.value.into_way();
    let (link, url) = call.write(move |tx| usecase::make_link(tx, &id, method, &contact)).await?;
    Ok(plain(&QuoteLinkView::of(&link, url)))
}

/// Record an acceptance given by phone.
///
/// The consent is read out to the customer, and the signed-in person records that they agreed. The acceptance is sealed
/// like any other. If the quote is booked and its place no longer fits the work signed now, `warnings` says so and
/// names the next times that fit.
#[utoipa::path(tag = "quote", request_body = QuoteSignOffBody,
    params(("id" = Reference, Path, description = "Id of the quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The signed quote.", body = QuoteView),
        (status = 410, description = "The quote is no longer valid.")))]
#[post("/v1/quotes/{id}/sign-off")]
pub(super) async fn sign_off(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<QuoteSignOffBody>,
) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let yes = body.value.into_yes();
    call.change(move |tx| QuoteView::of(answer::usecase::note_yes(tx, &id, seen, &yes)?, tx)).await
}

/// Record that the customer declined a quote.
///
/// Use it if the customer told the studio that they do not want it.
#[utoipa::path(tag = "quote", request_body = QuoteReasonBody,
    params(("id" = Reference, Path, description = "Id of the quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The declined quote.", body = QuoteView),
        (status = 410, description = "The quote is no longer valid.")))]
#[post("/v1/quotes/{id}/decline")]
pub(super) async fn decline(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<QuoteReasonBody>,
) -> Answer {
    let (id, reason) = (QuoteId::new(id.into_inner()), body.value.into_reason());
    call.change(move |tx| QuoteView::of(usecase::note_no(tx, &id, seen, &reason)?, tx)).await
}

/// Record the customer's agreement to an earlier start.
///
/// Use it if a consumer signed at a distance, said that work must not start within the 14 days in which they can
/// withdraw, and has changed their mind. Work may then begin at any time.
#[utoipa::path(tag = "quote", request_body = QuoteEarlyStartBody,
    params(("id" = Reference, Path, description = "Id of the quote.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The quote; its work may now begin at any time.", body = QuoteView)))]
#[post("/v1/quotes/{id}/early-start")]
pub(super) async fn early_start(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<QuoteEarlyStartBody>,
) -> Answer {
    let (id, agreed) = (QuoteId::new(id.into_inner()), body.value.agreed);
    call.change(move |tx| QuoteView::of(usecase::note_early_start(tx, &id, seen, agreed)?, tx)).await
}
