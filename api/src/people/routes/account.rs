//! Accounts over HTTP.

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_domain::id::PersonId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::RoleWord;
use crate::booking::usecase::warn_of_broken;
use crate::people::usecase::{self, Person, PersonDetails};
use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{Kept, List, Mark, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::identity::{Desk, Owner};
use crate::platform::problem::Problem;
use crate::platform::wire::{Code, Email, Instant, Line, Reference, Word};
use crate::shop::routes::{StretchBody, StretchView, codes, stretches, words};

/// The most skills of a person.
const MOST_SKILLS: usize = 60;

/// Someone who works in the shop.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonBody {
    /// The name as colleagues say it.
    #[schema(example = "Niamh")]
    name: Line<120>,
    /// The address to sign in with; one account in the whole program has it.
    #[schema(example = "niamh@example.com")]
    email: Email,
    /// What they may do.
    role: RoleWord,
    /// What they can do at a car, in the words that the menu's steps ask for.
    #[serde(default)]
    #[schema(max_items = 60, example = json!(["machine-polishing"]))]
    skills: Vec<Code>,
    /// The usual week in the shop's local time; nothing where they do not work at cars.
    #[serde(default)]
    #[schema(max_items = 42)]
    shifts: Vec<StretchBody>,
}

/// Someone who works in the shop.
#[derive(Debug, Serialize, ToSchema)]
pub struct PersonView {
    /// The person's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The name as colleagues say it.
    #[schema(max_length = 120)]
    name: String,
    /// The address to sign in with.
    #[schema(max_length = 254)]
    email: String,
    /// What they may do.
    role: RoleWord,
    /// What they can do at a car, in alphabetical order.
    #[schema(max_items = 60)]
    skills: Vec<Code>,
    /// The usual week, by day and beginning.
    #[schema(max_items = 42)]
    shifts: Vec<StretchView>,
    /// Whether they may sign in and are given work.
    active: bool,
    /// Whether they have chosen a password yet.
    has_password: bool,
    /// When the account was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

crate::versioned!(PersonView);

impl PersonBody {
    fn details(self) -> Result<PersonDetails, Problem> {
        Ok(PersonDetails {
            skills: codes(&self.skills, "/skills", MOST_SKILLS)?,
            shifts: stretches(&self.shifts, "/shifts")?,
            name: self.name.into_string(),
            email: self.email.into_string(),
            role: self.role.0,
        })
    }
}

impl From<Person> for PersonView {
    fn from(person: Person) -> Self {
        Self {
            id: Reference::from(&person.id),
            version: person.version,
            skills: words(&person.details.skills),
            shifts: person.details.shifts.iter().map(StretchView::from).collect(),
            name: person.details.name,
            email: person.details.email,
            role: Word(person.details.role),
            active: person.active,
            has_password: person.has_password,
            created_at: Instant(person.created_at),
            updated_at: Instant(person.updated_at),
        }
    }
}

/// List people.
///
/// One page of them, in the order they were added; those deactivated too.
#[utoipa::path(tag = "people", params(crate::platform::cursor::PageParams),
    responses((status = 200, description = "One page.", body = Page<PersonView>)))]
#[get("/v1/people")]
pub(super) async fn list(call: Call<Desk>, list: List<NoFilter, Kept>) -> Answer {
    let all = call.read(usecase::everyone).await?;
    Ok(page(&list.paging.cut(all, |person| Mark::of_id(person.id.as_str())).map(PersonView::from)))
}

/// Add an account.
///
/// It has no password yet: invite the person, and they choose one.
#[utoipa::path(tag = "people", request_body = PersonBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new account.", body = PersonView)))]
#[post("/v1/people")]
pub(super) async fn create(call: Call<Owner>, _: IdempotencyKey, body: Body<PersonBody>) -> Answer {
    let details = body.value.details()?;
    call.create(move |tx| {
        let view = PersonView::from(usecase::create(tx, &details)?);
        Ok(Created { location: format!("/v1/people/{}", view.id), view })
    })
    .await
}

/// Read an account.
#[utoipa::path(tag = "people", params(("id" = Reference, Path, description = "The person.")),
    responses((status = 200, description = "The account.", body = PersonView), (status = 304, description = "Unchanged.")))]
#[get("/v1/people/{id}")]
pub(super) async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = PersonId::new(id.into_inner());
    let person = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&PersonView::from(person), &known))
}

/// Replace an account.
///
/// A change of role counts from the person's next request on. The shop always keeps an owner.
#[utoipa::path(tag = "people", request_body = PersonBody, params(("id" = Reference, Path, description = "The person.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The account as it now stands.", body = PersonView)))]
#[put("/v1/people/{id}")]
pub(super) async fn replace(call: Call<Owner>, id: Path<String>, seen: IfMatch, body: Body<PersonBody>) -> Answer {
    let (id, details) = (PersonId::new(id.into_inner()), body.value.details()?);
    call.change(move |tx| {
        let person = warn_of_broken(tx, "/shifts", |tx| usecase::replace(tx, &id, seen, &details))?;
        Ok(PersonView::from(person))
    })
    .await
}

/// Deactivate an account.
///
/// Ends all of the person's sign-ins at once. What they did stays theirs.
#[utoipa::path(tag = "people", params(("id" = Reference, Path, description = "The person.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The account as it now stands.", body = PersonView)))]
#[post("/v1/people/{id}/deactivate")]
pub(super) async fn deactivate(call: Call<Owner>, id: Path<String>, seen: IfMatch) -> Answer {
    let id = PersonId::new(id.into_inner());
    call.change(move |tx| {
        let person = warn_of_broken(tx, "", |tx| usecase::deactivate(tx, &id, seen))?;
        Ok(PersonView::from(person))
    })
    .await
}

/// Reactivate an account.
///
/// The person may sign in again with the password they had.
#[utoipa::path(tag = "people", params(("id" = Reference, Path, description = "The person.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The account as it now stands.", body = PersonView)))]
#[post("/v1/people/{id}/reactivate")]
pub(super) async fn reactivate(call: Call<Owner>, id: Path<String>, seen: IfMatch) -> Answer {
    let id = PersonId::new(id.into_inner());
    call.change(move |tx| Ok(PersonView::from(usecase::reactivate(tx, &id, seen)?))).await
}
