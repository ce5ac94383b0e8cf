//! Bays over HTTP.

use std::collections::BTreeSet;

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_domain::id::BayId;
use baywright_domain::menu;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::booking::usecase::warn_of_broken;
use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::{Body, at_most};
use crate::platform::call::Call;
use crate::platform::cursor::{Kept, List, Mark, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::identity::{Crew, Desk};
use crate::platform::problem::Problem;
use crate::platform::wire::{Code, Instant, Line, Reference};
use crate::shop::usecase::{self, Bay, BayDetails};

/// The most features of a bay.
const MOST_FEATURES: usize = 30;

/// A place where a car stands while it is worked on.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BayBody {
    /// Its name.
    #[schema(example = "Bay 1")]
    name: Line<60>,
    /// What it has, in the words that the menu's steps ask for: `cover`, `dust-free`, `drain`, `lift`, `power`, and the
    /// shop's own.
    #[serde(default)]
    #[schema(max_items = 30, example = json!(["cover", "drain", "power"]))]
    features: Vec<Code>,
    /// Whether cars are still put there; yes where not said.
    #[serde(default = "yes")]
    #[schema(required = false)]
    in_use: bool,
}

fn yes() -> bool {
    true
}

/// A bay.
#[derive(Debug, Serialize, ToSchema)]
pub struct BayView {
    /// The bay's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Its name.
    #[schema(max_length = 60)]
    name: String,
    /// What it has, in alphabetical order.
    #[schema(max_items = 30)]
    features: Vec<Code>,
    /// Whether cars are still put there.
    in_use: bool,
    /// When the record was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

crate::versioned!(BayView);

/// Codes of the menu out of a body's list; `pointer` is where the list stands in it.
pub(crate) fn codes(given: &[Code], pointer: &str, most: usize) -> Result<BTreeSet<menu::Code>, Problem> {
    at_most(pointer, given.len(), most)?;
    let mut codes = BTreeSet::new();
    for (at, code) in given.iter().enumerate() {
        let code = menu::Code::parse(code.as_str())
            .map_err(|e| Problem::field(format!("{pointer}/{at}"), "bad_code", format!("{e}.")))?;
        codes.insert(code);
    }
    Ok(codes)
}

/// Codes of the menu as they go out.
pub(crate) fn words(codes: &BTreeSet<menu::Code>) -> Vec<Code> {
    codes.iter().filter_map(|code| Code::parse(code.as_str()).ok()).collect()
}

impl BayBody {
    fn details(self) -> Result<BayDetails, Problem> {
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

/// List bays.
///
/// One page of them, in the order they were added; those out of use too.
#[utoipa::path(tag = "shop", params(crate::platform::cursor::PageParams),
    responses((status = 200, description = "One page.", body = Page<BayView>)))]
#[get("/v1/bays")]
pub(super) async fn list(call: Call<Crew>, list: List<NoFilter, Kept>) -> Answer {
    let all = call.read(usecase::bays).await?;
    Ok(page(&list.paging.cut(all, |bay| Mark::of_id(bay.id.as_str())).map(BayView::from)))
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
#[utoipa::path(tag = "shop", params(("id" = Reference, Path, description = "The bay.")),
    responses((status = 200, description = "The bay.", body = BayView), (status = 304, description = "Unchanged.")))]
#[get("/v1/bays/{id}")]
pub(super) async fn show(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = BayId::new(id.into_inner());
    let bay = call.read(move |tx| usecase::show_bay(tx, &id)).await?;
    Ok(item(&BayView::from(bay), &known))
}

/// Replace what is known of a bay.
///
/// Bookings in it stay, also where it goes out of use.
#[utoipa::path(tag = "shop", request_body = BayBody, params(("id" = Reference, Path, description = "The bay.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The bay as it now stands.", body = BayView)))]
#[put("/v1/bays/{id}")]
pub(super) async fn replace(call: Call<Desk>, id: Path<String>, seen: IfMatch, body: Body<BayBody>) -> Answer {
    let (id, details) = (BayId::new(id.into_inner()), body.value.details()?);
    call.change(move |tx| {
        let bay = warn_of_broken(tx, "/features", |tx| usecase::replace_bay(tx, &id, seen, &details))?;
        Ok(BayView::from(bay))
    })
    .await
}
