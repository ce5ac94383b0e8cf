//! Undoing a payment over HTTP.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::payment::usecase::{self, UndoOrder};
use baywright_core::platform::identity::Desk;
use baywright_domain::id::PaymentId;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{PaymentView, UndoReasonWord};
use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Day, Reference, Text};

/// Reason for undoing a payment.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PaymentUndoBody {
    /// Reason for undoing the payment: recorded by mistake, returned by the bank or charged back.
    reason: UndoReasonWord,
    /// Date from which the payment no longer counts, in the shop's time zone; today if null or left out.
    #[serde(default)]
    on: Option<Day>,
    /// Note of the desk about it; null or left out for none.
    #[serde(default)]
    note: Option<Text<1000>>,
}

/// Undo a payment.
///
/// Makes unpaid again what the payment paid; the record stays with its reason. 409 `undo-first` if what was left over of
/// it has been used or given back since.
#[utoipa::path(tag = "payment", request_body = PaymentUndoBody,
    params(("id" = Reference, Path, description = "Id of the payment.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The payment after the change.", body = PaymentView)))]
#[post("/v1/payments/{id}/undo")]
pub(super) async fn undo(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<PaymentUndoBody>,
) -> Answer {
    let id = PaymentId::new(id.into_inner());
    let note = body.value.note.map(Text::into_string).unwrap_or_default();
    let order = UndoOrder { reason: body.value.reason.0, on: body.value.on.map(|day| day.0), note };
    call.change(move |tx| Ok(PaymentView::of(usecase::undo(tx, &id, seen, &order)?, tx.studio.currency))).await
}
