//! Accounts over HTTP.

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_core::booking::usecase::warn_of_broken;
use baywright_core::people::usecase::{self, Person, PersonDetails};
use baywright_core::platform::faults::Faults;
use baywright_core::platform::identity::{Desk, Owner};
use baywright_core::platform::paging::Mark;
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::PersonId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::RoleWord;
use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{Kept, List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Code, Email, Instant, Line, Reference, Word};
use crate::shop::{StretchBody, StretchView, codes, stretches, words};

/// Maximum number of skills of a person.
const MOST_SKILLS: usize = 60;

/// Person who works in the shop.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonBody {
    /// Name of the person as colleagues use it.
    #[schema(example = "Niamh")]
    name: Line<120>,
    /// Email address to sign in with; must not belong to another account of the program.
    #[schema(example = "niamh@example.com")]
    email: Email,
    /// Role of the person, which decides what they may do.
    role: RoleWord,
    /// Skills of the person, as the steps of the menu name them.
    #[serde(default)]
    #[schema(max_items = 60, example = json!(["machine-polishing"]))]
    skills: Vec<Code>,
    /// Working hours of the usual week, in the shop's time zone; empty if the person does not work on cars.
    #[serde(default)]
    #[schema(max_items = 42)]
    shifts: Vec<StretchBody>,
}

/// Person who works in the shop.
#[derive(Debug, Serialize, ToSchema)]
pub struct PersonView {
    /// Id of the person.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Name of the person as colleagues use it.
    #[schema(max_length = 120)]
    name: String,
    /// Email address to sign in with.
    #[schema(max_length = 254)]
    email: String,
    /// Role of the person, which decides what they may do.
    role: RoleWord,
    /// Skills of the person, in alphabetical order.
    #[schema(max_items = 60)]
    skills: Vec<Code>,
    /// Working hours of the usual week, in the shop's time zone, by day and start.
    #[schema(max_items = 42)]
    shifts: Vec<StretchView>,
    /// Whether the person may sign in and is given work.
    active: bool,
    /// Whether the person has chosen a password.
    has_password: bool,
    /// Time when the account was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(PersonView);

impl PersonBody {
    fn details(self) -> Result<PersonDetails, Refused> {
        let mut faults = Faults::default();
        let skills = faults.note(codes(&self.skills, "/skills", MOST_SKILLS));
        let shifts = faults.note(stretches(&self.shifts, "/shifts"));
        let (skills, shifts) = faults.all_or(skills.zip(shifts))?;
        Ok(PersonDetails {
            skills,
            shifts,
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

/// List the people.
///
/// Returns one page of people, in the order in which they were added, including deactivated ones.
#[utoipa::path(tag = "people", params(crate::platform::cursor::PageParams),
    responses((status = 200, description = "One page of people.", body = Page<PersonView>)))]
#[get("/v1/people")]
pub(super) async fn list(call: Call<Desk>, list: List<NoFilter, Kept>) -> Answer {
    let all = call.read(usecase::everyone).await?;
    Ok(page(&list.links, list.paging.cut(all, |person| Mark::of_id(person.id.as_str())).map(PersonView::from)))
}

/// Add an account.
///
/// The account has no password yet: invite the person, who then chooses one.
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
#[utoipa::path(tag = "people", params(("id" = Reference, Path, description = "Id of the person.")),
    responses((status = 200, description = "The requested account.", body = PersonView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/people/{id}")]
pub(super) async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = PersonId::new(id.into_inner());
    let person = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&PersonView::from(person), &known))
}

/// Replace an account.
///
/// A new role applies from the person's next request on. The shop must always have an owner.
#[utoipa::path(tag = "people", request_body = PersonBody,
    params(("id" = Reference, Path, description = "Id of the person.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The account after the change.", body = PersonView)))]
#[put("/v1/people/{id}")]
pub(super) async fn replace(
    call: Call<Owner>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<PersonBody>,
) -> Answer {
    let (id, details) = (PersonId::new(id.into_inner()), body.value.details()?);
    call.change(move |tx| {
        let person = warn_of_broken(tx, "/shifts", |tx| usecase::replace(tx, &id, seen, &details))?;
        Ok(PersonView::from(person))
    })
    .await
}

/// Deactivate an account.
///
/// Ends all sessions of the person at once. Records of their work keep their name.
#[utoipa::path(tag = "people", params(("id" = Reference, Path, description = "Id of the person.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The account after the change.", body = PersonView)))]
#[post("/v1/people/{id}/deactivate")]
pub(super) async fn deactivate(call: Call<Owner>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = PersonId::new(id.into_inner());
    call.change(move |tx| {
        let person = warn_of_broken(tx, "", |tx| usecase::deactivate(tx, &id, seen))?;
        Ok(PersonView::from(person))
    })
    .await
}

/// Reactivate an account.
///
/// The person may sign in again with their previous password.
#[utoipa::path(tag = "people", params(("id" = Reference, Path, description = "Id of the person.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The account after the change.", body = PersonView)))]
#[post("/v1/people/{id}/reactivate")]
pub(super) async fn reactivate(call: Call<Owner>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = PersonId::new(id.into_inner());
    call.change(move |tx| Ok(PersonView::from(usecase::reactivate(tx, &id, seen)?))).await
}
