//! One person.

use std::collections::BTreeSet;

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use baywright_core::booking::usecase::warn_of_broken;
use baywright_core::people::usecase::{Person, replace};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_domain::id::PersonId;
use baywright_domain::menu::Code;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};

use super::HERE;
use super::details::{ROWS, Typed, inputs, note, read, skills};
use crate::platform::form::{Also, Entry, Fields, FormPage, FormView, Input, Reading, week_fields, week_inputs};
use crate::platform::{Insider, taken};

fn found(tx: &mut Tx<'_>, id: &PersonId) -> Done<(Insider, Person, BTreeSet<Code>)> {
    let insider = Insider::of(tx)?;
    let person = baywright_core::people::usecase::show(tx, id)?;
    let skills = skills(tx)?.union(&person.details.skills).cloned().collect();
    Ok((insider, person, skills))
}

/// The person as their form would bring them.
fn fields_of(person: &Person) -> Fields {
    let details = &person.details;
    let one = [
        ("version", person.version.to_string()),
        ("name", details.name.clone()),
        ("email", details.email.clone()),
        ("role", details.role.as_str().to_owned()),
    ];
    let skills = details.skills.iter().map(|code| ("skills", code.to_string()));
    Fields::of_record(one).and(Fields::of_record(skills)).and(week_fields(ROWS, &details.shifts))
}

/// The inputs of a person, with the rows of hours that the fields have.
fn inputs_of(skills: &BTreeSet<Code>, fields: &Fields) -> Vec<Input> {
    let mut all = inputs(skills);
    if let Some(hours) = all.last_mut() {
        hours.hint = "If it is ticked, the opening hours replace the hours below.".into();
    }
    all.extend(week_inputs(ROWS, fields));
    all
}

fn shown(insider: Insider, person: &Person, form: FormView) -> FormPage {
    let address = format!("{HERE}/{}", person.id);
    let text = if person.has_password {
        format!("{} has a password. Did they forget it? An invite lets them choose another.", person.details.name)
    } else {
        format!("{} has no password yet. An invite lets them choose one.", person.details.name)
    };
    let note = note(&person.details, person.active);
    let page = FormPage::new(person.details.name.clone(), insider, HERE, form, address.as_str())
        .list("Now", vec![Entry { title: person.details.name.clone(), note, address: String::new() }]);
    if person.active {
        page.also(Also { heading: "Signing in", text, action: format!("{address}/invite"), button: "Create an invite" })
    } else {
        page
    }
}

/// One person, as they are.
#[get("/people/{id}")]
pub(super) async fn show(page: PageRead<Owner>, id: Path<String>, request: HttpRequest) -> Answer {
    let id = PersonId::new(id.into_inner());
    let asked = Fields::of_query(request.query_string());
    let (insider, person, skills) = page.read(move |tx| found(tx, &id)).await?;
    let fields = fields_of(&person);
    let form = FormView::new(inputs_of(&skills, &fields), &fields, page.form_code());
    shown(insider, &person, form).saved(asked.yes("saved")).answer(StatusCode::OK)
}

/// Saves a person.
#[post("/people/{id}")]
pub(super) async fn save(page: PageWrite<Owner>, id: Path<String>) -> Answer {
    let id = PersonId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let read = Reading::of(&fields).version().and_then(|seen| Ok((seen, read(&fields)?)));
    let person = id.clone();
    let taken = taken(&page, read, move |tx, (seen, typed)| saved_one(tx, &person, *seen, typed));
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, person, skills) = page.read(move |tx| found(tx, &id)).await?;
    let theirs = fields_of(&person);
    let rows = if fields.has("shifts.0.weekday") { &fields } else { &theirs };
    let form = FormView::new(inputs_of(&skills, rows), &fields, page.form_code()).after(&problem, &theirs);
    shown(insider, &person, form).answer(problem.status())
}

/// Saves the person; gives the page that follows.
fn saved_one(tx: &mut Tx<'_>, id: &PersonId, seen: Seen, typed: &Typed) -> Done<String> {
    let details = typed.details(tx)?;
    warn_of_broken(tx, "/shifts", |tx| replace(tx, id, seen, &details))?;
    Ok(format!("{HERE}?saved=yes"))
}
