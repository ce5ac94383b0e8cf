//! One car in its bay: its steps to work down, with the one at hand on top.
//!
//! Every step that is not done has its card on the page, and all but the one at hand are hidden. So the script can show the next
//! one while there is no network; without the script, each is opened from the list.

use std::collections::BTreeMap;

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get};
use askama::Template;
use baywright_core::job::usecase::{self, Job, Note};
use baywright_core::people::usecase::everyone;
use baywright_core::plan;
use baywright_core::plan::kept::PlanForm;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Bay;
use baywright_core::platform::ids;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::show_bay;
use baywright_domain::customer::first_name;
use baywright_domain::id::{JobId, PersonId};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;

use super::HERE;
use super::card::{Around, Card};
use super::frame::{BayFrame, Worker};
use crate::platform::form::Fields;
use crate::platform::{Wall, html, plainly};

/// The page of a car.
#[derive(Template)]
#[template(path = "job/views/one.html")]
struct OnePage {
    frame: BayFrame,
    address: String,
    /// Key of the form on the page that is sent; each page has a new one.
    key: String,
    car: String,
    registration: Option<String>,
    customer: String,
    promised: String,
    now: String,
    /// Why something was not done; empty if nothing was refused.
    refused: String,
    /// What was done a moment ago; empty for nothing.
    done: &'static str,
    /// What is waited for if no step is at hand.
    waiting: String,
    /// The cards: the one that is shown, and those that the script can show later.
    cards: Vec<Card>,
    /// Code of the step that is shown; empty if none is.
    here: String,
    /// Codes of the steps that can be put right: the one that is shown, and the last one that was done.
    back: Vec<String>,
    steps: Vec<Card>,
    cautions: Vec<String>,
    notes: Vec<NoteRow>,
    /// The note that was typed.
    typed: String,
}

/// A note.
struct NoteRow {
    when: String,
    who: String,
    text: String,
    /// Addresses of its photographs.
    photos: Vec<String>,
}

/// What the page shows.
pub(super) struct Found {
    worker: Worker,
    wall: Wall,
    job: Job,
    bay: String,
    plan: PlanForm,
    notes: Vec<Note>,
    names: BTreeMap<PersonId, String>,
    now: UtcTime,
}

fn found(tx: &mut Tx<'_>, id: &JobId) -> Done<Found> {
    let job = usecase::show(tx, id)?;
    let plan = plan::usecase::show(tx, &job.plan)?.with(job.booking.hands)?.form;
    let notes = usecase::notes(tx, id)?;
    let bay = show_bay(tx, &job.booking.place.bay)?.details.name;
    let names = everyone(tx)?.into_iter().map(|person| (person.id, person.details.name)).collect();
    Ok(Found { worker: Worker::of(tx)?, wall: Wall::of(tx)?, job, bay, plan, notes, names, now: tx.now })
}

impl Found {
    fn cards(&self) -> Vec<Card> {
        let (job, plan, wall) = (&self.job, &self.plan, &self.wall);
        let around = Around { job, plan, wall, now: self.now, me: &self.worker.id, names: &self.names };
        job.steps.iter().enumerate().map(|(at, step)| Card::of(&around, at, step)).collect()
    }

    fn notes(&self) -> Vec<NoteRow> {
        let row = |note: &Note| NoteRow {
            when: self.wall.when(note.at.minute()),
            who: self.names.get(&note.person).cloned().unwrap_or_default(),
            text: note.text.clone(),
            photos: note.photos.iter().map(|photo| format!("{HERE}/{}/photos/{photo}", self.job.id)).collect(),
        };
        self.notes.iter().rev().map(row).collect()
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
        "dry" => "Later steps can begin.",
        "noted" => "The note is kept.",
        "proposed" => "It is noted, and the desk has a draft to send to the customer.",
        _ => "",
    }
}

/// What is said on the page besides its facts.
#[derive(Default)]
pub(super) struct Told {
    /// Word for what was done.
    done: String,
    /// Why something was not done.
    refused: String,
    /// The note that was typed.
    typed: String,
    /// Code of the step that was asked for.
    step: String,
}

fn shown(found: Found, code: &str, told: Told, status: StatusCode) -> Answer {
    let asked = |card: &Card| card.code == told.step;
    let mut cards = found.cards();
    let steps = found.cards();
    let place = cards.iter().position(asked);
    // A person's own running step comes first, then one that runs, then one that can begin.
    let place = place.or_else(|| cards.iter().position(|card| card.can_stop));
    let place = place.or_else(|| cards.iter().position(|card| card.is_running));
    let place = place.or_else(|| cards.iter().position(Card::is_at_hand));
    let first = place.map(|place| cards.remove(place));
    let here = first.as_ref().map(|card| card.code.clone()).unwrap_or_default();
    cards.retain(|card| !card.is_settled);
    cards.splice(0..0, first);
    let settled = found.job.steps.iter().zip(&steps).filter(|(_, card)| card.is_settled && !card.undo.is_empty());
    let last = settled.max_by_key(|(step, _)| step.step.finished_at).map(|(_, card)| card.code.clone());
    let can_go_back = |card: &&Card| !card.undo.is_empty() || !card.dry.is_empty();
    let shown = steps.iter().filter(|card| card.code == here).filter(can_go_back).map(|card| card.code.clone());
    let mut back: Vec<String> = shown.collect();
    back.extend(last.filter(|code| *code != here));
    let names = &found.job.booking.names;
    let title = steps.iter().find(|card| card.code == here).map_or(names.vehicle.as_str(), |card| card.name.as_str());
    let page = OnePage {
        address: format!("{HERE}/{}", found.job.id),
        key: ids::new(),
        car: names.vehicle.clone(),
        registration: names.registration.clone(),
        customer: first_name(&names.customer).to_owned(),
        promised: found.wall.when(found.job.booking.place.promised),
        now: found.wall.time(found.now.minute()),
        refused: told.refused,
        done: done(&told.done),
        waiting: waiting(&found),
        cards,
        here: here.clone(),
        back,
        cautions: found.plan.cautions.iter().map(|caution| caution.text.clone()).collect(),
        notes: found.notes(),
        typed: told.typed,
        frame: BayFrame::new(
            format!("{title}, {}", names.vehicle),
            format!("{}, {}", names.vehicle, found.bay),
            found.worker.clone(),
            code,
        ),
        steps,
    };
    html(status, &page)
}

/// One car's steps.
#[get("/bay/{id}")]
pub(super) async fn show(page: PageRead<Bay>, id: Path<String>, request: HttpRequest) -> Answer {
    let id = JobId::new(id.into_inner());
    let asked = Fields::of_query(request.query_string());
    let found = page.read(move |tx| found(tx, &id)).await?;
    let told = Told { done: asked.text("done"), step: asked.text("step"), ..Told::default() };
    shown(found, page.form_code(), told, StatusCode::OK)
}

/// The page of a car after an act that was refused.
pub(super) async fn refused(page: &PageWrite<Bay>, id: JobId, problem: &Problem, fields: &Fields) -> Answer {
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
    let told = Told { refused: text, typed: fields.text("text"), step: fields.text("step"), ..Told::default() };
    shown(found, page.form_code(), told, problem.status())
}
