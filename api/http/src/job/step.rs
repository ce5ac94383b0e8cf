//! The steps of a job over HTTP.

use std::collections::BTreeMap;

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::job::usecase::{self, Finish, Job, Said, Step};
use baywright_core::plan;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Crew;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_domain::id::{JobId, PersonId};
use baywright_domain::menu;
use rust_decimal::Decimal;
use serde::Deserialize;
use utoipa::ToSchema;

use super::view::StepView;
use crate::platform::answer::{Answer, item};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::wire::{Code, Instant, Line, Number, Reference};

/// Person who starts or stops work on the step.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DoerBody {
    /// Id of the person who works; null for the caller. Only the desk may name somebody else.
    #[serde(default)]
    person_id: Option<Reference>,
    /// Time when it was done, RFC 3339: within the last 24 hours, and not before the work that came before it. Null or left
    /// out for now.
    #[serde(default)]
    at: Option<Instant>,
}

impl DoerBody {
    fn said(self, seen: Seen) -> Said {
        Said { seen: Some(seen), who: self.person_id.map(PersonId::new), at: self.at.map(|at| at.0) }
    }
}

/// Products used for a step.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FinishBody {
    /// Amounts of the products that were used; empty if nobody measured.
    #[schema(max_items = 100)]
    used: Vec<UsedBody>,
    /// Time when it was done, RFC 3339: within the last 24 hours, and not before the work that came before it. Null or left
    /// out for now.
    #[serde(default)]
    at: Option<Instant>,
}

/// Amount of a product that was used.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = UsedProductBody)]
#[serde(deny_unknown_fields)]
pub(super) struct UsedBody {
    /// Code of the product, one of those that the plan has for the step.
    product: Code,
    /// Amount used, ready to use, in the product's unit.
    amount: Number,
}

/// Reason for removing a step.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RemoveStepBody {
    /// Reason why the step will not be done.
    #[schema(example = "The clear coat is too thin to sand.")]
    reason: Line<500>,
}

pub(super) fn address(path: Path<(String, String)>) -> Result<(JobId, menu::Code), Refused> {
    let (id, code) = path.into_inner();
    let code = menu::Code::parse(&code).map_err(|_| Refused::not_found("step"))?;
    Ok((JobId::new(id), code))
}

fn view(tx: &mut Tx<'_>, job: &Job, step: &Step) -> Done<StepView> {
    let plan = plan::usecase::show(tx, &job.plan)?.with(job.booking.hands)?;
    Ok(StepView::of(job, step, &plan.form, tx.now))
}

/// Changes the step at that address; returns the step after the change.
pub(super) async fn go(
    call: Call<Crew>,
    (id, code): (JobId, menu::Code),
    mut f: impl FnMut(&mut Tx<'_>, &JobId, &menu::Code) -> Done<(Job, Step)> + Send + 'static,
) -> Answer {
    call.change(move |tx| {
        let (job, step) = f(tx, &id, &code)?;
        view(tx, &job, &step)
    })
    .await
}

/// Read a step of a job.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "Id of the job."),
        ("code" = Code, Path, description = "Code of the step.")),
    responses((status = 200, description = "The requested step.", body = StepView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/jobs/{id}/steps/{code}")]
pub(super) async fn show(call: Call<Crew>, path: Path<(String, String)>, known: IfNoneMatch) -> Answer {
    let (id, code) = address(path)?;
    let (view, changes) = call
        .read(move |tx| {
            let job = usecase::show(tx, &id)?;
            let step = job.step(&code).ok_or_else(|| Refused::not_found("step"))?;
            Ok((view(tx, &job, step)?, !step.step.state.is_settled()))
        })
        .await?;
    // A step changes without a change of its version while its clock runs, or when other steps let it begin.
    let known = if changes { IfNoneMatch::default() } else { known };
    Ok(item(&view, &known))
}

/// Start a step.
///
/// Records that somebody begins the step, continues it, or joins those who work on it. Refused while steps before it
/// are not finished or removed, or are still drying or curing; while the person works on another step; and if the step
/// removes paint while readings are beyond the shop's limits and the owner has not decided to go on. A car that was
/// waiting outside its bay moves into the bay when its first step starts: 409 `bay-occupied` if another car is there;
/// if that one is ready, the confirmation `bay-not-cleared` says that it was driven out.
#[utoipa::path(tag = "job", request_body = DoerBody, params(("id" = Reference, Path, description = "Id of the job."),
        ("code" = Code, Path, description = "Code of the step.")),
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["bay-not-cleared"]))),
    responses((status = 200, description = "The step after the change.", body = StepView)))]
