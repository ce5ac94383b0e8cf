//! Issuing invoices, mailing them, writing them off.

use actix_web::web::Path;
use actix_web::{delete, post, put};
use baywright_core::invoice::usecase;
use baywright_core::platform::identity::Desk;
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
/// Makes the invoice of a signed quote from the agreed lines at the signed prices and the tax rates on the day of the
/// hand-over, less the deposits that were invoiced. What is invoiced is invoiced once: 409 `invoiced-already` until that
/// invoice is credited in full, or its draft is discarded.
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
    /// Whether the lines stay as they are, such as those of a corrected invoice; if false or left out, the lines of a
    /// quote are taken from what is signed now.
    #[serde(default)]
    keep_lines: bool,
}

fn remarks(purchase_order: Option<Line<80>>, note: Option<Text<2000>>) -> usecase::Remarks {
    usecase::Remarks {
        purchase_order: purchase_order.map(Line::into_string),
        note: note.map(Text::into_string).unwrap_or_default(),
    }
}

/// Rewrite an invoice draft.
///
/// Takes everything that is signed by now at the tax rates of the tax point, with new remarks; fields that are left out
/// become empty. Only a draft can be rewritten.
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
    let (remarks, keep_lines) = (remarks(body.value.purchase_order, body.value.note), body.value.keep_lines);
    call.change(move |tx| {
        let invoice = usecase::redraft(tx, &id, seen, &remarks, keep_lines)?;
        whole(tx, &invoice)
    })
    .await
}

/// Discard an invoice draft.
///
/// Deletes the draft, so that what it billed can be invoiced again. An issued invoice can't be deleted: credit it.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true))), responses((status = 204, description = "The draft is deleted.")))]
#[delete("/v1/invoices/{id}")]
pub(super) async fn discard(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.remove(move |tx| usecase::discard(tx, &id, seen)).await
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
