//! Closures over HTTP.

use actix_web::web::Path;
use actix_web::{delete, get, post, put};
use baywright_core::booking::usecase::warn_of_broken;
use baywright_core::platform::identity::{Crew, Desk};
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::usecase::{self, Closure, ClosureDetails};
use baywright_domain::calendar::Dates;
use baywright_domain::id::{BayId, ClosureId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Day, Instant, Line, Reference};

/// Closure: days on which the shop, or one of its bays, is closed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "first_day": "2026-12-24", "last_day": "2026-12-26", "reason": "Holidays" }))]
pub struct ClosureBody {
    /// Id of the bay that is closed; null or left out for the whole shop.
    #[serde(default)]
    bay_id: Option<Reference>,
    /// First day of the closure, in the shop's time zone.
    first_day: Day,
    /// Last day of the closure, in the shop's time zone; the same as the first for a single day.
    last_day: Day,
    /// Reason for the closure, as people read it.
    reason: Line<200>,
}

/// Closure: days on which the shop, or one of its bays, is closed.
#[derive(Debug, Serialize, ToSchema)]
pub struct ClosureView {
    /// Id of the closure.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the bay that is closed; null for the whole shop.
    bay_id: Option<Reference>,
    /// First day of the closure, in the shop's time zone.
    first_day: Day,
    /// Last day of the closure, in the shop's time zone; the same as the first for a single day.
    last_day: Day,
    /// Reason for the closure, as people read it.
    #[schema(max_length = 200)]
    reason: String,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(ClosureView);

impl ClosureBody {
    fn details(self) -> Result<ClosureDetails, Refused> {
        let dates = Dates::through(self.first_day.0, self.last_day.0)
            .map_err(|e| Refused::field("/last_day", "empty_dates", format!("{e}.")))?;
        let bay = self.bay_id.map(|id| BayId::new(id.into_string()));
        Ok(ClosureDetails { bay, dates, reason: self.reason.into_string() })
    }
}

impl From<Closure> for ClosureView {
    fn from(closure: Closure) -> Self {
        Self {
            id: Reference::from(&closure.id),
            version: closure.version,
            bay_id: closure.details.bay.as_ref().map(Reference::from),
            first_day: Day(closure.details.dates.from()),
            last_day: Day(closure.details.dates.last()),
            reason: closure.details.reason,
            created_at: Instant(closure.created_at),
            updated_at: Instant(closure.updated_at),
        }
    }
}

/// List the closures.
///
/// Returns one page of closures, newest first.
#[utoipa::path(tag = "shop", params(crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of closures.", body = Page<ClosureView>)))]
#[get("/v1/closures")]
pub(super) async fn list(call: Call<Crew>, list: List<NoFilter>) -> Answer {
    let found = call.read(move |tx| usecase::closures(tx, &list.paging)).await?;
    Ok(page(&list.links, found.map(ClosureView::from)))
}

/// Add a closure.
///
/// Bookings during the closure stay unchanged: `warnings` names each, with the path at which to ask for new times. 409
/// `closure-twice` if exactly this closure exists already; one that overlaps another causes a warning. A last day more
/// than a year ahead needs the confirmation `far-ahead`, a first day more than a month ago `long-past`.
#[utoipa::path(tag = "shop", request_body = ClosureBody,
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["far-ahead", "long-past"]))),
    responses((status = 201, description = "The new closure.", body = ClosureView)))]
#[post("/v1/closures")]
pub(super) async fn create(call: Call<Desk>, _: IdempotencyKey, body: Body<ClosureBody>) -> Answer {
    let details = body.value.details()?;
    call.create(move |tx| {
        let closure = warn_of_broken(tx, "/first_day", |tx| usecase::add_closure(tx, &details))?;
        let view = ClosureView::from(closure);
        Ok(Created { location: format!("/v1/closures/{}", view.id), view })
    })
    .await
}

/// Read a closure.
#[utoipa::path(tag = "shop", params(("id" = Reference, Path, description = "Id of the closure.")),
    responses((status = 200, description = "The requested closure.", body = ClosureView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/closures/{id}")]
pub(super) async fn show(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = ClosureId::new(id.into_inner());
    let closure = call.read(move |tx| usecase::show_closure(tx, &id)).await?;
    Ok(item(&ClosureView::from(closure), &known))
}

/// Replace a closure.
///
/// A new last day more than a year ahead needs the confirmation `far-ahead`, a new first day more than a month ago
/// `long-past`.
#[utoipa::path(tag = "shop", request_body = ClosureBody,
    params(("id" = Reference, Path, description = "Id of the closure.")),
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["far-ahead", "long-past"]))),
    responses((status = 200, description = "The closure after the change.", body = ClosureView)))]
#[put("/v1/closures/{id}")]
pub(super) async fn replace(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<ClosureBody>,
) -> Answer {
    let (id, details) = (ClosureId::new(id.into_inner()), body.value.details()?);
    call.change(move |tx| {
        let closure = warn_of_broken(tx, "/first_day", |tx| usecase::replace_closure(tx, &id, seen, &details))?;
        Ok(ClosureView::from(closure))
    })
    .await
}

/// Delete a closure.
///
/// The shop, or the bay, is open again on these days.
#[utoipa::path(tag = "shop", params(("id" = Reference, Path, description = "Id of the closure.")),
    extensions(("x-if-match" = json!(true))), responses((status = 204, description = "The closure is deleted.")))]
#[delete("/v1/closures/{id}")]
pub(super) async fn remove(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = ClosureId::new(id.into_inner());
    call.remove(move |tx| usecase::remove_closure(tx, &id, seen)).await
}
