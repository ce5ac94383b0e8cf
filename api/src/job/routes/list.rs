//! Reading jobs over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_domain::id::JobId;
use serde::Deserialize;

use super::view::{JobHead, JobView};
use crate::job::usecase::{self, Wanted};
use crate::plan;
use crate::platform::answer::{Answer, Page, item, page};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::IfNoneMatch;
use crate::platform::identity::Crew;
use crate::platform::wire::Reference;

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
#[utoipa::path(tag = "job", params(JobFilter, crate::platform::cursor::PageParams),
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
            let plan = plan::usecase::show(tx, &job.plan)?;
            let running = job.steps.iter().any(|step| step.pieces().iter().any(|piece| piece.until.is_none()));
            Ok((JobView::of(&job, &plan.form, tx.now), running))
        })
        .await?;
    // Clocks run without a change of the version.
    let known = if running { IfNoneMatch::default() } else { known };
    Ok(item(&view, &known))
}
