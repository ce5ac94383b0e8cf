//! Sending variations, links to them, and answers that the desk records.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::tx::Tx;
use baywright_core::variation::usecase::{self, Shown};
use baywright_domain::id::VariationId;

use super::view::VariationView;
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::Reference;
use crate::quote::{QuoteLinkBody, QuoteLinkView, QuoteReasonBody, QuoteSendBody, QuoteSignOffBody};

async fn go(
    call: Call<Desk>,
    id: Path<String>,
    mut f: impl FnMut(&mut Tx<'_>, &VariationId) -> Done<Shown> + Send + 'static,
) -> Answer {
    let id = VariationId::new(id.into_inner());
    call.change(move |tx| Ok(VariationView::of(f(tx, &id)?, tx.studio.currency))).await
}

/// Send a variation.
///
/// Prices the draft once more, freezes and seals it, and mails the customer a link to it. If another variation that the
/// customer has not answered offers the same service, the confirmation `service-offered-twice` is needed: the customer
/// can then sign one of the two.
#[utoipa::path(tag = "variation", request_body = QuoteSendBody,
    params(("id" = Reference, Path, description = "Id of the variation.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true)),
        ("x-confirm" = json!(["service-sold-again", "service-offered-twice"]))),
    responses((status = 200, description = "The sent variation.", body = VariationView)))]
#[post("/v1/variations/{id}/send")]
pub(super) async fn send(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<QuoteSendBody>,
) -> Answer {
    let mail = body.value.into_mail();
    go(call, id, move |tx, id| usecase::send(tx, id, seen, mail.as_ref())).await
}

/// Create a link to a variation.
///
/// Creates a link for signing in person on the studio's device (works once, for half an hour), or for sending by
/// another way than mail. The address is shown once; only its digest is stored.
#[utoipa::path(tag = "variation", request_body = QuoteLinkBody,
    params(("id" = Reference, Path, description = "Id of the variation.")),
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "The new link.", body = QuoteLinkView)))]
#[post("/v1/variations/{id}/links")]
pub(super) async fn link(call: Call<Desk>, id: Path<String>, body: Body<QuoteLinkBody>) -> Answer {
    let id = VariationId::new(id.into_inner());
    let (method, contact) = body.value.into_way();
    let (link, url) = call.write(move |tx| usecase::make_link(tx, &id, method, &contact)).await?;
    Ok(plain(&QuoteLinkView::of(&link, url)))
}

/// Record an acceptance given by phone.
///
/// Possible only if the change of price is within the tolerance that the shop has set. The acceptance is sealed like
/// any other. The time that the variation names is promised from then on, and the bay is kept for the longer work if it
/// is free; if it is not, `warnings` says until when the work goes on.
#[utoipa::path(tag = "variation", request_body = QuoteSignOffBody,
    params(("id" = Reference, Path, description = "Id of the variation.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The signed variation.", body = VariationView)))]
#[post("/v1/variations/{id}/sign-off")]
pub(super) async fn sign_off(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<QuoteSignOffBody>,
) -> Answer {
    let yes = body.value.into_yes();
    go(call, id, move |tx, id| usecase::note_yes(tx, id, seen, &yes)).await
}

/// Record that the customer declined a variation.
///
/// Use it if the customer told the studio that they do not want it; the work goes on as it was agreed.
#[utoipa::path(tag = "variation", request_body = QuoteReasonBody,
    params(("id" = Reference, Path, description = "Id of the variation.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The declined variation.", body = VariationView)))]
#[post("/v1/variations/{id}/decline")]
pub(super) async fn decline(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<QuoteReasonBody>,
) -> Answer {
    let reason = body.value.into_reason();
    go(call, id, move |tx, id| usecase::note_no(tx, id, seen, &reason)).await
}
