//! Reschedulings over HTTP.

mod week;

use std::num::NonZeroU32;

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::booking::usecase::{MOST_DAYS, Overrun, USUAL_DAYS};
use baywright_core::platform::identity::{Desk, Owner};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::rescheduling::usecase::{self, Another, Question, Rescheduling, Thought};
use baywright_domain::id::{BookingId, QuoteId, ReschedulingId};
use baywright_domain::rescheduling::ReschedulingState;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use self::week::{OverrunBody, WeekView};
use crate::booking::rounded_up;
use crate::platform::answer::{Answer, Created, Page, item, page, plain};
use crate::platform::body::{Body, at_most};
use crate::platform::call::{Call, blocking};
use crate::platform::cursor::{List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::problem::Problem;
use crate::platform::wire::{Instant, Reference, Whole, Word};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(preview).service(create).service(list).service(show).service(accept);
}

/// A state as it is sent over HTTP.
type StateWord = Word<ReschedulingState>;

/// Maximum number of quotes, and of overruns, in one request.
const MOST: usize = 50;

// The API document needs the numbers themselves.
const _: () = assert!(USUAL_DAYS == 14 && MOST_DAYS == 60, "the days of a request are not those of the rules");

/// Request for a rescheduling. If it is empty, the bookings of the next two weeks are scheduled again, as is
/// useful after an absence or a closure was added.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "days": 14 }))]
pub struct ReschedulingBody {
    /// Number of days from now to plan; 14 if null or left out.
    #[serde(default)]
    days: Option<Whole<1, 60>>,
    /// Signed quotes without a booking that should get a place.
    #[serde(default)]
    #[schema(max_items = 50)]
    quotes: Vec<AnotherBody>,
    /// Cars that stay longer in their bay than was agreed.
    #[serde(default)]
    #[schema(max_items = 50)]
    overruns: Vec<OverrunBody>,
}

/// Signed quote that should get a place.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AnotherBody {
    /// Id of the signed quote.
    quote_id: Reference,
    /// Earliest time when the car can be there, RFC 3339; the current time if null or left out.
    #[serde(default)]
    from: Option<Instant>,
    /// Requested finish, RFC 3339; lateness is counted from then on. If null or left out, `latest` counts, or else the
    /// end of the planned period.
    #[serde(default)]
    due: Option<Instant>,
    /// Latest acceptable finish, RFC 3339, even if promises to other customers move; null or left out if there is none.
    #[serde(default)]
    latest: Option<Instant>,
    /// Weight of each minute of lateness; 1 if null or left out.
    #[serde(default)]
    weight: Option<Whole<1, 100>>,
}

impl ReschedulingBody {
    fn into_question(self) -> Result<Question, Refused> {
        at_most("/quotes", self.quotes.len(), MOST)?;
        at_most("/overruns", self.overruns.len(), MOST)?;
        let minute = |at: Instant| at.0.minute();
        let other = |body: AnotherBody| Another {
            quote: QuoteId::new(body.quote_id),
            from: body.from.map(rounded_up),
            due: body.due.map(minute),
            latest: body.latest.map(minute),
            weight: body.weight.and_then(|weight| NonZeroU32::new(weight.get())).unwrap_or(NonZeroU32::MIN),
        };
        let overrun =
            |body: OverrunBody| Overrun { booking: BookingId::new(body.booking_id), finish: body.finish.0.minute() };
        Ok(Question {
            days: self.days.map_or(USUAL_DAYS, Whole::get),
            others: self.quotes.into_iter().map(other).collect(),
            overruns: self.overruns.into_iter().map(overrun).collect(),
        })
    }
}

/// Preview of a rescheduling. Nothing has changed.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ReschedulingPreview)]
struct PreviewView {
    /// Schedule of all jobs; null if not all fit.
    week: Option<WeekView>,
    /// Ids of the quotes whose jobs do not fit with the others; empty if all fit.
    #[schema(max_items = 500)]
    unplaced_quote_ids: Vec<Reference>,
    /// Whether it is proven that no schedule leaves out fewer jobs; null if all fit.
    unplaced_proven: Option<bool>,
}

/// Rescheduling: a stored plan for moving and adding bookings.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Rescheduling)]
struct ReschedulingView {
    /// Id of the rescheduling.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// State of the rescheduling: open or accepted.
    state: StateWord,
    /// Schedule of all jobs.
    week: WeekView,
    /// Time when the rescheduling was made, RFC 3339 in UTC.
    created_at: Instant,
    /// Time when the rescheduling was accepted and the diary changed, RFC 3339 in UTC; null before.
    accepted_at: Option<Instant>,
}

/// Rescheduling as shown in a list.
#[derive(Debug, Serialize, ToSchema)]
struct ReschedulingLine {
    /// Id of the rescheduling.
    id: Reference,
    /// Version of the record, which every change raises by one.
    #[schema(minimum = 1)]
    version: i64,
    /// State of the rescheduling: open or accepted.
    state: StateWord,
    /// Number of jobs in the schedule.
    #[schema(minimum = 0, maximum = 500)]
    jobs: usize,
    /// Number of customers whose times would change and who would be told.
    #[schema(minimum = 0, maximum = 500)]
    promises_that_move: usize,
    /// Time when the rescheduling was made, RFC 3339 in UTC.
    created_at: Instant,
    /// Time when the rescheduling was accepted and the diary changed, RFC 3339 in UTC; null before.
    accepted_at: Option<Instant>,
}

