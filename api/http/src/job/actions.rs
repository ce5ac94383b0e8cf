//! Lists of starts, stops and finishes over HTTP.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::job::usecase::{self, Action, Finish, MOST_ACTIONS, Outcome};
use baywright_core::plan;
use baywright_core::platform::identity::Crew;
use baywright_core::platform::refusal::{FieldFault as Fault, Refused};
use baywright_domain::id::{JobId, PersonId};
use baywright_domain::job::ToldMove;
use baywright_domain::menu;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::step::{UsedBody, used};
use super::view::JobView;
use crate::platform::answer::Answer;
use crate::platform::body::{Body, at_most};
use crate::platform::call::Call;
use crate::platform::problem::FieldFault;
use crate::platform::wire::{Code, Instant, Line, Reference, Word};

/// A move as its word.
type ToldMoveWord = Word<ToldMove>;

/// Moves of a job's steps, in the order in which they were made.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "actions": [
    { "key": "0198c0de-0000-7000-8000-00000000000a", "step": "wash", "action": "START", "at": "2026-03-02T08:00:00Z" },
    { "key": "0198c0de-0000-7000-8000-00000000000b", "step": "wash", "action": "FINISH", "at": "2026-03-02T08:40:00Z" }
] }))]
pub(super) struct ActionsBody {
    /// Actions, earliest first.
    #[schema(min_items = 1, max_items = 100)]
    actions: Vec<ActionBody>,
}

/// Start, stop or finish of a step.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = JobActionBody)]
#[serde(deny_unknown_fields)]
pub(super) struct ActionBody {
    /// Key of the action, such as a UUID. An action whose key was used before, within 24 hours, is not done again.
    key: Line<200>,
    /// Code of the step.
    step: Code,
    /// Move of the step.
    action: ToldMoveWord,
    /// Id of the person who works; null or left out for the caller. Only the desk may name somebody else.
    #[serde(default)]
    person_id: Option<Reference>,
    /// Time when it was done, RFC 3339: within the last 24 hours, and not before the work that came before it. Null or left
    /// out for now.
    #[serde(default)]
    at: Option<Instant>,
    /// Amounts of the products that were used, for `FINISH`; empty or left out if nobody measured.
    #[serde(default)]
    #[schema(max_items = 100, required = false)]
    used: Vec<UsedBody>,
}

/// Refusal of one action.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct ActionRefusal {
    /// Slug of the kind of refusal, as `/problems` explains it.
    #[schema(max_length = 80, example = "still-curing")]
    code: String,
    /// Description of what happened and what to do.
    #[schema(max_length = 2000, example = "Stop or finish the other step first.")]
    detail: String,
    /// Faulty values of the action, with JSON pointers into the action.
    #[schema(max_items = 200)]
    errors: Vec<FieldFault>,
}

/// Result of one action.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct ActionResult {
    /// Key of the action.
    key: Line<200>,
    /// Whether the action took effect, now or when it was sent before.
    done: bool,
    /// Whether the action was sent before, so that nothing was done now.
    repeated: bool,
    /// Reason why the action was refused; null if it took effect.
    refusal: Option<ActionRefusal>,
}

/// Results of a list of actions, and the job after them.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct JobActionsView {
    /// Results, in the order of the actions.
    #[schema(max_items = 100)]
    results: Vec<ActionResult>,
    /// Job after all actions.
    job: JobView,
}

impl ActionResult {
    fn of(key: Line<200>, outcome: Outcome) -> Self {
        let refusal = match &outcome {
            Outcome::Refused(refused) => Some(ActionRefusal {
                code: refused.code().to_owned(),
                detail: refused.detail().to_owned(),
                errors: refused.errors().iter().take(200).map(FieldFault::from).collect(),
            }),
            Outcome::Made | Outcome::Repeated => None,
        };
        Self { key, done: refusal.is_none(), repeated: matches!(outcome, Outcome::Repeated), refusal }
    }
}

/// The actions as the use case takes them, or what is wrong with the list.
fn read(bodies: &[ActionBody]) -> Result<Vec<Action>, Refused> {
    at_most("/actions", bodies.len(), MOST_ACTIONS)?;
    if bodies.is_empty() {
        return Err(Refused::field("/actions", "empty", "Name at least one action."));
    }
    bodies.iter().enumerate().map(|(place, body)| one(place, body)).collect()
}

fn one(place: usize, body: &ActionBody) -> Result<Action, Refused> {
    let here = format!("/actions/{place}");
    let step = menu::Code::parse(body.step.as_str())
        .map_err(|bad| Refused::field(format!("{here}/step"), "bad_code", format!("{bad}.")))?;
    let used = used(&body.used).map_err(|refused| within(&here, refused))?;
    if body.action.0 != ToldMove::Finish && !used.is_empty() {
        let detail = "Name products when the step is finished, not before.";
        return Err(Refused::field(format!("{here}/used"), "not_finished", detail));
    }
    Ok(Action {
        key: body.key.as_str().to_owned(),
        step,
        what: body.action.0,
        who: body.person_id.clone().map(PersonId::new),
        at: body.at.map(|at| at.0),
        finish: Finish { used },
    })
}

/// The same refusal of a value that is within an action.
fn within(here: &str, refused: Refused) -> Refused {
    let faults = refused.errors().iter();
    let faults = faults.map(|fault| Fault { pointer: format!("{here}{}", fault.pointer), ..fault.clone() }).collect();
    refused.with_faults(faults)
}

/// Start, stop and finish steps in order.
///
/// For work that was noted without a network: each action has its time and a key, is made in order, and is answered for
/// itself. An action that is refused changes nothing, and the actions behind it are tried all the same. A list whose answer
/// was lost is sent again as it was: actions that took effect are not repeated. The versions of steps are not compared; the
/// state of a step decides whether an action is possible.
#[utoipa::path(tag = "job", request_body = ActionsBody, params(("id" = Reference, Path, description = "Id of the job.")),
    extensions(("x-confirm" = json!(["bay-not-cleared"]))),
    responses((status = 200, description = "Results of the actions, and the job after them.", body = JobActionsView)))]
#[post("/v1/jobs/{id}/actions")]
pub(super) async fn act(call: Call<Crew>, id: Path<String>, body: Body<ActionsBody>) -> Answer {
    let id = JobId::new(id.into_inner());
    let keys: Vec<Line<200>> = body.value.actions.iter().map(|action| action.key.clone()).collect();
    let actions = read(&body.value.actions)?;
    call.change_unversioned(move |tx| {
        let (job, outcomes) = usecase::act(tx, &id, &actions)?;
        let plan = plan::usecase::show(tx, &job.plan)?.with(job.booking.hands)?;
        let results = keys.iter().cloned().zip(outcomes).map(|(key, outcome)| ActionResult::of(key, outcome)).collect();
        Ok(JobActionsView { results, job: JobView::of(&job, &plan.form, tx.now) })
    })
    .await
}
