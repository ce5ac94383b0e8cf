//! Absences over HTTP.

use actix_web::web::Path;
use actix_web::{delete, get, post, put};
use baywright_core::booking::usecase::warn_of_broken;
use baywright_core::people::usecase::{self, Absence, AbsenceDetails};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_domain::calendar::{Absence as Away, Dates};
use baywright_domain::id::{AbsenceId, PersonId};
use baywright_domain::time::Interval;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Day, Instant, Reference, Text};

/// Absence of a person: whole days, or a part of one day.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "first_day": "2026-07-06", "last_day": "2026-07-17", "note": "Summer holiday" }))]
pub struct AbsenceBody {
    /// First day of the absence, in the shop's time zone; null or left out for a part of a day.
    #[serde(default)]
    first_day: Option<Day>,
    /// Last day of the absence, in the shop's time zone; the same as the first for a single day. Null or left out for a
    /// part of a day.
    #[serde(default)]
    last_day: Option<Day>,
    /// Start of the absence, RFC 3339, for a part of a day; seconds are ignored. Null or left out for whole days.
    #[serde(default)]
    from_at: Option<Instant>,
    /// End of the absence, RFC 3339, for a part of a day. Null or left out for whole days.
    #[serde(default)]
    until_at: Option<Instant>,
    /// Note for the desk. Do not write why somebody is ill.
    #[serde(default)]
    note: Text<500>,
}

/// Absence of a person.
#[derive(Debug, Serialize, ToSchema)]
pub struct AbsenceView {
    /// Id of the absence.
    id: Reference,
    /// Id of the person who is absent.
    person_id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// First day of the absence, in the shop's time zone; null for a part of a day.
    first_day: Option<Day>,
    /// Last day of the absence, in the shop's time zone; null for a part of a day.
    last_day: Option<Day>,
    /// Start of the absence, RFC 3339 in UTC; null for whole days.
    from_at: Option<Instant>,
    /// End of the absence, RFC 3339 in UTC; null for whole days.
    until_at: Option<Instant>,
    /// Note for the desk.
    #[schema(max_length = 500)]
    note: String,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(AbsenceView);

impl AbsenceBody {
    fn details(self) -> Result<AbsenceDetails, Refused> {
        let away = match (self.first_day, self.last_day, self.from_at, self.until_at) {
            (Some(first), Some(last), None, None) => Dates::through(first.0, last.0)
                .map(Away::Days)
                .map_err(|e| Refused::field("/last_day", "empty_dates", format!("{e}.")))?,
            (None, None, Some(from), Some(until)) => {
                let hours = Interval::new(from.0.minute(), until.0.minute());
                let detail = "It must end at least one minute after it begins.";
                Away::Hours(hours.ok_or_else(|| Refused::field("/until_at", "empty_hours", detail))?)
            }
            _ => {
                let detail = "Give first_day and last_day for whole days, or from_at and until_at for a part of one.";
                return Err(Refused::field("", "days_or_hours", detail));
            }
        };
        Ok(AbsenceDetails { away, note: self.note.into_string() })
    }
}

impl From<Absence> for AbsenceView {
    fn from(absence: Absence) -> Self {
        let (first_day, last_day, from_at, until_at) = match absence.details.away {
            Away::Days(dates) => (Some(Day(dates.from())), Some(Day(dates.last())), None, None),
            Away::Hours(hours) => {
                let at = |minute| Some(Instant(UtcTime::from_minute(minute)));
                (None, None, at(hours.from()), at(hours.to()))
            }
        };
        Self {
            id: Reference::from(&absence.id),
            person_id: Reference::from(&absence.person),
            version: absence.version,
            first_day,
            last_day,
            from_at,
            until_at,
            note: absence.details.note,
            created_at: Instant(absence.created_at),
            updated_at: Instant(absence.updated_at),
        }
    }
}

type Ids = Path<(String, String)>;

fn ids(path: Ids) -> (PersonId, AbsenceId) {
    let (person, absence) = path.into_inner();
    (PersonId::new(person), AbsenceId::new(absence))
}

/// List a person's absences.
///
/// Returns one page of absences, newest first.
#[utoipa::path(tag = "people",
    params(("id" = Reference, Path, description = "Id of the person."), crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of absences.", body = Page<AbsenceView>)))]
#[get("/v1/people/{id}/absences")]
pub(super) async fn list(call: Call<Desk>, id: Path<String>, list: List<NoFilter>) -> Answer {
    let person = PersonId::new(id.into_inner());
    let found = call.read(move |tx| usecase::absences(tx, &person, &list.paging)).await?;
    Ok(page(&list.links, found.map(AbsenceView::from)))
}

/// Add an absence.
///
/// Bookings that need the person then stay unchanged: `warnings` names each, with the path at which to ask for new
/// times. 409 `absence-twice` if the person has exactly this absence already; one that overlaps another causes a
/// warning. An end more than a year ahead needs the confirmation `far-ahead`, a beginning more than a month ago
/// `long-past`.
#[utoipa::path(tag = "people", request_body = AbsenceBody,
    params(("id" = Reference, Path, description = "Id of the person.")),
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["far-ahead", "long-past"]))),
    responses((status = 201, description = "The new absence.", body = AbsenceView)))]
