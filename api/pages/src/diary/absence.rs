//! Who is away, and a form for one absence more.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use baywright_core::booking::usecase::broken_by;
use baywright_core::diary::usecase::{Names, days_ahead};
use baywright_core::people::usecase::{Absence, AbsenceDetails, absences_on_days, add_absence, remove_absence};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_domain::calendar::{Absence as Away, Dates};
use baywright_domain::id::{AbsenceId, PersonId};
use baywright_domain::time::Interval;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::{Day, Text};

use super::act::{can_be_shown, tried};
use super::breaks::{self, AwayRow, SEEN, Words};
use super::clock::Clock;
use super::week_view::away;
use crate::platform::Insider;
use crate::platform::form::{Fields, FormView, Input, Reading, minute_of_day};

static WORDS: Words = Words {
    here: "/diary/absences",
    heading: "Absences",
    lead: "When somebody who works on cars is away. Bookings that need them stay until somebody moves them.",
    form_heading: "Enter an absence",
    button: "Enter the absence",
    list_heading: "From today on",
    none: "Nobody is away in the next year.",
    anyway: "Enter the absence anyway",
};

/// What the page shows.
struct Found {
    insider: Insider,
    clock: Clock,
    names: Names,
    absences: Vec<Absence>,
}

fn found(tx: &mut Tx<'_>) -> Done<Found> {
    let days = days_ahead(tx)?;
    let absences = absences_on_days(tx, days)?;
    Ok(Found { insider: Insider::of(tx)?, clock: Clock::of(tx)?, names: Names::read(tx)?, absences })
}

fn inputs(names: &Names) -> Vec<Input> {
    let people = names.workers.iter().map(|(id, name)| (id.to_string(), name.clone()));
    let none = [(String::new(), "Choose a person".to_owned())];
    vec![
        Input::short("person_id", "Who").options(none.into_iter().chain(people).collect()),
        Input { kind: "date", ..Input::short("first_day", "First day") }.beside(),
        Input { kind: "date", ..Input::short("last_day", "Last day") }.optional().beside(),
        Input::short("from", "From").hint("For a part of a day, such as 13:00.").optional(),
        Input::short("until", "Until").hint("Leave both empty for whole days.").optional(),
        Input::line("note", "Note for the desk").hint("Do not write why somebody is ill.").optional(),
    ]
}

/// The person and the absence that the form describes, or everything that is wrong with it.
fn read(fields: &Fields, clock: &Clock) -> Result<(PersonId, AbsenceDetails), Refused> {
    let mut form = Reading::of(fields);
    let day = |text: &str| Day::parse(text.trim());
    let person = form.needed("person_id", |text| Ok(PersonId::new(text)));
    let first = form.needed("first_day", day);
    let last = form.optional("last_day", day).or(first);
    let from = form.optional("from", minute_of_day);
    let until = form.optional("until", minute_of_day);
    let note = form.optional("note", Text::<500>::parse).map(Text::into_string).unwrap_or_default();
    let mut away = None;
    match (first.zip(last), from, until) {
        (None, _, _) => {}
        (Some((first, last)), None, None) => match Dates::through(first.0, last.0) {
            Ok(dates) => away = Some(Away::Days(dates)),
            Err(error) => form.fault("last_day", "empty_dates", &format!("{error}.")),
        },
        (Some((first, last)), Some(from), Some(until)) => {
            away = Interval::new(clock.at(first, from), clock.at(last, until)).map(Away::Hours);
            if away.is_none() {
                form.fault("until", "empty_hours", "It must end at least one minute after it begins.");
            }
        }
        (Some(_), Some(_), None) => form.fault("until", "missing", "Write both times, or none for whole days."),
        (Some(_), None, Some(_)) => form.fault("from", "missing", "Write both times, or none for whole days."),
    }
    form.done(person.zip(away).map(|(person, away)| (person, AbsenceDetails { away, note })))
}

fn row(absence: &Absence, found: &Found) -> AwayRow {
    let fields = vec![("person_id", absence.person.to_string()), ("version", absence.version.to_string())];
    AwayRow::new(
        format!("{}, {}", found.names.person(absence.person.as_str()), away(&found.clock, absence)),
        absence.details.note.clone(),
        format!("{}/{}/remove", WORDS.here, absence.id),
        fields,
    )
}

fn shown(found: Found, code: &str, fields: &Fields, problem: Option<&Problem>) -> Answer {
    let mut form = FormView::new(inputs(&found.names), fields, code);
    if let Some(problem) = problem {
        form = match problem.code() {
            "absence-twice" => form.telling(
                "This person is already away for exactly this time. Remove that absence first, or choose another time.",
            ),
            _ => form.after(problem, &Fields::default()),
        };
    }
    let status = problem.map_or(StatusCode::OK, Problem::status);
    let entries = found.absences.iter().map(|absence| row(absence, &found)).collect();
    breaks::list(&WORDS, found.insider, code, (form, status), entries, fields)
}

/// Who is away, and a form for one absence more.
#[get("/diary/absences")]
pub(super) async fn show(page: PageRead<Desk>, request: HttpRequest) -> Answer {
    let fields = Fields::of_query(request.query_string());
    let found = page.read(found).await?;
    shown(found, page.form_code(), &fields, None)
}

/// Makes an absence, unless it breaks something that the person has not seen yet.
async fn made(page: &PageWrite<Desk>, fields: &Fields) -> Result<Answer, Problem> {
    let clock = page.read(|tx| Clock::of(tx)).await?;
    let (person, details) = match read(fields, &clock) {
        Ok(read) => read,
        Err(refused) => return Ok(Err(refused.into())),
    };
    if !fields.yes(SEEN) {
        let (person, details) = (person.clone(), details.clone());
        let change = move |tx: &mut Tx<'_>| add_absence(tx, &person, &details).map(|_| ());
        match breaks::shown_first(page, &WORDS, fields, change).await {
            Ok(Some(answer)) => return Ok(answer),
            Ok(None) => {}
            Err(problem) if can_be_shown(&problem) => return Ok(Err(problem)),
            Err(problem) => return Err(problem),
        }
    }
    tried(page, move |tx| {
        let (_, breaks) = broken_by(tx, |tx| add_absence(tx, &person, &details))?;
        Ok(breaks::after(&WORDS, &breaks))
    })
    .await
}

/// Enters an absence; what it would break is shown first.
#[post("/diary/absences")]
pub(super) async fn add(page: PageWrite<Desk>) -> Answer {
    let fields = Fields::of_form(page.form());
    let problem = match made(&page, &fields).await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let found = page.read(found).await?;
    shown(found, page.form_code(), &fields, Some(&problem))
}

/// Removes an absence.
#[post("/diary/absences/{id}/remove")]
pub(super) async fn remove(page: PageWrite<Desk>, id: Path<String>) -> Answer {
    let id = AbsenceId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let mut form = Reading::of(&fields);
    let seen = form.version()?;
    let person = form.needed("person_id", |text| Ok(PersonId::new(text)));
    let removed = match form.done(person) {
        Ok(person) => {
            tried(&page, move |tx| {
                remove_absence(tx, &person, &id, seen)?;
                Ok(format!("{}?saved=yes", WORDS.here))
            })
            .await?
        }
        Err(refused) => Err(refused.into()),
    };
    let problem = match removed {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let found = page.read(found).await?;
    shown(found, page.form_code(), &Fields::default(), Some(&problem))
}
