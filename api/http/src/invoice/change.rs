//! Issuing invoices, mailing them, writing them off.

use actix_web::web::Path;
use actix_web::{post, put};
use baywright_core::invoice::usecase;
use baywright_core::platform::identity::{Desk, Owner};
use baywright_domain::id::{InvoiceId, QuoteId};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{InvoiceView, InvoiceWithDocument, view, whole};
use crate::platform::answer::{Answer, Created};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Line, Reference, Text};

/// Quote to be invoiced, with remarks.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InvoiceBody {
    /// Id of the signed quote.
    quote_id: Reference,
    /// Purchase-order number of the customer, which some customers require; null or left out for none.
    #[serde(default)]
    #[schema(example = "PO-1007")]
    purchase_order: Option<Line<80>>,
    /// Note of the studio in its own words; null or left out for none.
    #[serde(default)]
    note: Option<Text<2000>>,
}

/// Create an invoice draft.
///
/// Makes the invoice of a signed quote from the agreed lines at the signed prices. A quote has one invoice at a time: a
/// new one can be made after the first is credited.
#[utoipa::path(tag = "invoice", request_body = InvoiceBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "Draft of the invoice.", body = InvoiceWithDocument)))]
#[post("/v1/invoices")]
pub(super) async fn create(call: Call<Desk>, _: IdempotencyKey, body: Body<InvoiceBody>) -> Answer {
    let quote = QuoteId::new(body.value.quote_id.as_str());
    let order = usecase::Order { quote, remarks: remarks(body.value.purchase_order, body.value.note) };
    call.create(move |tx| {
        let invoice = usecase::of_quote(tx, &order)?;
        Ok(Created { location: format!("/v1/invoices/{}", invoice.id), view: whole(tx, &invoice)? })
    })
    .await
}

/// Remarks on an invoice.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RemarksBody {
    /// Purchase-order number of the customer, which some customers require; null or left out for none.
    #[serde(default)]
    #[schema(example = "PO-1007")]
    purchase_order: Option<Line<80>>,
    /// Note of the studio in its own words; null or left out for none.
    #[serde(default)]
    note: Option<Text<2000>>,
}

fn remarks(purchase_order: Option<Line<80>>, note: Option<Text<2000>>) -> usecase::Remarks {
    usecase::Remarks {
        purchase_order: purchase_order.map(Line::into_string),
        note: note.map(Text::into_string).unwrap_or_default(),
    }
}

/// Rewrite an invoice draft.
///
/// Takes everything that is signed by now, with new remarks; fields that are left out become empty. Only a draft can be
/// rewritten.
#[utoipa::path(tag = "invoice", request_body = RemarksBody,
    params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft after the change.", body = InvoiceWithDocument)))]
#[put("/v1/invoices/{id}")]
pub(super) async fn redraft(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<RemarksBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    let remarks = remarks(body.value.purchase_order, body.value.note);
    call.change(move |tx| {
        let invoice = usecase::redraft(tx, &id, seen, &remarks)?;
        whole(tx, &invoice)
    })
    .await
}

/// Issue an invoice.
///
/// Gives a draft the next number of its series and seals the document with the current data of seller and buyer. After
/// that it never changes; a mistake is corrected by crediting it and issuing a new invoice.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The invoice after the change.", body = InvoiceWithDocument)))]
#[post("/v1/invoices/{id}/issue")]
pub(super) async fn issue(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, _: IdempotencyKey) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let invoice = usecase::issue(tx, &id, seen)?;
        whole(tx, &invoice)
    })
    .await
}

/// Send an invoice by mail.
///
/// Writes the customer a mail that contains the whole invoice, with the sealed document attached.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The invoice after the change.", body = InvoiceView)))]
#[post("/v1/invoices/{id}/send")]
pub(super) async fn send(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, _: IdempotencyKey) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let invoice = usecase::send(tx, &id, seen)?;
        view(tx, &invoice)
    })
    .await
}

/// Reason for writing an invoice off.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WriteOffBody {
    /// Reason for the write-off, which the log keeps; must not contain names.
    #[schema(example = "the firm was wound up")]
    reason: Line<300>,
}

/// Write off an invoice.
///
/// Gives up the unpaid amount. Only the owner may do this.
#[utoipa::path(tag = "invoice", request_body = WriteOffBody,
    params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The invoice after the change.", body = InvoiceView)))]
#[post("/v1/invoices/{id}/write-off")]
pub(super) async fn write_off(
    call: Call<Owner>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<WriteOffBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let invoice = usecase::write_off(tx, &id, seen, body.value.reason.as_str())?;
        view(tx, &invoice)
    })
    .await
}
