//! Search over HTTP.

use actix_web::get;
use baywright_core::platform::identity::Desk;
use baywright_core::search::usecase::{self, Hit, MOST};
use baywright_core::visit;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, plain};
use crate::platform::body::{Query, bad_parameter};
use crate::platform::call::Call;
use crate::platform::wire::{Line, Reference};
use crate::visit::VisitHead;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(search);
}

/// Maximum number of visits in the answer to a search.
const MOST_VISITS: i64 = 20;

/// Text and limit of a search.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct SearchParams {
    /// Start of any word of a name, a registration, a telephone number or an email address, or the start or the last
    /// part of the number of a quote or an invoice; all of several words must be found.
    #[param(example = "byr")]
    q: Line<100>,
    /// Number of results, at most 50; 20 if left out.
    #[param(minimum = 1, maximum = 50, nullable = false)]
    limit: Option<u8>,
}

/// Result of a search.
#[derive(Debug, Serialize, ToSchema)]
struct HitView {
    /// Kind of record: `customer`, `vehicle`, `enquiry`, `quote`, `invoice` or `credit_note`; more kinds may be added.
    #[schema(max_length = 40, example = "customer")]
    kind: String,
    /// Id of the record.
    id: Reference,
    /// Name of the record as people read it.
    #[schema(max_length = 200, example = "Aoife Byrne")]
    title: String,
    /// Detail that distinguishes the record from others of the same name.
    #[schema(max_length = 300, example = "+353 20 910 0000")]
    detail: String,
}

/// Results of a search.
#[derive(Debug, Serialize, ToSchema)]
struct Found {
    /// Records that were found, newest first.
    #[schema(max_items = 50)]
    items: Vec<HitView>,
    /// Whether there are more results; a longer text finds fewer.
    more: bool,
    /// Newest visits of the quotes, invoices, customers and vehicles among the results, with booking, job and next act.
    #[schema(max_items = 20)]
    visits: Vec<VisitHead>,
}

impl From<Hit> for HitView {
    fn from(hit: Hit) -> Self {
        Self { kind: hit.kind, id: Reference::from(&hit.id), title: hit.title, detail: hit.detail }
    }
}

/// Search while typing.
///
/// Finds customers by name, telephone number and email address, vehicles by registration, make and model, quotes and
/// invoices by their number, and the newest visits of all of these, with their bookings and jobs. Accents, capitals and
/// separators make no difference.
#[utoipa::path(tag = "search", params(SearchParams), responses((status = 200, description = "Records that were found.",
    body = Found)))]
#[get("/v1/search")]
async fn search(call: Call<Desk>, asked: Query<SearchParams>) -> Answer {
    let asked = asked.0;
    let limit = i64::from(asked.limit.unwrap_or(20));
    if !(1..=MOST).contains(&limit) {
        return Err(bad_parameter("limit", format!("limit: write a whole number from 1 to {MOST}.")));
    }
    let found = call
        .read(move |tx| {
            let (hits, more) = usecase::search(tx, asked.q.as_str(), limit)?;
            let visits = visit::usecase::of_hits(tx, &hits, MOST_VISITS)?;
            let visits = visits.iter().map(|visit| VisitHead::of(visit, tx.studio.currency)).collect();
            Ok(Found { items: hits.into_iter().map(HitView::from).collect(), more, visits })
        })
        .await?;
    Ok(plain(&found))
}