impl From<Rescheduling> for ReschedulingLine {
    fn from(rescheduling: Rescheduling) -> Self {
        Self {
            id: Reference::from(&rescheduling.id),
            version: rescheduling.version,
            state: Word(rescheduling.state),
            jobs: rescheduling.week.jobs.len(),
            promises_that_move: rescheduling.week.moves(),
            created_at: Instant(rescheduling.created_at),
            accepted_at: rescheduling.accepted_at.map(Instant),
        }
    }
}

crate::versioned!(ReschedulingView);

impl From<Rescheduling> for ReschedulingView {
    fn from(rescheduling: Rescheduling) -> Self {
        Self {
            id: Reference::from(&rescheduling.id),
            version: rescheduling.version,
            state: Word(rescheduling.state),
            week: rescheduling.week.into(),
            created_at: Instant(rescheduling.created_at),
            accepted_at: rescheduling.accepted_at.map(Instant),
        }
    }
}

async fn thought(call: &Call<Desk>, body: ReschedulingBody) -> Result<Thought, Problem> {
    let question = body.into_question()?;
    let busy =
        |_| Refused::unavailable("Other reschedulings are being calculated right now. Try again in a few seconds.");
    let place = call.app().thinking.clone().try_acquire_owned().map_err(busy)?;
    let asked = call.read(move |tx| usecase::ask(tx, &question)).await?;
    blocking(move || {
        // Held as long as the search runs, even if the client that asked has disconnected.
        let _place = place;
        Ok(usecase::think(&asked))
    })
    .await
}

/// Preview a rescheduling.
///
/// Answers questions such as: can this car be done by Thursday, and which bookings would move? Schedules all confirmed
/// bookings that have not begun together with the given quotes, so that as few promises as possible move and then the
/// lateness is as small as possible. The answer names every promise that moves, with its times before and after.
/// Nothing is stored or changed.
#[utoipa::path(tag = "rescheduling", request_body = ReschedulingBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "Schedule of all jobs, or the jobs that do not fit.", body = PreviewView)))]
#[post("/v1/rescheduling-previews")]
async fn preview(call: Call<Desk>, body: Body<ReschedulingBody>) -> Answer {
    let view = match thought(&call, body.value).await? {
        Thought::Placed(week) => {
            PreviewView { week: Some(week.into()), unplaced_quote_ids: Vec::new(), unplaced_proven: None }
        }
        Thought::Unplaced { quotes, proven } => PreviewView {
            week: None,
            unplaced_quote_ids: quotes.iter().map(Reference::from).collect(),
            unplaced_proven: Some(proven),
        },
    };
    Ok(plain(&view))
}

/// Create a rescheduling.
///
/// Does the same as the preview and stores the result, so that an owner can look at it and accept it. 409
/// `does-not-fit` if not all jobs fit.
#[utoipa::path(tag = "rescheduling", request_body = ReschedulingBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new rescheduling.", body = ReschedulingView)))]
#[post("/v1/reschedulings")]
async fn create(call: Call<Desk>, _: IdempotencyKey, body: Body<ReschedulingBody>) -> Answer {
    if call.is_known().await? {
        // Answered from the stored rescheduling; the search is not repeated.
        let gone = |_: &mut Tx<'_>| Err::<Created<ReschedulingView>, _>(Refused::unavailable("Try again.").into());
        return call.create(gone).await;
    }
    let week = match thought(&call, body.value).await? {
        Thought::Placed(week) => week,
        Thought::Unplaced { quotes, .. } => {
            let detail =
                format!("These quotes' jobs don't fit with the others: {}. Leave some out.", quotes.join(", "));
            return Err(Refused::conflict("does-not-fit", detail).into());
        }
    };
    let keep = move |tx: &mut Tx<'_>| {
        let view = ReschedulingView::from(usecase::keep(tx, &week)?);
        Ok(Created { location: format!("/v1/reschedulings/{}", view.id.as_str()), view })
    };
    call.create(keep).await
}

/// List the reschedulings.
///
/// Returns one page of reschedulings, newest first, without their jobs.
#[utoipa::path(tag = "rescheduling", params(crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of reschedulings.", body = Page<ReschedulingLine>)))]
#[get("/v1/reschedulings")]
async fn list(call: Call<Desk>, list: List<NoFilter>) -> Answer {
    let found = call.read(move |tx| usecase::list(tx, &list.paging)).await?;
    Ok(page(&list.links, found.map(ReschedulingLine::from)))
}

/// Read a rescheduling.
///
/// Returns every job with its current and its new bay and time, and which promises move.
#[utoipa::path(tag = "rescheduling", params(("id" = Reference, Path, description = "Id of the rescheduling.")),
    responses((status = 200, description = "The requested rescheduling.", body = ReschedulingView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/reschedulings/{id}")]
async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = ReschedulingId::new(id.into_inner());
    let rescheduling = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&ReschedulingView::from(rescheduling), &known))
}

/// Accept a rescheduling.
///
/// Changes the diary in one step: bookings move, quotes are booked, overruns are recorded. Every customer whose booking
/// is made, whose promise moves or whose car will be ready later than they were told gets a mail. If the diary has
/// changed since the rescheduling was made, nothing happens and the answer is 409 `rescheduling-outdated`. A warning
/// `booking-still-broken` names each booking of these days that still can't be kept, such as one of a car with several
/// bookings: move it by hand.
#[utoipa::path(tag = "rescheduling", params(("id" = Reference, Path, description = "Id of the rescheduling.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The accepted rescheduling.", body = ReschedulingView)))]
#[post("/v1/reschedulings/{id}/accept")]
async fn accept(call: Call<Owner>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = ReschedulingId::new(id.into_inner());
    call.change(move |tx| Ok(ReschedulingView::from(usecase::accept(tx, &id, seen)?))).await
}
