//! Bays over HTTP.

use std::collections::BTreeSet;

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_core::booking::usecase::warn_of_broken;
use baywright_core::platform::identity::{Crew, Desk};
use baywright_core::platform::paging::Mark;
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::usecase::{self, Bay, BayDetails};
use baywright_domain::id::BayId;
use baywright_domain::menu;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::{Body, at_most};
use crate::platform::call::Call;
use crate::platform::cursor::{Kept, List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Code, Instant, Line, Reference};

/// Maximum number of features of a bay.
const MOST_FEATURES: usize = 30;

/// Bay: a place where a car stands while work is done on it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BayBody {
    /// Name of the bay.
    #[schema(example = "Bay 1")]
    name: Line<60>,
    /// Features of the bay, as the steps of the menu name them: `cover`, `dust-free`, `drain`, `lift`, `power`, and the
    /// shop's own.
    #[serde(default)]
    #[schema(max_items = 30, example = json!(["cover", "drain", "power"]))]
    features: Vec<Code>,
    /// Whether cars are still put into the bay; true if left out.
    #[serde(default = "yes")]
    #[schema(required = false)]
    in_use: bool,
}

fn yes() -> bool {
    true
}

/// Bay: a place where a car stands while work is done on it.
#[derive(Debug, Serialize, ToSchema)]
pub struct BayView {
    /// Id of the bay.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Name of the bay.
    #[schema(max_length = 60)]
    name: String,
    /// Features of the bay, in alphabetical order.
    #[schema(max_items = 30)]
    features: Vec<Code>,
    /// Whether cars are still put into the bay.
    in_use: bool,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(BayView);

/// Codes of the menu from a list in the body; `pointer` is the position of the list.
pub(crate) fn codes(given: &[Code], pointer: &str, most: usize) -> Result<BTreeSet<menu::Code>, Refused> {
    at_most(pointer, given.len(), most)?;
    let mut codes = BTreeSet::new();
    for (at, code) in given.iter().enumerate() {
        let code = menu::Code::parse(code.as_str())
            .map_err(|e| Refused::field(format!("{pointer}/{at}"), "bad_code", format!("{e}.")))?;
        codes.insert(code);
    }
    Ok(codes)
}

/// Codes of the menu as they go out.
pub(crate) fn words(codes: &BTreeSet<menu::Code>) -> Vec<Code> {
    codes.iter().filter_map(|code| Code::parse(code.as_str()).ok()).collect()
}

impl BayBody {
    fn details(self) -> Result<BayDetails, Refused> {
        let features = codes(&self.features, "/features", MOST_FEATURES)?;
        Ok(BayDetails { name: self.name.into_string(), features, in_use: self.in_use })
    }
}

impl From<Bay> for BayView {
    fn from(bay: Bay) -> Self {
        Self {
            id: Reference::from(&bay.id),
            version: bay.version,
            name: bay.details.name,
            features: words(&bay.details.features),
            in_use: bay.details.in_use,
            created_at: Instant(bay.created_at),
            updated_at: Instant(bay.updated_at),
        }
    }
}

/// List the bays.
///
/// Returns one page of bays, in the order in which they were added, including those out of use.
#[utoipa::path(tag = "shop", params(crate::platform::cursor::PageParams),
    responses((status = 200, description = "One page of bays.", body = Page<BayView>)))]
#[get("/v1/bays")]
pub(super) async fn list(call: Call<Crew>, list: List<NoFilter, Kept>) -> Answer {
    let all = call.read(usecase::bays).await?;
    Ok(page(&list.links, list.paging.cut(all, |bay| Mark::of_id(bay.id.as_str())).map(BayView::from)))
}

/// Add a bay.
#[utoipa::path(tag = "shop", request_body = BayBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new bay.", body = BayView)))]
#[post("/v1/bays")]
pub(super) async fn create(call: Call<Desk>, _: IdempotencyKey, body: Body<BayBody>) -> Answer {
    let details = body.value.details()?;
    call.create(move |tx| {
        let view = BayView::from(usecase::add_bay(tx, &details)?);
        Ok(Created { location: format!("/v1/bays/{}", view.id), view })
    })
    .await
}

/// Read a bay.
#[utoipa::path(tag = "shop", params(("id" = Reference, Path, description = "Id of the bay.")),
    responses((status = 200, description = "The requested bay.", body = BayView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/bays/{id}")]
pub(super) async fn show(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = BayId::new(id.into_inner());
    let bay = call.read(move |tx| usecase::show_bay(tx, &id)).await?;
    Ok(item(&BayView::from(bay), &known))
}

/// Replace the details of a bay.
///
/// Bookings in the bay stay unchanged, even if the bay is taken out of use.
#[utoipa::path(tag = "shop", request_body = BayBody, params(("id" = Reference, Path, description = "Id of the bay.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The bay after the change.", body = BayView)))]
#[put("/v1/bays/{id}")]
pub(super) async fn replace(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<BayBody>) -> Answer {
    let (id, details) = (BayId::new(id.into_inner()), body.value.details()?);
    call.change(move |tx| {
        let bay = warn_of_broken(tx, "/features", |tx| usecase::replace_bay(tx, &id, seen, &details))?;
        Ok(BayView::from(bay))
    })
    .await
}
