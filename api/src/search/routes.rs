//! Search over HTTP.

use actix_web::get;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, Hit, MOST};
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Query;
use crate::platform::call::Call;
use crate::platform::identity::Desk;
use crate::platform::problem::Problem;
use crate::platform::wire::{Line, Reference};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(search);
}

/// What is searched for.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct SearchParams {
    /// The start of any word of a name, a registration, a telephone number or a mail address, or the start or the last
    /// part of the number of a quote or an invoice; several words must all be found.
    #[param(example = "byr")]
    q: Line<100>,
    /// How many are answered at most; 20 where not said, and never more than 50.
    #[param(minimum = 1, maximum = 50, nullable = false)]
    limit: Option<u8>,
}

/// Something that was found.
#[derive(Debug, Serialize, ToSchema)]
struct HitView {
    /// What kind of record it is: `customer`, `vehicle`, `enquiry`, `quote` or `invoice`; there may be more.
    #[schema(max_length = 40, example = "customer")]
    kind: String,
    /// The record's id.
    id: Reference,
    /// What it is called.
    #[schema(max_length = 200, example = "Aoife Byrne")]
    title: String,
    /// What tells it from others of that name.
    #[schema(max_length = 300, example = "+353 20 910 0000")]
    detail: String,
}

/// What was found.
#[derive(Debug, Serialize, ToSchema)]
struct Found {
    /// The records, newest first.
    #[schema(max_items = 50)]
    items: Vec<HitView>,
    /// Whether there are more; type more to see fewer.
    more: bool,
}

impl From<Hit> for HitView {
    fn from(hit: Hit) -> Self {
        Self { kind: hit.kind, id: Reference::from(&hit.id), title: hit.title, detail: hit.detail }
    }
}

/// Search as you type.
///
/// Customers by name, telephone number and mail address, vehicles by registration, make and model, quotes and invoices by
/// their number. Accents, capitals and separators make no difference.
#[utoipa::path(tag = "search", params(SearchParams), responses((status = 200, description = "What was found.", body = Found)))]
#[get("/v1/search")]
async fn search(call: Call<Desk>, asked: Query<SearchParams>) -> Answer {
    let asked = asked.0;
    let limit = i64::from(asked.limit.unwrap_or(20));
    if !(1..=MOST).contains(&limit) {
        return Err(Problem::malformed(format!("limit must be 1 to {MOST}.")));
    }
    let (hits, more) = call.read(move |tx| usecase::search(tx, asked.q.as_str(), limit)).await?;
    Ok(plain(&Found { items: hits.into_iter().map(HitView::from).collect(), more }))
}
