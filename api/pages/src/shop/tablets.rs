//! Tablets beside the bays: the list, a form for one more, and who can sign in on them.

use std::collections::BTreeSet;

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use askama::Template;
use baywright_core::access::usecase::Tablet;
use baywright_core::access::usecase::tablet::{IDLE, NewTablet, add, end, tablets, with_digits};
use baywright_core::people::usecase::everyone;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Owner;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{PersonId, TabletId};
use baywright_domain::people::Role;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;
use baywright_http::platform::wire::Line;

use crate::platform::form::{Fields, FormView, Input, Reading};
use crate::platform::{DeskFrame, Insider, Wall, html, is_mendable, taken};

/// The address of the list.
const HERE: &str = "/shop/tablets";

/// The page.
#[derive(Template)]
#[template(path = "shop/views/tablets.html")]
struct Page {
    frame: DeskFrame,
    form: FormView,
    tablets: Vec<Row>,
    people: Vec<Person>,
    /// A tablet that was added now: its name, its code, and until when that can be used.
    added: Option<(String, String, String)>,
    /// The page on which the code is typed.
    enrol: String,
    is_ended: bool,
}

/// A tablet.
struct Row {
    id: String,
    version: i64,
    name: String,
    note: String,
}

/// A person who works on cars.
struct Person {
    id: String,
    name: String,
    has_digits: bool,
}

/// What the page shows.
struct Seen {
    insider: Insider,
    wall: Wall,
    tablets: Vec<Tablet>,
    people: Vec<(PersonId, String)>,
    with_digits: BTreeSet<PersonId>,
    enrol: String,
}

fn seen(tx: &mut Tx<'_>) -> Done<Seen> {
    let people = everyone(tx)?.into_iter();
    let people = people.filter(|person| person.active && person.details.role != Role::Accountant);
    Ok(Seen {
        insider: Insider::of(tx)?,
        wall: Wall::of(tx)?,
        people: people.map(|person| (person.id, person.details.name)).collect(),
        tablets: tablets(tx)?,
        with_digits: with_digits(tx)?,
        enrol: format!("{}/tablet", tx.config.public_url),
    })
}

fn inputs() -> Vec<Input> {
    let [fewest, usual, most] = IDLE;
    vec![
        Input::line("name", "Name").hint("Such as the place where it hangs."),
        Input::short("idle_minutes", "Minutes without use until a person is signed out")
            .hint(format!("{fewest} to {most}; {usual} if you leave it empty."))
            .numeric()
            .optional(),
    ]
}

fn read(fields: &Fields) -> Result<NewTablet, Refused> {
    let mut form = Reading::of(fields);
    let name = form.needed("name", Line::<60>::parse);
    let minutes = |text: &str| text.trim().parse::<u32>().map_err(|_| "write a whole number".to_owned());
    let idle_minutes = form.optional("idle_minutes", minutes);
    form.done(name).map(|name| NewTablet { name: name.into_string(), idle_minutes })
}

fn row(tablet: &Tablet, wall: &Wall) -> Row {
    let idle = format!("signs people out after {} min without use", tablet.idle_minutes);
    let note = match (tablet.enrolled_at, tablet.code_ends_at) {
        (Some(at), _) => format!("in use since {}; {idle}", wall.when(at.minute())),
        (None, Some(until)) => format!("waits for its code until {}; {idle}", wall.when(until.minute())),
        (None, None) => idle,
    };
    Row { id: tablet.id.to_string(), version: tablet.version, name: tablet.name.clone(), note }
}

fn shown(seen: Seen, form: FormView, added: Option<(Tablet, String)>, is_ended: bool, status: StatusCode) -> Answer {
    let added = added.map(|(tablet, code)| {
        let until = tablet.code_ends_at.map(|at| seen.wall.when(at.minute())).unwrap_or_default();
        (tablet.name, code, until)
    });
    let person = |(id, name): (PersonId, String)| Person {
        has_digits: seen.with_digits.contains(&id),
        id: id.to_string(),
        name,
    };
    let page = Page {
        tablets: seen.tablets.iter().map(|tablet| row(tablet, &seen.wall)).collect(),
        people: seen.people.into_iter().map(person).collect(),
        added,
        enrol: seen.enrol,
        is_ended,
        frame: DeskFrame::new(form.title("Tablets"), seen.insider, &form.code, "/shop"),
        form,
    };
    html(status, &page)
}

/// The tablets, and a form for one more.
#[get("/shop/tablets")]
pub(super) async fn show(page: PageRead<Owner>, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let seen = page.read(seen).await?;
    let form = FormView::new(inputs(), &Fields::default(), page.form_code());
    shown(seen, form, None, asked.yes("ended"), StatusCode::OK)
}

/// Adds a tablet and shows its code. Only the code's digest is kept, so this takes no key: sent twice, it adds another one.
#[post("/shop/tablets")]
pub(super) async fn add_one(page: PageWrite<Owner>) -> Answer {
    let fields = Fields::of_form(page.form());
    let added = match read(&fields) {
        Ok(new) => page.write(move |tx| add(tx, &new)).await,
        Err(refused) => Err(Problem::from(refused)),
    };
    let (added, problem) = match added {
        Ok(added) => (Some(added), None),
        Err(problem) if is_mendable(&problem) || problem.status() == StatusCode::CONFLICT => (None, Some(problem)),
        Err(problem) => return Err(problem),
    };
    let seen = page.read(seen).await?;
    let typed = if problem.is_some() { fields } else { Fields::default() };
    let form = FormView::new(inputs(), &typed, page.form_code());
    let (form, status) = match &problem {
        Some(problem) => (form.refused(problem.refused()), problem.status()),
        None => (form, StatusCode::OK),
    };
    shown(seen, form, added, false, status)
}

/// Ends a tablet.
#[post("/shop/tablets/{id}/end")]
pub(super) async fn end_one(page: PageWrite<Owner>, id: Path<String>) -> Answer {
    let id = TabletId::new(id.into_inner());
    let fields = Fields::of_form(page.form());
    let seen_version = Reading::of(&fields).version()?;
    let ended = taken(&page, Ok(seen_version), move |tx, version| {
        end(tx, &id, *version)?;
        Ok(format!("{HERE}?ended=yes"))
    });
    let problem = match ended.await? {
        Ok(answer) => return Ok(answer),
        Err(problem) => problem,
    };
    let seen = page.read(seen).await?;
    let form = FormView::new(inputs(), &Fields::default(), page.form_code());
    let form = form.telling("Somebody else has changed this tablet meanwhile. Look at the list, then try again.");
    shown(seen, form, None, false, problem.status())
}
