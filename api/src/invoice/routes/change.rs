//! Issuing invoices, mailing them, giving them up.

use actix_web::web::Path;
use actix_web::{post, put};
use baywright_domain::id::{InvoiceId, QuoteId};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{InvoiceView, InvoiceWithDocument, view, whole};
use crate::invoice::usecase;
use crate::platform::answer::{Answer, Created};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::identity::{Desk, Owner};
use crate::platform::wire::{Line, Reference, Text};

/// What an invoice is made of.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InvoiceBody {
    /// The signed quote.
    quote_id: Reference,
    /// The customer's purchase-order number; some customers need one.
    #[serde(default)]
    #[schema(example = "PO-1007")]
    purchase_order: Option<Line<80>>,
    /// What the studio adds in its own words.
    #[serde(default)]
    note: Option<Text<2000>>,
}

/// Draft an invoice.
///
/// Makes the invoice of a signed quote: the lines that were taken, at the prices that were signed. A quote has one
/// invoice, until that is credited.
#[utoipa::path(tag = "invoice", request_body = InvoiceBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The draft.", body = InvoiceWithDocument)))]
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

/// What is written on an invoice beside what was agreed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RemarksBody {
    /// The customer's purchase-order number; some customers need one.
    #[serde(default)]
    #[schema(example = "PO-1007")]
    purchase_order: Option<Line<80>>,
    /// What the studio adds in its own words.
    #[serde(default)]
    note: Option<Text<2000>>,
}

fn remarks(purchase_order: Option<Line<80>>, note: Option<Text<2000>>) -> usecase::Remarks {
    usecase::Remarks {
        purchase_order: purchase_order.map(Line::into_string),
        note: note.map(Text::into_string).unwrap_or_default(),
    }
}

/// Write a draft anew.
///
/// Takes up what is signed by now, with other remarks; what is left out becomes empty. Only a draft can be written anew.
#[utoipa::path(tag = "invoice", request_body = RemarksBody, params(("id" = Reference, Path, description = "The invoice.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft as it now stands.", body = InvoiceWithDocument)))]
#[put("/v1/invoices/{id}")]
pub(super) async fn redraft(call: Call<Desk>, id: Path<String>, seen: IfMatch, body: Body<RemarksBody>) -> Answer {
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
/// Gives a draft the next number of its series and seals its document with seller and buyer as they are today. From then
/// on it never changes; a mistake is credited and issued again.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "The invoice.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The invoice as it now stands.", body = InvoiceWithDocument)))]
#[post("/v1/invoices/{id}/issue")]
pub(super) async fn issue(call: Call<Desk>, id: Path<String>, seen: IfMatch, _: IdempotencyKey) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let invoice = usecase::issue(tx, &id, seen)?;
        whole(tx, &invoice)
    })
    .await
}

/// Mail an invoice.
///
/// Writes the customer a mail that holds the whole invoice, with the sealed document attached.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "The invoice.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The invoice as it now stands.", body = InvoiceView)))]
#[post("/v1/invoices/{id}/send")]
pub(super) async fn send(call: Call<Desk>, id: Path<String>, seen: IfMatch, _: IdempotencyKey) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let invoice = usecase::send(tx, &id, seen)?;
        view(tx, &invoice)
    })
    .await
}

/// Why an invoice is given up.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WriteOffBody {
    /// The reason, which the log keeps: no names.
    #[schema(example = "the firm was wound up")]
    reason: Line<300>,
}

/// Write an invoice off.
///
/// Gives up what is open on it. Only the owner may.
#[utoipa::path(tag = "invoice", request_body = WriteOffBody, params(("id" = Reference, Path, description = "The invoice.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The invoice as it now stands.", body = InvoiceView)))]
#[post("/v1/invoices/{id}/write-off")]
pub(super) async fn write_off(call: Call<Owner>, id: Path<String>, seen: IfMatch, body: Body<WriteOffBody>) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let invoice = usecase::write_off(tx, &id, seen, body.value.reason.as_str())?;
        view(tx, &invoice)
    })
    .await
}
