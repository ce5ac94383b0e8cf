//! A week of the diary.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get};
use askama::Template;
use baywright_core::diary::usecase::{self, Filter, Week, week};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Crew;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::today::usecase::to_book;
use baywright_core::visit::usecase::Head;
use baywright_domain::id::{BayId, PersonId};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageRead;
use baywright_http::platform::wire::Day;

use super::HERE;
use super::clock::Clock;
use super::picture::Picture;
use super::week_view::{self, CarRow, DayRow, ToBook};
use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{DeskFrame, Insider, filters, html};

/// The page of a week.
#[derive(Template)]
#[template(path = "diary/views/week.html")]
struct WeekPage {
    frame: DeskFrame,
    heading: String,
    /// Addresses of the weeks before and after.
    before: String,
    after: String,
    form: FormView,
    picture: Picture,
    cars: Vec<CarRow>,
    hours: Vec<DayRow>,
    notices: Vec<String>,
    to_book: Vec<ToBook>,
    at_desk: bool,
}

/// What the page shows.
struct Found {
    insider: Insider,
    week: Week,
    clock: Clock,
    to_book: Vec<Head>,
}

fn found(tx: &mut Tx<'_>, from: Option<Day>, filter: &Filter) -> Done<Found> {
    let insider = Insider::of(tx)?;
    let to_book = if insider.is_at_desk() { to_book(tx)? } else { Vec::new() };
    let week = week(tx, from.map(|day| day.0), filter)?;
    Ok(Found { insider, week, clock: Clock::of(tx)?, to_book })
}

/// The day and the limits that are asked for.
fn read(fields: &Fields) -> Result<(Option<Day>, Filter), Refused> {
    let mut form = Reading::of(fields);
    let from = form.optional("from", |text| Day::parse(text.trim()));
    let id = |name: &str| Some(fields.text(name)).filter(|id| !id.is_empty());
    let filter = Filter { bay: id("bay_id").map(BayId::new), person: id("person_id").map(PersonId::new) };
    form.done(Some((from, filter)))
}

/// The fields that limit a week.
fn inputs(week: &Week) -> Vec<Input> {
    let all = |label: &str| (String::new(), label.to_owned());
    let bays = week.names.bays.iter().map(|(id, name)| (id.to_string(), name.clone()));
    let people = week.names.workers.iter().map(|(id, name)| (id.to_string(), name.clone()));
    vec![
        Input { kind: "date", ..Input::short("from", "Week of") }.beside(),
        Input::short("bay_id", "Bay").options([all("All bays")].into_iter().chain(bays).collect()).beside(),
        Input::short("person_id", "Person").options([all("Everyone")].into_iter().chain(people).collect()).beside(),
    ]
}

/// The address of another week, with the same limits.
fn address(day: &str, fields: &Fields) -> String {
    let limits = ["bay_id", "person_id"].map(|name| (name, fields.text(name)));
    let limits = limits.iter().filter(|(_, id)| !id.is_empty()).map(|(name, id)| format!("&{name}={id}"));
    format!("{HERE}?from={day}{}", limits.collect::<String>())
}

/// A week: the one of the day that is asked for, or the current one.
#[get("/diary")]
pub(super) async fn show(page: PageRead<Crew>, request: HttpRequest) -> Answer {
    let fields = Fields::of_query(request.query_string());
    let read = read(&fields);
    let (from, filter) = read.as_ref().cloned().unwrap_or_default();
    let Found { insider, week, clock, to_book } = page.read(move |tx| found(tx, from, &filter)).await?;
    let mut form = FormView::new(inputs(&week), &fields, "");
    let mut status = StatusCode::OK;
    if let Err(refused) = &read {
        (form, status) = (form.refused(refused), StatusCode::UNPROCESSABLE_ENTITY);
    }
    let (first, last) = (week.days.first(), week.days.last());
    let words =
        |day: Option<&usecase::Day>, form: &str| day.map(|day| day.date.format(form).to_string()).unwrap_or_default();
    let heading = format!("{} to {}", words(first, "%-d %B"), words(last, "%-d %B %Y"));
    let title = format!("Bays from {} to {}", words(first, "%A %-d %B"), words(last, "%A %-d %B %Y"));
    let limits = if read.is_ok() { fields } else { Fields::default() };
    let at_desk = insider.is_at_desk();
    html(
        status,
        &WeekPage {
            frame: DeskFrame::new(form.title(&format!("Diary, {heading}")), insider, page.form_code(), HERE),
            before: address(&week.before.to_string(), &limits),
            after: address(&week.after.to_string(), &limits),
            heading,
            form,
            picture: week_view::picture(&week, &clock, &title),
            cars: week_view::cars(&week, &clock),
            hours: week_view::hours(&week, &clock),
            notices: week_view::notices(&week, &clock),
            to_book: week_view::to_book(to_book),
            at_desk,
        },
    )
}
