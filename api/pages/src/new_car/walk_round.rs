//! The third step: a walk round the car. A panel is tapped on a drawing, then what is seen on it, with a photograph.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::inspection::usecase::Found;
use baywright_core::new_car::usecase::{self, NewCar};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::EnquiryId;
use baywright_http::media::{Incoming, add_from_page};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::page_file::PageFile;
use baywright_http::platform::problem::Problem;

use super::drawing::{Mark, Spot, marks, spots};
use super::finding::{fields_of, in_words, of_car, of_finding, read};
use super::paint::Paint;
use super::steps::Head;
use super::{HERE, elsewhere, step, tried};
use crate::platform::assets::new_car_script;
use crate::platform::form::{Fields, FormView, Input};
use crate::platform::{DeskFrame, Insider, html, see_other};
use crate::signoff::text::capital;

/// Names of the inputs about the whole car.
const OF_CAR: [&str; 4] = ["soil_grade", "contamination_grade", "odometer", "beyond_repair"];

/// The page of a walk-round.
#[derive(Template)]
#[template(path = "new_car/views/walk_round.html")]
struct Page {
    frame: DeskFrame,
    heading: &'static str,
    head: Head,
    form: FormView,
    /// Inputs about the whole car.
    of_car: Vec<Input>,
    /// Inputs of the finding.
    of_finding: Vec<Input>,
    spots: Vec<Spot>,
    marks: Vec<Mark>,
    panel_fault: Option<String>,
    photo_fault: Option<String>,
    /// Ids of the photographs of the finding, those that were taken already.
    photos: Vec<String>,
    /// Number of the finding that is corrected; empty for a new one.
    corrected: String,
    noted: Vec<Line>,
    /// The condition that follows from the findings, with its reasons.
    condition: Option<(String, Vec<String>)>,
    is_saved: bool,
    paint: Option<Paint>,
    action: String,
    work: String,
    script: String,
}

/// A finding in the list.
struct Line {
    text: String,
    note: String,
    address: String,
    photos: Vec<String>,
}

/// What the database says for the page.
pub(super) struct Walk {
    insider: Insider,
    pub(super) new: NewCar,
    paint: Option<Paint>,
}

/// What a page shows beside what was noted.
#[derive(Default)]
pub(super) struct Extra<'p> {
    /// Why the form was not taken.
    pub(super) problem: Option<&'p Problem>,
    /// The owner's decision about paint, with the reason why it was not taken.
    pub(super) decision: Option<(&'p Fields, &'p Problem)>,
    /// Whether something was just saved.
    pub(super) is_saved: bool,
}

pub(super) fn found(tx: &mut Tx<'_>, id: &EnquiryId) -> Done<Walk> {
    let insider = Insider::of(tx)?;
    let new = usecase::show(tx, id)?;
    let paint = match &new.walk_round {
        Some(inspection) => Paint::of(inspection, insider.is_owner())?,
        None => None,
    };
    Ok(Walk { insider, new, paint })
}

fn inputs(new: &NewCar) -> Vec<Input> {
    let unit = new.vehicle.as_ref().map_or("km", |car| car.details.odometer_unit.label());
    let panel = [Input::radios("panel", "Panel", Vec::new()), Input::line("photo", "Photograph")];
    of_car(unit).into_iter().chain(panel).chain(of_finding()).collect()
}

fn line(at: usize, found: &Found, action: &str) -> Line {
    Line {
        text: in_words(found),
        note: found.finding.note.clone(),
        address: format!("{action}?finding={at}#new"),
        photos: found.photo_ids.iter().map(ToString::to_string).collect(),
    }
}

