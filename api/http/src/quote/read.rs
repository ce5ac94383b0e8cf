//! Reading quotes.

use actix_web::get;
use actix_web::web::Path;
use baywright_core::platform::identity::Accounts;
use baywright_core::quote::usecase::{self, Wanted};
use baywright_domain::id::{CustomerId, QuoteId, VehicleId};

use super::body::QuoteFilter;
use super::view::{QuoteRevisionView, QuoteSummary, QuoteView};
use crate::platform::answer::{Answer, Page, item, page};
use crate::platform::call::Call;
use crate::platform::cursor::{DatedParams, List};
use crate::platform::etag::IfNoneMatch;
use crate::platform::wire::Reference;

/// List the quotes.
///
/// Returns one page of quotes with their latest revision, newest first. A sent quote that has expired counts as lapsed
/// at once.
#[utoipa::path(tag = "quote", params(DatedParams, QuoteFilter),
    responses((status = 200, description = "One page of quotes.", body = Page<QuoteSummary>)))]
#[get("/v1/quotes")]
pub(super) async fn list(call: Call<Accounts>, list: List<QuoteFilter>) -> Answer {
    let List { filter, paging, .. } = list;
    let wanted = Wanted {
        states: filter.state.0,
        customer: filter.customer_id.map(|id| CustomerId::new(id.as_str())),
        vehicle: filter.vehicle_id.map(|id| VehicleId::new(id.as_str())),
    };
    let (found, currency) = call.read(move |tx| Ok((usecase::list(tx, &wanted, &paging)?, tx.studio.currency))).await?;
    Ok(page(&list.links, found.map(|listed| QuoteSummary::of(listed, currency))))
}

/// Read a quote.
///
/// Returns the quote with its latest revision; a draft is priced as it would be now.
#[utoipa::path(tag = "quote", params(("id" = Reference, Path, description = "Id of the quote.")),
    responses((status = 200, description = "The requested quote.", body = QuoteView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/quotes/{id}")]
pub(super) async fn show(call: Call<Accounts>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let view = call.read(move |tx| QuoteView::of(usecase::show(tx, &id)?, tx)).await?;
    let known = if view.is_booked() { IfNoneMatch::default() } else { known };
    Ok(item(&view, &known))
}

/// Read one revision of a quote.
///
/// Only the state of a revision changes after it was sent.
#[utoipa::path(tag = "quote", params(("id" = Reference, Path, description = "Id of the quote."),
    ("number" = u32, Path, minimum = 1, maximum = 10000, description = "Number of the revision, from 1.")),
    responses((status = 200, description = "The requested revision.", body = QuoteRevisionView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/quotes/{id}/revisions/{number}")]
pub(super) async fn revision(call: Call<Accounts>, path: Path<(String, u32)>, known: IfNoneMatch) -> Answer {
    let (id, number) = path.into_inner();
    let id = QuoteId::new(id);
    let (quote, revision) = call.read(move |tx| usecase::show_revision(tx, &id, number)).await?;
    Ok(item(&QuoteRevisionView::of(&quote, revision), &known))
}
