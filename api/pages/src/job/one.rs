//! One car in its bay: its steps to work down, with the next one on top.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get};
use askama::Template;
use baywright_core::job::usecase::{self, Job, Note, Step};
use baywright_core::plan;
use baywright_core::plan::kept::{PlanForm, PlanStepForm, ProductAmountForm};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Crew;
use baywright_core::platform::ids;
use baywright_core::platform::tx::Tx;
use baywright_domain::booking::BookingState;
use baywright_domain::customer::first_name;
use baywright_domain::id::JobId;
use baywright_domain::job::StepState;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;

use super::HERE;
use crate::platform::form::Fields;
use crate::platform::{DeskFrame, Insider, Wall, html, plainly};

/// The page of a car.
#[derive(Template)]
#[template(path = "job/views/one.html")]
struct OnePage {
    frame: DeskFrame,
    address: String,
    /// Key of the form on the page that is sent; each page has a new one.
    key: String,
    car: String,
    registration: Option<String>,
    customer: String,
    promised: String,
    /// Why something was not done; empty if nothing was refused.
    refused: String,
    /// What was done a moment ago; empty for nothing.
    done: &'static str,
    /// The step at hand, if there is one.
    next: Option<StepRow>,
    /// What is waited for if no step is at hand.
    waiting: String,
    steps: Vec<StepRow>,
    cautions: Vec<String>,
    notes: Vec<(String, String)>,
    /// The note that was typed.
    typed: String,
}

/// A step.
struct StepRow {
    code: String,
    version: i64,
    name: String,
    state: (&'static str, &'static str),
    /// Budget against the time that was worked, and when it has dried.
    times: String,
    products: Vec<String>,
    cautions: Vec<String>,
    can_start: bool,
    is_running: bool,
    can_finish: bool,
    /// What undoing it would take back; empty if nothing can be undone.
    undo: &'static str,
}

/// What the page shows.
struct Found {
    insider: Insider,
    wall: Wall,
    job: Job,
    plan: PlanForm,
    notes: Vec<Note>,
    now: UtcTime,
}

fn found(tx: &mut Tx<'_>, id: &JobId) -> Done<Found> {
    let job = usecase::show(tx, id)?;
    let plan = plan::usecase::show(tx, &job.plan)?.with(job.booking.hands)?.form;
    let notes = usecase::notes(tx, id)?;
    Ok(Found { insider: Insider::of(tx)?, wall: Wall::of(tx)?, job, plan, notes, now: tx.now })
}

/// A product for a step, as somebody mixes or takes it.
fn product(product: &ProductAmountForm) -> String {
    let amount = format!("{} {}", product.amount.0.normalize(), product.unit.0.label());
    let mix = product.mix.as_ref().map_or(amount, |mix| mix.recipe.clone());
    let dwell = product.dwell_seconds.map(|seconds| format!("; leave it on for {seconds} seconds")).unwrap_or_default();
    format!("{}: {mix}{dwell}", product.name)
}

impl StepRow {
    fn of(found: &Found, step: &Step) -> Self {
        let (rules, at) = (&step.step, found.now.datetime());
        let planned: Option<&PlanStepForm> = found.plan.steps.iter().find(|known| known.code == rules.code.as_str());
        let state = match rules.state {
            StepState::Open => ("", "not begun"),
            StepState::Running => ("on", "running"),
            StepState::Paused => ("wait", "stopped"),
            StepState::Finished => ("done", "finished"),
            StepState::Removed => ("", "removed"),
        };
        let mut times = format!("Budget {} min, worked {} min", step.budget.get(), rules.attended(at).get());
        if let Some(clear) = rules.clear_from.map(UtcTime::from).filter(|clear| *clear > found.now) {
            times = format!("{times}; dry or cured at {}", found.wall.when(clear.minute()));
        }
        let at_work = matches!(found.job.booking.state, BookingState::InBay);
        Self {
            code: rules.code.to_string(),
            version: step.version,
            name: rules.name.clone(),
            state,
            times,
            products: planned.map(|step| step.products.iter().map(product).collect()).unwrap_or_default(),
            cautions: planned
                .map(|step| step.cautions.iter().map(|caution| caution.text.clone()).collect())
                .unwrap_or_default(),
            can_start: at_work && found.job.rules().startable(at).iter().any(|open| open.code == rules.code),
            is_running: rules.state == StepState::Running,
            can_finish: matches!(rules.state, StepState::Running | StepState::Paused),
            undo: step.last_move.map_or("", |made| made.label()),
        }
    }
}

