//! Reading invoices.

use actix_web::http::header::{CONTENT_TYPE, ETAG};
use actix_web::web::Path;
use actix_web::{HttpResponse, get};
use baywright_core::invoice::usecase;
use baywright_core::platform::identity::Accounts;
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::InvoiceId;

use super::document::InvoiceDocumentView;
use super::{InvoiceFilter, InvoiceView, InvoiceWithDocument, whole};
use crate::platform::answer::{Answer, Page, item, page};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfNoneMatch, tag};
use crate::platform::wire::Reference;

/// List the invoices.
///
/// Returns one page of invoices, newest first, without their documents.
#[utoipa::path(tag = "invoice", params(InvoiceFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of invoices.", body = Page<InvoiceView>)))]
#[get("/v1/invoices")]
pub(super) async fn list(call: Call<Accounts>, list: List<InvoiceFilter>) -> Answer {
    let wanted = list.filter.into();
    let found = call
        .read(move |tx| {
            let today = tx.today()?;
            let currency = tx.studio.currency;
            Ok(usecase::list(tx, &wanted, &list.paging)?.map(|invoice| InvoiceView::of(&invoice, currency, today)))
        })
        .await?;
    Ok(page(&list.links, found))
}

/// Read an invoice.
///
/// Returns one invoice with its document: lines, taxes and totals, seller and buyer.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "Id of the invoice.")),
    responses((status = 200, description = "The requested invoice.", body = InvoiceWithDocument),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/invoices/{id}")]
pub(super) async fn show(call: Call<Accounts>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    let invoice = call
        .read(move |tx| {
            let invoice = usecase::show(tx, &id)?;
            whole(tx, &invoice)
        })
        .await?;
    Ok(item(&invoice, &known))
}

/// Read the sealed document of an issued invoice.
///
/// Returns the canonical JSON (RFC 8785) byte for byte: its SHA-256 in lower-case hex is the invoice's `digest`.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "Id of the invoice.")),
    responses((status = 200, description = "Sealed document of the invoice.",
        body = InvoiceDocumentView)))]
#[get("/v1/invoices/{id}/sealed")]
pub(super) async fn sealed(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    let invoice = call.read(move |tx| usecase::show(tx, &id)).await?;
    if invoice.digest.is_none() {
        return Err(Refused::not_found("sealed document of this invoice: it is still a draft").into());
    }
    let tag = (ETAG, tag(invoice.version));
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, "application/json")).insert_header(tag).body(invoice.text))
}
