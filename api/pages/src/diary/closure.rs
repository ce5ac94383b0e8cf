//! When the studio or one of its bays is closed, and a form for more.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use baywright_core::booking::usecase::broken_by;
use baywright_core::diary::usecase::{Names, days_ahead};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::{Closure, ClosureDetails, add_closure, closures_within, remove_closure};
use baywright_domain::calendar::Dates;
use baywright_domain::id::{BayId, ClosureId};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::{Day, Line};

use super::act::{can_be_shown, tried};
use super::breaks::{self, AwayRow, SEEN, Words};
use super::week_view::days;
use crate::platform::Insider;
use crate::platform::form::{Fields, FormView, Input, Reading};

static WORDS: Words = Words {
    here: "/diary/closures",
    heading: "Closures",
    lead: "Days on which the studio or one of its bays is closed. Bookings on these days stay until somebody moves them.",
    form_heading: "Enter a closure",
    button: "Enter the closure",
    list_heading: "From today on",
    none: "Nothing is closed in the next year but for the usual hours.",
    anyway: "Enter the closure anyway",
};

/// What the page shows.
struct Found {
    insider: Insider,
    names: Names,
    closures: Vec<Closure>,
}

fn found(tx: &mut Tx<'_>) -> Done<Found> {
    let days = days_ahead(tx)?;
    let closures = closures_within(tx, days)?;
    Ok(Found { insider: Insider::of(tx)?, names: Names::read(tx)?, closures })
}

fn inputs(names: &Names) -> Vec<Input> {
    let bays = names.bays.iter().map(|(id, name)| (id.to_string(), name.clone()));
    let whole = [(String::new(), "The whole studio".to_owned())];
    vec![
        Input::short("bay_id", "What is closed").options(whole.into_iter().chain(bays).collect()),
        Input { kind: "date", ..Input::short("first_day", "First day") }.beside(),
        Input { kind: "date", ..Input::short("last_day", "Last day") }.optional().beside(),
        Input::line("reason", "Why").hint("Such as holidays, or the floor is painted."),
    ]
}

/// The closure that the form describes, or everything that is wrong with it.
fn read(fields: &Fields) -> Result<ClosureDetails, Refused> {
    let mut form = Reading::of(fields);
    let day = |text: &str| Day::parse(text.trim());
    let bay = form.optional("bay_id", |text| Ok(BayId::new(text)));
    let first = form.needed("first_day", day);
    let last = form.optional("last_day", day).or(first);
    let reason = form.needed("reason", Line::<200>::parse);
    let mut dates = None;
    if let Some((first, last)) = first.zip(last) {
        match Dates::through(first.0, last.0) {
            Ok(read) => dates = Some(read),
            Err(error) => form.fault("last_day", "empty_dates", &format!("{error}.")),
        }
    }
    let details = |(dates, reason): (Dates, Line<200>)| ClosureDetails { bay, dates, reason: reason.into_string() };
    form.done(dates.zip(reason).map(details))
}

fn row(closure: &Closure, names: &Names) -> AwayRow {
    let what = closure.details.bay.as_ref().map_or("The whole studio", |bay| names.bay(bay.as_str()));
    AwayRow::new(
        format!("{what}, {}", days(closure.details.dates)),
        closure.details.reason.clone(),
        format!("{}/{}/remove", WORDS.here, closure.id),
        vec![("version", closure.version.to_string())],
    )
}

fn shown(found: Found, code: &str, fields: &Fields, problem: Option<&Problem>) -> Answer {
    let mut form = FormView::new(inputs(&found.names), fields, code);
    if let Some(problem) = problem {
        form = match problem.code() {
            "closure-twice" => form.telling(
                "It is already closed on exactly these days. Remove that closure first, or choose other days.",
            ),
            _ => form.after(problem, &Fields::default()),
        };
    }
    let status = problem.map_or(StatusCode::OK, Problem::status);
    let entries = found.closures.iter().map(|closure| row(closure, &found.names)).collect();
    breaks::list(&WORDS, found.insider, code, (form, status), entries, fields)
}

/// What is closed, and a form for more.
#[get("/diary/closures")]
pub(super) async fn show(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let fields = Fields::of_query(request.query_string());
    let found = page.read(found).await?;
    shown(found, page.form_code(), &fields, None)
}

/// Makes a closure, unless it breaks something that the person has not seen yet.
async fn made(page: &PageWrite<Desk>, fields: &Fields) -> Result<Answer, Problem> {
    let details = match read(fields) {
        Ok(details) => details,
        Err(refused) => return Ok(Err(refused.into())),
    };
    if !fields.yes(SEEN) {
        let details = details.clone();
        let change = move |tx: &mut Tx<'_>| add_closure(tx, &details).map(|_| ());
        match breaks::shown_first(page, &WORDS, fields, change).await {
            Ok(Some(answer)) => return Ok(answer),
            Ok(None) => {}
            Err(problem) if can_be_shown(&problem) => return Ok(Err(problem)),
            Err(problem) => return Err(problem),
        }
    }
    tried(page, move |tx| {
        let (_, breaks) = broken_by(tx, |tx| add_closure(tx, &details))?;
        Ok(breaks::after(&WORDS, &breaks))
    })
    .await
}

/// Enters a closure; what it would break is shown first.
#[post("/diary/closures")]
pub(super) async fn add(page: PageWrite<Desk>) -> Answer {
    let fields = Fields::of_form(page.form());
    let problem = match made(&page, &fields).await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let found = page.read(found).await?;
    shown(found, page.form_code(), &fields, Some(&problem))
}

/// Removes a closure.
#[post("/diary/closures/{id}/remove")]
pub(super) async fn remove(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = ClosureId::new(id.into_inner());
    let seen = Reading::of(&Fields::of_form(page.form())).version()?;
    let removed = tried(&page, move |tx| {
        remove_closure(tx, &id, seen)?;
        Ok(format!("{}?saved=yes", WORDS.here))
    });
    let problem = match removed.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let found = page.read(found).await?;
    shown(found, page.form_code(), &Fields::default(), Some(&problem))
}