/// What is waited for if no step is at hand.
fn waiting(found: &Found) -> String {
    if found.job.steps.iter().all(|step| step.step.state.is_settled()) {
        return "All steps are done. The desk declares the car ready.".to_owned();
    }
    let clear = found.job.steps.iter().filter_map(|step| step.step.clear_from.map(UtcTime::from));
    match clear.filter(|clear| *clear > found.now).min() {
        Some(clear) => {
            format!("Something dries or cures. The next step can begin at {}.", found.wall.when(clear.minute()))
        }
        None => "No step can begin now.".to_owned(),
    }
}

/// What was done, in words.
fn done(word: &str) -> &'static str {
    match word {
        "started" => "The clock is running.",
        "stopped" => "The clock has stopped.",
        "finished" => "The step is finished.",
        "undone" => "It is undone.",
        "noted" => "The note is kept.",
        _ => "",
    }
}

fn shown(
    found: Found,
    code: &str,
    (done, refused, typed): (&'static str, String, String),
    status: StatusCode,
) -> Answer {
    let rows: Vec<StepRow> = found.job.steps.iter().map(|step| StepRow::of(&found, step)).collect();
    let at_hand = rows.iter().position(|row| row.is_running);
    let at_hand = at_hand.or_else(|| rows.iter().position(|row| row.can_start));
    let next = at_hand.and_then(|at| found.job.steps.get(at)).map(|step| StepRow::of(&found, step));
    let names = &found.job.booking.names;
    let page = OnePage {
        address: format!("{HERE}/{}", found.job.id),
        key: ids::new(),
        car: names.vehicle.clone(),
        registration: names.registration.clone(),
        customer: first_name(&names.customer).to_owned(),
        promised: found.wall.when(found.job.booking.place.promised),
        refused,
        done,
        next,
        waiting: waiting(&found),
        steps: rows,
        cautions: found.plan.cautions.iter().map(|caution| caution.text.clone()).collect(),
        notes: found.notes.iter().map(|note| (found.wall.when(note.at.minute()), note.text.clone())).collect(),
        typed,
        frame: DeskFrame::new(names.vehicle.clone(), found.insider, code, HERE),
    };
    html(status, &page)
}

/// One car's steps.
#[get("/bay/{id}")]
pub(super) async fn show(page: PageRead<Crew>, id: Path<String>, request: HttpRequest) -> Answer {
    let id = JobId::new(id.into_inner());
    let said = done(&Fields::of_query(request.query_string()).text("done"));
    let found = page.read(move |tx| found(tx, &id)).await?;
    shown(found, page.form_code(), (said, String::new(), String::new()), StatusCode::OK)
}

/// The page of a car after an act that was refused.
pub(super) async fn refused(page: PageWrite<Crew>, id: JobId, problem: Problem, typed: String) -> Answer {
    let found = page.read(move |tx| found(tx, &id)).await?;
    let text = match problem.status() {
        StatusCode::PRECONDITION_FAILED => {
            "Somebody else has changed this step meanwhile. Nothing was done: look at it, then try again.".to_owned()
        }
        _ => match problem.refused().errors() {
            [] => plainly(problem.detail()),
            faults => faults.iter().map(|fault| fault.detail.as_str()).collect::<Vec<_>>().join(" "),
        },
    };
    shown(found, page.form_code(), ("", text, typed), problem.status())
}