#[post("/v1/people/{id}/absences")]
pub(super) async fn create(call: Call<Desk>, id: Path<String>, _: IdempotencyKey, body: Body<AbsenceBody>) -> Answer {
    let (person, details) = (PersonId::new(id.into_inner()), body.value.details()?);
    call.create(move |tx| {
        let absence = warn_of_broken(tx, details.pointer(), |tx| usecase::add_absence(tx, &person, &details))?;
        let view = AbsenceView::from(absence);
        Ok(Created { location: format!("/v1/people/{}/absences/{}", view.person_id, view.id), view })
    })
    .await
}

/// Read an absence.
#[utoipa::path(tag = "people",
    params(("id" = Reference, Path, description = "Id of the person."),
        ("absence" = Reference, Path, description = "Id of the absence.")),
    responses((status = 200, description = "The requested absence.", body = AbsenceView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/people/{id}/absences/{absence}")]
pub(super) async fn show(call: Call<Desk>, path: Ids, known: IfNoneMatch) -> Answer {
    let (person, id) = ids(path);
    let absence = call.read(move |tx| usecase::show_absence(tx, &person, &id)).await?;
    Ok(item(&AbsenceView::from(absence), &known))
}

/// Replace an absence.
///
/// A new end more than a year ahead needs the confirmation `far-ahead`, a new beginning more than a month ago
/// `long-past`.
#[utoipa::path(tag = "people", request_body = AbsenceBody,
    params(("id" = Reference, Path, description = "Id of the person."),
        ("absence" = Reference, Path, description = "Id of the absence.")),
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["far-ahead", "long-past"]))),
    responses((status = 200, description = "The absence after the change.", body = AbsenceView)))]
#[put("/v1/people/{id}/absences/{absence}")]
pub(super) async fn replace(call: Call<Desk>, path: Ids, IfMatch(seen): IfMatch, body: Body<AbsenceBody>) -> Answer {
    let ((person, id), details) = (ids(path), body.value.details()?);
    call.change(move |tx| {
        let replace = |tx: &mut Tx<'_>| usecase::replace_absence(tx, &person, &id, seen, &details);
        Ok(AbsenceView::from(warn_of_broken(tx, details.pointer(), replace)?))
    })
    .await
}

/// Delete an absence.
#[utoipa::path(tag = "people",
    params(("id" = Reference, Path, description = "Id of the person."),
        ("absence" = Reference, Path, description = "Id of the absence.")),
    extensions(("x-if-match" = json!(true))), responses((status = 204, description = "The absence is deleted.")))]
#[delete("/v1/people/{id}/absences/{absence}")]
pub(super) async fn remove(call: Call<Desk>, path: Ids, IfMatch(seen): IfMatch) -> Answer {
    let (person, id) = ids(path);
    call.remove(move |tx| usecase::remove_absence(tx, &person, &id, seen)).await
}
