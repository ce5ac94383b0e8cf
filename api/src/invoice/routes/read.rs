//! Reading invoices.

use actix_web::http::header::{CONTENT_TYPE, ETAG};
use actix_web::web::Path;
use actix_web::{HttpResponse, get};
use baywright_domain::id::InvoiceId;

use super::{InvoiceFilter, InvoiceView, InvoiceWithDocument, whole};
use crate::invoice::usecase;
use crate::platform::answer::{Answer, Page, item, page};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfNoneMatch, tag};
use crate::platform::identity::Accounts;
use crate::platform::problem::Problem;
use crate::platform::wire::Reference;

/// List invoices.
///
/// One page of them, newest first, without their documents.
#[utoipa::path(tag = "invoice", params(InvoiceFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page.", body = Page<InvoiceView>)))]
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
    Ok(page(&found))
}

/// Read an invoice.
///
/// One invoice with its document: lines, taxes and totals, seller and buyer.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "The invoice.")),
    responses((status = 200, description = "The invoice.", body = InvoiceWithDocument), (status = 304, description = "Unchanged.")))]
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
/// The canonical JSON (RFC 8785) to the byte: its SHA-256 in lower-case hex is the invoice's `digest`.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "The invoice.")),
    responses((status = 200, description = "The document.", body = crate::invoice::form::InvoiceDocument)))]
#[get("/v1/invoices/{id}/sealed")]
pub(super) async fn sealed(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    let invoice = call.read(move |tx| usecase::show(tx, &id)).await?;
    if invoice.digest.is_none() {
        return Err(Problem::not_found("sealed document of this invoice: it is still a draft"));
    }
    let tag = (ETAG, tag(invoice.version));
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, "application/json")).insert_header(tag).body(invoice.text))
}