/// The page with what was noted, and with what is typed into the form.
pub(super) fn shown(seen: Walk, fields: &Fields, code: &str, extra: &Extra<'_>) -> Answer {
    let Walk { insider, new, paint } = seen;
    let Extra { problem, decision, is_saved } = *extra;
    let mut form = FormView::new(inputs(&new), fields, code);
    let version = Fields::of_record([("version", new.walk_round_version().to_string())]);
    let decided = decision.map_or(&version, |(typed, _)| typed);
    let mut paint = paint.map(|paint| paint.with_form(decided, code, &new.enquiry.id));
    if let Some((_, problem)) = decision {
        match paint.as_mut().and_then(|paint| paint.form.as_mut()) {
            Some(asked) => {
                *asked = std::mem::take(asked).after(problem, &version);
                form.faults.clone_from(&asked.faults);
                form.stale.clone_from(&asked.stale);
            }
            None => form = form.refused(problem.refused()),
        }
    }
    if let Some(problem) = problem {
        form = form.after(problem, &fields_of(&new, None));
        if problem.status() == StatusCode::PRECONDITION_FAILED {
            // A new finding has nothing of theirs beside it: what others have found is in the list.
            let of_car: Vec<&str> =
                form.inputs.iter().filter(|one| OF_CAR.contains(&&*one.name)).map(|one| &*one.label).collect();
            form.stale.retain(|row| of_car.contains(&row.label.as_str()));
            form = form.telling(
                "Somebody else has noted something on this car in the meantime. Check the list, then save \
                                 your form again.",
            );
        }
    }
    let action = step(&new.enquiry.id, "walk-round");
    let details = new.walk_round.as_ref().map(|inspection| &inspection.details);
    let findings: &[Found] = details.map_or(&[], |details| details.findings.as_slice());
    let fault = |name: &str| form.inputs.iter().find(|input| input.name == name).and_then(|input| input.fault.clone());
    let condition = new.walk_round.as_ref().map(|inspection| {
        let judged = &inspection.judged.condition;
        (judged.class.label().to_owned(), judged.reasons.clone())
    });
    let (panel_fault, photo_fault) = (fault("panel"), fault("photo"));
    let drawn = ["panel", "photo"];
    let (of_car, of_finding): (Vec<Input>, Vec<Input>) = form
        .inputs
        .iter()
        .filter(|input| !drawn.contains(&&*input.name))
        .cloned()
        .partition(|input| OF_CAR.contains(&&*input.name));
    let page = Page {
        frame: DeskFrame::new(form.title("Walk round the car"), insider, code, HERE),
        heading: "Walk round the car",
        head: Head::of(&new, 3),
        of_car,
        of_finding,
        spots: spots(findings, &fields.text("panel")),
        marks: marks(findings),
        panel_fault,
        photo_fault,
        photos: fields.all("photo_ids").map(str::to_owned).collect(),
        corrected: fields.text("finding"),
        noted: findings.iter().enumerate().map(|(at, found)| line(at, found, &action)).collect(),
        condition: condition.map(|(class, reasons)| (capital(&class), reasons)),
        is_saved,
        paint,
        work: step(&new.enquiry.id, "work"),
        action,
        script: new_car_script(),
        form,
    };
    let problem = problem.or(decision.map(|(_, problem)| problem));
    html(problem.map_or(StatusCode::OK, Problem::status), &page)
}

/// The walk-round with what was noted so far; with `finding=`, the finding of that number to be corrected.
#[get("/new-car/{id}/walk-round")]
pub(super) async fn show(page: PageRead<Desk>, id: Path<String>, request: HttpRequest) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let asked = Fields::of_query(request.query_string());
    let seen = page.read(move |tx| found(tx, &id)).await?;
    if let Some(address) = elsewhere(&seen.new) {
        return Ok(see_other(&address));
    }
    let fields = fields_of(&seen.new, asked.text("finding").parse().ok());
    let extra = Extra { is_saved: asked.yes("saved"), ..Extra::default() };
    shown(seen, &fields, page.form_code(), &extra)
}

/// Saves what was noted, and continues with another finding or with the work.
#[post("/new-car/{id}/walk-round")]
pub(super) async fn save(sent: PageFile<Desk, Incoming>, id: Path<String>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let (page, fields, refused) = with_photo(sent).await?;
    let of = id.clone();
    let next = fields.text("go") == "next";
    let taken = tried(&page, read(&fields, refused.as_deref()), move |tx, (seen, noted)| {
        usecase::note(tx, &of, *seen, noted)?;
        Ok(if next { step(&of, "work") } else { format!("{}?saved=yes", step(&of, "walk-round")) })
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let seen = page.read(move |tx| found(tx, &id)).await?;
    let fields = if problem.status() == StatusCode::PRECONDITION_FAILED { as_new(&fields) } else { fields };
    shown(seen, &fields, page.form_code(), &Extra { problem: Some(&problem), ..Extra::default() })
}

/// The form with the photograph that came with it among those of its finding, or with the reason why it was not taken. It
/// stays with the form even if something else in it is wrong.
async fn with_photo(sent: PageFile<Desk, Incoming>) -> Result<(PageWrite<Desk>, Fields, Option<String>), Problem> {
    let PageFile { page, file } = sent;
    let fields = Fields::of_form(page.form());
    let Some(file) = file else { return Ok((page, fields, None)) };
    // A form that is sent twice brings its photograph twice.
    if page.is_known().await? {
        return Ok((page, fields, None));
    }
    let added = match file {
        Ok(file) => add_from_page(&page, file).await,
        Err(refused) => Err(refused.into()),
    };
    match added {
        Ok(photo) => {
            let fields = fields.and(Fields::of_record([("photo_ids", photo.to_string())]));
            Ok((page, fields, None))
        }
        Err(problem) if problem.status() == StatusCode::INTERNAL_SERVER_ERROR => Err(problem),
        Err(problem) => {
            let why = problem.refused().detail().to_owned();
            Ok((page, fields, Some(why)))
        }
    }
}

/// The form as one of a new finding: somebody else may have moved the one that it corrects.
fn as_new(fields: &Fields) -> Fields {
    Fields::of_record(fields.pairs().iter().filter(|(name, _)| name != "finding").cloned())
}
