//! The four digits with which a person signs in on tablets: one's own, or those of a colleague for the owner.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, post};
use baywright_core::access::usecase::tablet::{digest_of, drop_digits, keep_digits, may_have_digits};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Audience, Crew, Owner};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::secret::Secret;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::PersonId;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{PageRead, PageWrite};
use baywright_http::platform::problem::Problem;

use super::HERE;
use crate::platform::form::{Fields, FormPage, FormView, Input, Reading};
use crate::platform::{Insider, is_mendable, see_other};

/// The page of one's own digits.
const OWN: &str = "/digits";

/// Whose digits they are.
#[derive(Debug, Clone)]
struct Whose {
    /// Id of the person; `None` for whoever asks.
    person: Option<PersonId>,
    /// The address of the page.
    address: String,
}

impl Whose {
    fn own() -> Self {
        Self { person: None, address: OWN.to_owned() }
    }

    fn of(id: String) -> Self {
        Self { address: format!("{HERE}/{id}/digits"), person: Some(PersonId::new(id)) }
    }

    fn id(&self, tx: &Tx<'_>) -> Done<PersonId> {
        let id = self.person.as_ref().or_else(|| tx.actor.person()).cloned();
        Ok(id.ok_or_else(|| Refused::not_found("person"))?)
    }
}

/// The person who asks, and the name of the person whose digits they are.
fn found(tx: &mut Tx<'_>, whose: &Whose) -> Done<(Insider, String)> {
    let id = whose.id(tx)?;
    Ok((Insider::of(tx)?, may_have_digits(tx, &id)?.name))
}

fn inputs() -> Vec<Input> {
    let remove = vec![("yes".to_owned(), "Remove the digits, so that they open nothing any more".to_owned())];
    vec![
        Input::password("digits", "Four digits")
            .hint("Not the same digit four times, and not a row such as 1234. Use no digits that you use elsewhere.")
            .numeric()
            .autocomplete("off"),
        Input::ticks("remove", "Or", remove),
    ]
}

fn shown(whose: &Whose, (insider, name): (Insider, String), form: FormView) -> FormPage {
    let (heading, place) = match whose.person {
        Some(_) => (format!("Digits of {name}"), HERE),
        None => ("Your digits for the tablet".to_owned(), OWN),
    };
    FormPage::new(heading, insider, place, form, whose.address.as_str()).lead(
        "On a tablet beside the bays you tap your name and type these digits. They are no password for anything else.",
    )
}

async fn show_of<A: Audience>(page: PageRead<A>, whose: Whose, request: HttpRequest) -> Answer {
    let asked = Fields::of_query(request.query_string());
    let of = whose.clone();
    let found = page.read(move |tx| found(tx, &of)).await?;
    let form = FormView::new(inputs(), &Fields::default(), page.form_code());
    shown(&whose, found, form).saved(asked.yes("saved")).answer(StatusCode::OK)
}

/// The digits that the form brings; `None` to remove those that there are.
fn read(fields: &Fields) -> Result<Option<Secret>, Refused> {
    if fields.yes("remove") {
        return Ok(None);
    }
    let mut form = Reading::of(fields);
    let digits = form.secret("digits");
    form.done(digits).map(Some)
}

/// Sets or removes the digits. No transaction is open while they are hashed, and nothing about them is kept with a key: a
/// fast digest of four digits would tell them.
async fn set<A: Audience>(page: &PageWrite<A>, whose: &Whose, digits: Option<Secret>) -> Result<(), Problem> {
    let of = whose.clone();
    let Some(digits) = digits else {
        return page.write(move |tx| of.id(tx).and_then(|id| drop_digits(tx, &id))).await;
    };
    let asked = whose.clone();
    page.read(move |tx| found(tx, &asked)).await?;
    let digest = page.door().run(move |door| digest_of(door, &digits)).await?;
    page.write(move |tx| of.id(tx).and_then(|id| keep_digits(tx, &id, &digest))).await
}

async fn save_of<A: Audience>(page: PageWrite<A>, whose: Whose) -> Answer {
    let fields = Fields::of_form(page.form());
    let done = match read(&fields) {
        Ok(digits) => set(&page, &whose, digits).await,
        Err(refused) => Err(refused.into()),
    };
    let problem = match done {
        Ok(()) => return Ok(see_other(&format!("{}?saved=yes", whose.address))),
        Err(problem) if is_mendable(&problem) => problem,
        Err(problem) => return Err(problem),
    };
    let of = whose.clone();
    let found = page.read(move |tx| found(tx, &of)).await?;
    let form = FormView::new(inputs(), &fields, page.form_code()).refused(problem.refused());
    shown(&whose, found, form).answer(problem.status())
}

/// The form for the digits of a person.
#[get("/people/{id}/digits")]
pub(super) async fn show(page: PageRead<Owner>, id: Path<String>, request: HttpRequest) -> Answer {
    show_of(page, Whose::of(id.into_inner()), request).await
}

/// Sets the digits of a person.
#[post("/people/{id}/digits")]
pub(super) async fn save(page: PageWrite<Owner>, id: Path<String>) -> Answer {
    save_of(page, Whose::of(id.into_inner())).await
}

/// The form for one's own digits.
#[get("/digits")]
pub(super) async fn show_own(page: PageRead<Crew>, request: HttpRequest) -> Answer {
    show_of(page, Whose::own(), request).await
}

/// Sets one's own digits.
#[post("/digits")]
pub(super) async fn save_own(page: PageWrite<Crew>) -> Answer {
    save_of(page, Whose::own()).await
}
