//! Reading jobs over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_domain::id::JobId;
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::view::{JobHead, JobView};
use crate::job::usecase::{self, Forecast, Wanted};
use crate::plan;
use crate::platform::answer::{Answer, Page, item, page, plain};
use crate::platform::call::Call;
use crate::platform::clock::UtcTime;
use crate::platform::cursor::List;
use crate::platform::etag::IfNoneMatch;
use crate::platform::identity::Crew;
use crate::platform::wire::{Instant, Reference};

/// Which jobs are wanted.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct JobFilter {
    /// Only those of whoever asks: booked for, or worked on. Technicians see no others anyhow.
    #[param(nullable = false)]
    mine: Option<bool>,
    /// Only cars that stand in their bay and aren't ready.
    #[param(nullable = false)]
    open: Option<bool>,
}

/// List jobs.
///
/// One page of them, newest first. A technician sees their own.
#[utoipa::path(tag = "job", params(JobFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page.", body = Page<JobHead>)))]
#[get("/v1/jobs")]
pub(super) async fn list(call: Call<Crew>, list: List<JobFilter>) -> Answer {
    let JobFilter { mine, open } = list.filter;
    let wanted = Wanted { mine: mine.unwrap_or_default(), open: open.unwrap_or_default() };
    let paging = list.paging;
    let found = call.read(move |tx| usecase::list(tx, &wanted, &paging)).await?;
    Ok(page(&found.map(JobHead::from)))
}

/// Read a job.
///
/// With its steps: where each is, who was at it, how long it took, what it takes and what to be careful of.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "The job.")),
    responses((status = 200, description = "The job.", body = JobView), (status = 304, description = "Unchanged.")))]
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

/// When a car will be done, as far as it is by now.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobForecast)]
pub(super) struct ForecastView {
    /// Until when the diary keeps the bay for it.
    finish: Instant,
    /// When it is promised to the customer.
    promised: Instant,
    /// When it will be done, as it looks now; null where the rest has no time within ninety days.
    expected: Option<Instant>,
    /// Minutes of work that are left, with setting up and clearing up.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 95)]
    left_minutes: u32,
    /// By how much it will be later than promised; null where nobody knows when.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 30)]
    late_minutes: Option<u32>,
    /// By how much it will stay in its bay longer than that is kept for it; null likewise.
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

/// Ask when a car will be done.
///
/// What is left of its steps, signed variations and all, placed from now on in the bay where it stands, among people's
/// other work; of a car that is ready, when it was. Where it stays longer than its bay is kept for it, a proposal with
/// this car as an overrun says what moves.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "The job.")),
    responses((status = 200, description = "How it looks.", body = ForecastView)))]
#[get("/v1/jobs/{id}/forecast")]
pub(super) async fn forecast(call: Call<Crew>, id: Path<String>) -> Answer {
    let id = JobId::new(id.into_inner());
    let seen = call.read(move |tx| usecase::forecast(tx, &id)).await?;
    Ok(plain(&ForecastView::from(seen)))
}
