//! Feeds over HTTP, for the desk.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::feed::usecase::{self, Feed, Of};
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::FeedId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Page, page, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{List, NoFilter};
use crate::platform::wire::{Instant, Reference};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(create).service(list).service(revoke);
}

/// Bay or person whose diary the feed shows; exactly one of the two.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "bay_id": "0198c0de-0000-7000-8000-000000000001" }))]
pub struct CalendarFeedBody {
    /// Id of the bay; null or left out for a person's feed.
    #[serde(default)]
    bay_id: Option<Reference>,
    /// Id of the person; null or left out for a bay's feed.
    #[serde(default)]
    person_id: Option<Reference>,
}

impl CalendarFeedBody {
    fn into_of(self) -> Result<Of, Refused> {
        match (self.bay_id, self.person_id) {
            (Some(bay), None) => Ok(Of::Bay(bay.into_string().into())),
            (None, Some(person)) => Ok(Of::Person(person.into_string().into())),
            _ => Err(Refused::field("/bay_id", "one_of", "Give either the bay or the person.")),
        }
    }
}

/// Calendar feed, without its secret address, which is not stored.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = CalendarFeed)]
struct FeedView {
    /// Id of the calendar feed.
    id: Reference,
    /// Id of the bay whose diary the feed shows; null for a person's feed.
    bay_id: Option<Reference>,
    /// Id of the person whose work the feed shows; null for a bay's feed.
    person_id: Option<Reference>,
    /// Time when the feed was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time when the feed was revoked, RFC 3339 in UTC; null if it was not.
    revoked_at: Option<Instant>,
}

/// New calendar feed with its address.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = NewCalendarFeed)]
struct NewFeedView {
    /// Calendar feed that was created.
    #[serde(flatten)]
    feed: FeedView,
    /// Secret address for the calendar program, shown in this answer only. Anyone who has it can read the diary.
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

/// Create a calendar feed.
///
/// Creates a secret address at which a calendar program reads the diary of one bay or the work of one person: vehicles
/// and times, no customers. The address is shown once; only its digest is stored.
#[utoipa::path(tag = "feed", request_body = CalendarFeedBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "New feed with its address.", body = NewFeedView)))]
#[post("/v1/calendar-feeds")]
async fn create(call: Call<Desk>, body: Body<CalendarFeedBody>) -> Answer {
    let of = body.value.into_of()?;
    let (feed, url) = call.write(move |tx| usecase::make(tx, &of)).await?;
    Ok(plain(&NewFeedView { feed: feed.into(), url }))
}

/// List the calendar feeds.
///
/// Returns one page of calendar feeds, newest first, without their addresses.
#[utoipa::path(tag = "feed", params(crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of calendar feeds.", body = Page<FeedView>)))]
#[get("/v1/calendar-feeds")]
async fn list(call: Call<Desk>, list: List<NoFilter>) -> Answer {
    let found = call.read(move |tx| usecase::list(tx, &list.paging)).await?;
    Ok(page(&list.links, found.map(FeedView::from)))
}

/// Revoke a calendar feed.
///
/// The address shows nothing from now on. Revoking a feed again changes nothing.
#[utoipa::path(tag = "feed", params(("id" = Reference, Path, description = "Id of the calendar feed.")),
    responses((status = 200, description = "The feed after the change.", body = FeedView)))]
#[post("/v1/calendar-feeds/{id}/revoke")]
async fn revoke(call: Call<Desk>, id: Path<String>) -> Answer {
    let id = FeedId::new(id.into_inner());
    call.change_unversioned(move |tx| Ok(FeedView::from(usecase::revoke(tx, &id)?))).await
}
