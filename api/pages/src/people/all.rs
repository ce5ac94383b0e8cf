//! Everyone, and a form for one more.

use std::collections::BTreeSet;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get, post};
use baywright_core::people::usecase::{Person, create, everyone};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::tx::Tx;
use baywright_domain::menu::Code;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};

use super::HERE;
use super::details::{inputs, note, read, skills};
use crate::platform::form::{Entry, Fields, FormPage, FormView};
use crate::platform::{Insider, taken};

fn found(tx: &mut Tx<'_>) -> Done<(Insider, Vec<Person>, BTreeSet<Code>)> {
    Ok((Insider::of(tx)?, everyone(tx)?, skills(tx)?))
}

fn entry(person: &Person) -> Entry {
    Entry {
        title: person.details.name.clone(),
        note: note(&person.details, person.active),
        address: format!("{HERE}/{}", person.id),
    }
}

fn shown(insider: Insider, people: &[Person], form: FormView) -> FormPage {
    FormPage::new("People", insider, HERE, form, HERE)
        .lead("Everyone who works here, and you. Work is planned for those who have hours and the skills for it.")
        .list("Everyone", people.iter().map(entry).collect())
        .form_heading("Add a person", "Add person")
}

/// Everyone, and a form for one more.
#[get("/people")]
pub(super) async fn show(page: PageRead<Owner>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let (insider, people, skills) = page.read(found).await?;
    let form = FormView::new(inputs(&skills), &Fields::default(), page.form_code());
    shown(insider, &people, form).saved(asked.yes("saved")).answer(StatusCode::OK)
}

/// Adds a person, who is invited on their own page.
#[post("/people")]
pub(super) async fn add(page: PageWrite<Owner>) -> Answer {
    let fields = Fields::of_form(page.form());
    let taken = taken(&page, read(&fields), |tx, typed| {
        let details = typed.details(tx)?;
        Ok(format!("{HERE}/{}?saved=yes", create(tx, &details)?.id))
    });
    let problem = match taken.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let (insider, people, skills) = page.read(found).await?;
    let form = FormView::new(inputs(&skills), &fields, page.form_code()).refused(problem.refused());
    shown(insider, &people, form).answer(problem.status())
}
