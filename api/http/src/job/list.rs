//! Reading jobs over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_core::job::usecase::{self, Forecast, Wanted};
use baywright_core::plan;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::identity::Crew;
use baywright_domain::id::JobId;
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::view::{JobHead, JobView};
use crate::platform::answer::{Answer, Page, item, page, plain};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::IfNoneMatch;
use crate::platform::wire::{Instant, Reference};

/// Conditions for the list of jobs.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct JobFilter {
    /// Limits the list to the caller's own jobs: booked for them, or worked on by them. Technicians see only their own
    /// in any case.
    #[param(nullable = false)]
    mine: Option<bool>,
    /// Limits the list to cars that are in their bay and not ready.
    #[param(nullable = false)]
    open: Option<bool>,
}

/// List the jobs.
///
/// Returns one page of jobs, newest first. Technicians see their own jobs.
#[utoipa::path(tag = "job", params(JobFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of jobs.", body = Page<JobHead>)))]
#[get("/v1/jobs")]
pub(super) async fn list(call: Call<Crew>, list: List<JobFilter>) -> Answer {
    let JobFilter { mine, open } = list.filter;
    let wanted = Wanted { mine: mine.unwrap_or_default(), open: open.unwrap_or_default() };
    let paging = list.paging;
    let found = call.read(move |tx| usecase::list(tx, &wanted, &paging)).await?;
    Ok(page(&list.links, found.map(JobHead::from)))
}

/// Read a job.
///
/// Returns the job with its steps: state, people, times, products and cautions.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "Id of the job.")),
    responses((status = 200, description = "The requested job.", body = JobView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/jobs/{id}")]
pub(super) async fn show(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = JobId::new(id.into_inner());
    let (view, running) = call
        .read(move |tx| {
            let job = usecase::show(tx, &id)?;
            let plan = plan::usecase::show(tx, &job.plan)?.with(job.booking.hands)?;
            let running = job.steps.iter().any(|step| step.pieces().iter().any(|piece| piece.until.is_none()));
            Ok((JobView::of(&job, &plan.form, tx.now), running))
        })
        .await?;
    // Clocks run without a change of the version.
    let known = if running { IfNoneMatch::default() } else { known };
    Ok(item(&view, &known))
}

/// Forecast of the time when a car will be done.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobForecast)]
pub(crate) struct ForecastView {
    /// Time until which the diary keeps the bay for the car, RFC 3339 in UTC.
    finish: Instant,
    /// Finish that the customer is promised, RFC 3339 in UTC.
    promised: Instant,
    /// Expected finish, RFC 3339 in UTC; null if the remaining work does not fit into the next ninety days.
    expected: Option<Instant>,
    /// Remaining work, in minutes, including setting up and clearing up.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 95)]
    left_minutes: u32,
    /// Delay of the expected finish after the promised one, in minutes; null if the expected finish is unknown.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 30)]
    late_minutes: Option<u32>,
    /// Time by which the car stays longer in its bay than the bay is kept for it, in minutes; null if the expected
    /// finish is unknown.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 45)]
    over_minutes: Option<u32>,
}

impl From<Forecast> for ForecastView {
    fn from(seen: Forecast) -> Self {
        Self {
            finish: Instant(UtcTime::from_minute(seen.finish)),
            promised: Instant(UtcTime::from_minute(seen.promised)),
            expected: seen.expected.map(|at| Instant(UtcTime::from_minute(at))),
            left_minutes: seen.left.get(),
            late_minutes: seen.late().map(Minutes::get),
            over_minutes: seen.over().map(Minutes::get),
        }
    }
}

/// Forecast when a car will be done.
///
/// Schedules the remaining steps, including signed variations, from now on in the car's bay among the other work of the
/// people. For a car that is ready, returns when it became ready. If the car stays longer than its bay is kept for it,
/// a rescheduling with this car as an overrun shows what moves.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "Id of the job.")),
    responses((status = 200, description = "Forecast for the car.", body = ForecastView)))]
#[get("/v1/jobs/{id}/forecast")]
pub(super) async fn forecast(call: Call<Crew>, id: Path<String>) -> Answer {
    let id = JobId::new(id.into_inner());
    let seen = call.read(move |tx| usecase::forecast(tx, &id)).await?;
    Ok(plain(&ForecastView::from(seen)))
}