#[post("/v1/jobs/{id}/steps/{code}/start")]
pub(super) async fn start(
    call: Call<Crew>,
    path: Path<(String, String)>,
    IfMatch(seen): IfMatch,
    body: Body<DoerBody>,
) -> Answer {
    let said = body.value.said(seen);
    go(call, address(path)?, move |tx, id, code| usecase::start(tx, id, code, &said)).await
}

/// Stop a step for now.
///
/// Records that a person stops working on the step. Its state becomes PAUSED once nobody works on it.
#[utoipa::path(tag = "job", request_body = DoerBody, params(("id" = Reference, Path, description = "Id of the job."),
        ("code" = Code, Path, description = "Code of the step.")), extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step after the change.", body = StepView)))]
#[post("/v1/jobs/{id}/steps/{code}/stop")]
pub(super) async fn stop(
    call: Call<Crew>,
    path: Path<(String, String)>,
    IfMatch(seen): IfMatch,
    body: Body<DoerBody>,
) -> Answer {
    let said = body.value.said(seen);
    go(call, address(path)?, move |tx, id, code| usecase::stop(tx, id, code, &said)).await
}

/// Finish a step.
///
/// Stops the work of everybody on the step and stores the products that were used. Later steps may begin once the step
/// has dried or cured.
#[utoipa::path(tag = "job", request_body = FinishBody, params(("id" = Reference, Path, description = "Id of the job."),
        ("code" = Code, Path, description = "Code of the step.")), extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step after the change.", body = StepView)))]
#[post("/v1/jobs/{id}/steps/{code}/finish")]
pub(super) async fn finish(
    call: Call<Crew>,
    path: Path<(String, String)>,
    IfMatch(seen): IfMatch,
    body: Body<FinishBody>,
) -> Answer {
    let (step, finish) = (address(path)?, Finish { used: used(&body.value.used)? });
    let said = Said { at: body.value.at.map(|at| at.0), ..Said::seen(seen) };
    go(call, step, move |tx, id, code| usecase::finish(tx, id, code, &said, &finish)).await
}

/// Remove a step from the work.
///
/// Records the reason why the step will not be done; its state becomes REMOVED. Steps after it may begin.
#[utoipa::path(tag = "job", request_body = RemoveStepBody,
        params(("id" = Reference, Path, description = "Id of the job."),
        ("code" = Code, Path, description = "Code of the step.")), extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step after the change.", body = StepView)))]
#[post("/v1/jobs/{id}/steps/{code}/remove")]
pub(super) async fn remove_step(
    call: Call<Crew>,
    path: Path<(String, String)>,
    IfMatch(seen): IfMatch,
    body: Body<RemoveStepBody>,
) -> Answer {
    let reason = body.value.reason;
    go(call, address(path)?, move |tx, id, code| usecase::remove(tx, id, code, seen, reason.as_str())).await
}

/// The amounts by product, each once.
pub(super) fn used(list: &[UsedBody]) -> Result<BTreeMap<menu::Code, Decimal>, Refused> {
    if list.len() > 100 {
        return Err(Refused::field("/used", "too_many", "Name at most 100 products."));
    }
    let mut used = BTreeMap::new();
    for (at, one) in list.iter().enumerate() {
        let product = menu::Code::parse(one.product.as_str())
            .map_err(|bad| Refused::field(format!("/used/{at}/product"), "bad_code", format!("{bad}.")))?;
        if one.amount.0.is_sign_negative() {
            return Err(Refused::field(format!("/used/{at}/amount"), "negative", "Write an amount of 0 or more."));
        }
        if used.insert(product, one.amount.0).is_some() {
            return Err(Refused::field(format!("/used/{at}/product"), "repeated", "Name each product once."));
        }
    }
    Ok(used)
}
