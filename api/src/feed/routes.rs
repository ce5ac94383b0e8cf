//! Feeds over HTTP, for the desk.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_domain::id::FeedId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, Feed, Of};
use crate::platform::answer::{Answer, Page, page, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{List, NoFilter};
use crate::platform::identity::Desk;
use crate::platform::problem::Problem;
use crate::platform::wire::{Instant, Reference};

/// Adds the routes.
pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(create).service(list).service(revoke);
}

/// Whose diary the feed shows: one bay's or one person's.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "bay_id": "0198c0de-0000-7000-8000-000000000001" }))]
pub struct CalendarFeedBody {
    /// The bay.
    #[serde(default)]
    bay_id: Option<Reference>,
    /// The person.
    #[serde(default)]
    person_id: Option<Reference>,
}

impl CalendarFeedBody {
    fn into_of(self) -> Result<Of, Problem> {
        match (self.bay_id, self.person_id) {
            (Some(bay), None) => Ok(Of::Bay(bay.into_string().into())),
            (None, Some(person)) => Ok(Of::Person(person.into_string().into())),
            _ => Err(Problem::field("/bay_id", "one_of", "Give either the bay or the person.")),
        }
    }
}

/// A feed's link. Its secret is not kept.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = CalendarFeed)]
struct FeedView {
    /// The feed's id.
    id: Reference,
    /// The bay whose diary it shows; null where it is a person's.
    bay_id: Option<Reference>,
    /// The person whose work it shows; null where it is a bay's.
    person_id: Option<Reference>,
    /// When it was made.
    created_at: Instant,
    /// When it was taken back.
    revoked_at: Option<Instant>,
}

/// A feed just made, with its address.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = NewCalendarFeed)]
struct NewFeedView {
    /// The feed.
    #[serde(flatten)]
    feed: FeedView,
    /// The address for the calendar program. It is told this once; whoever has it can read the diary.
    #[schema(max_length = 2000, example = "https://studio.example.com/feeds/….ics")]
    url: String,
}

impl From<Feed> for FeedView {
    fn from(feed: Feed) -> Self {
        let (bay_id, person_id) = match &feed.of {
            Of::Bay(bay) => (Some(Reference::from(bay)), None),
            Of::Person(person) => (None, Some(Reference::from(person))),
        };
        Self {
            id: Reference::from(&feed.id),
            bay_id,
            person_id,
            created_at: Instant(feed.created_at),
            revoked_at: feed.revoked_at.map(Instant),
        }
    }
}

/// Make a calendar feed.
///
/// A secret address at which a calendar program reads the diary of one bay, or the work of one person: the vehicle and
/// the time, and no customer. It is told once and kept only as its digest.
#[utoipa::path(tag = "feed", request_body = CalendarFeedBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "The feed with its address.", body = NewFeedView)))]
#[post("/v1/calendar-feeds")]
async fn create(call: Call<Desk>, body: Body<CalendarFeedBody>) -> Answer {
    let of = body.value.into_of()?;
    let (feed, url) = call.write(move |tx| usecase::make(tx, &of)).await?;
    Ok(plain(&NewFeedView { feed: feed.into(), url }))
}

/// List calendar feeds.
///
/// One page of the feeds that were made, newest first, without their addresses.
#[utoipa::path(tag = "feed", params(crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page.", body = Page<FeedView>)))]
#[get("/v1/calendar-feeds")]
async fn list(call: Call<Desk>, list: List<NoFilter>) -> Answer {
    let found = call.read(move |tx| usecase::list(tx, &list.paging)).await?;
    Ok(page(&found.map(FeedView::from)))
}

/// Take a calendar feed back.
///
/// Its address shows nothing from now on. Taking it back twice is the same as once.
#[utoipa::path(tag = "feed", params(("id" = Reference, Path, description = "The feed.")),
    responses((status = 200, description = "The feed as it now stands.", body = FeedView)))]
#[post("/v1/calendar-feeds/{id}/revoke")]
async fn revoke(call: Call<Desk>, id: Path<String>) -> Answer {
    let id = FeedId::new(id.into_inner());
    call.change_unversioned(move |tx| Ok(FeedView::from(usecase::revoke(tx, &id)?))).await
}
