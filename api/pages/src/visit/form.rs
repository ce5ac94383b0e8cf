//! The form of a verb: shown, taken, and shown again with what is wrong.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{get, post};
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::visit::usecase;
use baywright_domain::id::QuoteId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;

use super::act::Verb;
use super::ask::{Asked, asked};
use super::take::take;
use super::{HERE, at};
use crate::platform::form::{Fields, FormView};
use crate::platform::{DeskFrame, Insider, followed, html, is_mendable};

/// The page of a verb.
#[derive(Template)]
#[template(path = "visit/views/act.html")]
struct Page {
    frame: DeskFrame,
    car: String,
    customer: String,
    asked: Asked,
    form: FormView,
    action: String,
    back: String,
}

/// Who asks, whose car it is, and the form.
struct Found {
    insider: Insider,
    car: String,
    customer: String,
    asked: Asked,
}

fn found(tx: &mut Tx<'_>, quote: &QuoteId, verb: Verb) -> Done<Found> {
    let insider = Insider::of(tx)?;
    let told = usecase::show(tx, quote)?;
    let asked = asked(tx, &told, verb)?;
    let head = told.visit.head;
    Ok(Found { insider, car: head.vehicle_name, customer: head.customer_name, asked })
}

fn answered(status: StatusCode, of: (&QuoteId, Verb), found: Found, form: FormView) -> Answer {
    let (quote, verb) = of;
    let Found { insider, car, customer, asked } = found;
    let frame = DeskFrame::new(form.title(asked.heading), insider, &form.code, HERE);
    html(status, &Page { frame, car, customer, asked, form, action: verb.address(quote), back: at(quote) })
}

/// The quote and the verb of an address.
fn parts(path: Path<(String, String)>) -> Result<(QuoteId, Verb), Refused> {
    let (quote, slug) = path.into_inner();
    let verb = Verb::of_slug(&slug).ok_or_else(|| Refused::not_found("page"))?;
    Ok((QuoteId::new(quote), verb))
}

/// Whether the form's page can show a problem: what is wrong with a field, what has changed meanwhile, or why the record is
/// in no state for it. A question is asked on a page of its own.
fn can_show(problem: &Problem) -> bool {
    let stands_against = matches!(problem.status(), StatusCode::CONFLICT | StatusCode::GONE);
    is_mendable(problem) || (stands_against && problem.refused().question().is_none())
}

/// The form of a verb.
#[get("/cars/{id}/{act}")]
pub(super) async fn show(page: PageRead<Desk>, path: Path<(String, String)>) -> Answer {
    let (quote, verb) = parts(path)?;
    let of = quote.clone();
    let found = page.read(move |tx| found(tx, &of, verb)).await?;
    let form = FormView::new(found.asked.inputs.clone(), &found.asked.fields, page.form_code());
    answered(StatusCode::OK, (&quote, verb), found, form)
}

/// Does what the form says.
#[post("/cars/{id}/{act}")]
pub(super) async fn save(page: PageWrite<Desk>, path: Path<(String, String)>) -> Answer {
    let (quote, verb) = parts(path)?;
    let fields = Fields::of_form(page.form());
    let (of, typed) = (quote.clone(), fields.clone());
    let problem = match page.once(move |tx| take(tx, &of, verb, &typed)).await {
        Ok(outcome) => return followed(outcome),
        Err(problem) if can_show(&problem) => problem,
        Err(problem) => return Err(problem),
    };
    let of = quote.clone();
    let found = page.read(move |tx| found(tx, &of, verb)).await?;
    let form = FormView::new(found.asked.inputs.clone(), &fields, page.form_code());
    let form = form.after(&problem, &found.asked.fields);
    answered(problem.status(), (&quote, verb), found, form)
}
