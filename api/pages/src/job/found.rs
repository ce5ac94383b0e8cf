//! Something found at a car: noted, and proposed to the desk as a variation with the work that would put it right.

use std::collections::BTreeSet;

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{get, post};
use askama::Template;
use baywright_core::job::usecase as job;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Bay;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::variation::usecase::{self, FoundWork};
use baywright_domain::booking::BookingState;
use baywright_domain::id::{JobId, PhotoId};
use baywright_domain::menu::Code;
use baywright_http::media::Incoming;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;
use baywright_http::platform::page_file::PageFile;
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::Text;

use super::HERE;
use super::frame::{BayFrame, Worker};
use super::note::Photographed;
use crate::diary::tried;
use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{html, plainly};

/// Longest description of what was found, in characters.
const LONGEST: usize = 2000;

/// The page to say what was found on.
#[derive(Template)]
#[template(path = "job/views/found.html")]
struct FoundPage {
    frame: BayFrame,
    form: FormView,
    /// Ids of the photographs that the form has already.
    photos: Vec<String>,
    car: String,
    /// The page of the car.
    back: String,
}

/// What the page shows.
struct Seen {
    worker: Worker,
    car: String,
    services: Vec<(Code, String)>,
}

fn seen(tx: &mut Tx<'_>, id: &JobId) -> Done<Seen> {
    let job = job::show(tx, id)?;
    // Once the car is ready, nothing can be proposed any more, but what was found can still be noted.
    let is_open = job.booking.state == BookingState::InBay;
    let services = if is_open { usecase::proposable(tx, id)? } else { Vec::new() };
    Ok(Seen { worker: Worker::of(tx)?, car: job.booking.names.vehicle.clone(), services })
}

fn inputs(services: &[(Code, String)]) -> Vec<Input> {
    let text = Input::long("text", "What did you find, and where?")
        .hint("If the desk offers the work, the customer reads this: write it as you would tell them.");
    if services.is_empty() {
        return vec![text];
    }
    let choices = services.iter().map(|(code, name)| (code.to_string(), name.clone())).collect();
    let work = Input::ticks("services", "What would put it right?", choices).hint(
        "The desk adds the price and asks the customer. Do nothing until they have agreed. Not sure? Tick nothing.",
    );
    vec![text, work]
}

fn shown(seen: Seen, id: &JobId, code: &str, fields: &Fields, photos: &[PhotoId], problem: Option<&Problem>) -> Answer {
    let form = FormView::new(inputs(&seen.services), fields, code);
    let form = match problem {
        Some(problem) if problem.refused().errors().is_empty() => form.telling(plainly(problem.detail())),
        Some(problem) => form.refused(problem.refused()),
        None => form,
    };
    let title = form.title("Found something");
    let page = FoundPage {
        form,
        photos: photos.iter().map(ToString::to_string).collect(),
        car: seen.car.clone(),
        back: format!("{HERE}/{id}"),
        frame: BayFrame::new(title, seen.car, seen.worker, code),
    };
    html(problem.map_or(StatusCode::OK, Problem::status), &page)
}

/// The form to say what was found.
#[get("/bay/{id}/found")]
pub(super) async fn show(page: PageRead<Bay>, id: Path<String>) -> Answer {
    let id = JobId::new(id.into_inner());
    let of = id.clone();
    let seen = page.read(move |tx| seen(tx, &of)).await?;
    shown(seen, &id, page.form_code(), &Fields::default(), &[], None)
}

fn read(fields: &Fields, photos: Vec<PhotoId>) -> Result<FoundWork, Refused> {
    let mut form = Reading::of(fields);
    let text = form.needed("text", Text::<LONGEST>::parse);
    let services: BTreeSet<Code> = form.codes("services");
    form.done(text).map(|text| FoundWork { text: text.to_string(), step: None, services, photos })
}

/// Notes what was found, and drafts the variation.
#[post("/bay/{id}/found")]
pub(super) async fn propose(sent: PageFile<Bay, Incoming>, id: Path<String>) -> Answer {
    let id = JobId::new(id.into_inner());
    let Photographed { page, fields, photos, refused } = Photographed::of(sent).await?;
    let read = match refused {
        Some(problem) => Err(problem),
        None => read(&fields, photos.clone()).map_err(Problem::from),
    };
    let tried = match read {
        Ok(work) => {
            let of = id.clone();
            let propose = tried(&page, move |tx| {
                let done = if usecase::found(tx, &of, &work)?.is_some() { "proposed" } else { "noted" };
                // What is to be checked about the price is for the desk, which sees it when it opens the draft.
                tx.warnings.clear();
                Ok(format!("{HERE}/{of}?done={done}"))
            });
            propose.await?
        }
        Err(problem) => Err(problem),
    };
    let problem = match tried {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let of = id.clone();
    let seen = page.read(move |tx| seen(tx, &of)).await?;
    shown(seen, &id, page.form_code(), &fields, &photos, Some(&problem))
}
