//! Published revisions.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::menu::kept::MenuForm;
use baywright_core::menu::usecase::{self, Revision};
use baywright_core::platform::identity::{Accounts, Owner};
use baywright_core::platform::refusal::{Refused, Why};
use baywright_domain::id::MenuRevisionId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::body::{MenuBody, Shown};
use super::words::PricesWord;
use crate::platform::answer::{Answer, Created, Page, Versioned, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Instant, Reference, Text, Word};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show_in_force).service(publish).service(list).service(show);
}

/// Start and note of a new menu revision.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PublishBody {
    /// Time from which the menu revision is in force, RFC 3339; not in the past; null or left out for now.
    from: Option<Instant>,
    /// Note for the shop's own people about what has changed.
    #[serde(default)]
    #[schema(example = "Prices for the summer")]
    note: Text<500>,
}

/// Published revision of the menu, which never changes.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuRevisionView {
    /// Id of the menu revision.
    id: Reference,
    /// Number of the menu revision, counted from 1 in the shop.
    #[schema(minimum = 1, maximum = 1_000_000)]
    number: i64,
    /// Time from which the menu revision is in force, until a later one replaces it, RFC 3339 in UTC.
    from: Instant,
    /// Whether the menu revision is in force now.
    in_force: bool,
    /// Whether the menu's prices are with tax (`GROSS`) or before tax (`NET`).
    prices: PricesWord,
    /// Note for the shop's own people about what has changed.
    #[schema(max_length = 500)]
    note: String,
    /// SHA-256 of the menu as it is stored, in lower-case hex. Revisions with equal menus have equal digests.
    #[schema(
        min_length = 64,
        max_length = 64,
        example = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    )]
    digest: String,
    /// Id of the person who published the menu revision; null if a command of the program did.
    published_by: Option<Reference>,
    /// Time of publication, RFC 3339 in UTC.
    published_at: Instant,
    /// Time when the menu revision was withdrawn, RFC 3339 in UTC; null if it was not. A withdrawn menu revision is
    /// never in force.
    withdrawn_at: Option<Instant>,
}

/// Published menu revision with its menu.
#[derive(Debug, Serialize, ToSchema)]
pub struct PublishedMenuView {
    /// Published menu revision, without its menu.
    revision: MenuRevisionView,
    /// Complete menu, as it was published.
    #[schema(value_type = MenuBody)]
    menu: Shown<MenuForm>,
}

impl Versioned for MenuRevisionView {
    fn version(&self) -> i64 {
        self.number
    }
}

impl Versioned for PublishedMenuView {
    fn version(&self) -> i64 {
        self.revision.number
    }
}

impl MenuRevisionView {
    pub(super) fn of(revision: Revision, in_force: bool) -> Self {
        Self {
            id: Reference::from(&revision.id),
            number: revision.number,
            from: Instant(revision.from),
            in_force,
            prices: Word(revision.prices),
            note: revision.note,
            digest: revision.digest,
            published_by: revision.published_by.as_ref().map(Reference::from),
            published_at: Instant(revision.published_at),
            withdrawn_at: revision.withdrawn_at.map(Instant),
        }
    }
}

/// Read the menu in force.
///
/// Returns the menu that new quotes are priced from. Its ETag is the number of the menu revision.
#[utoipa::path(tag = "menu",
    responses((status = 200, description = "Menu in force.", body = PublishedMenuView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match."),
        (status = 404, description = "No menu is in force yet.")))]
#[get("/v1/menu")]
async fn show_in_force(call: Call<Accounts>, known: IfNoneMatch) -> Answer {
    let found = call.read(usecase::find_in_force).await?.ok_or_else(|| {
        let detail = "No menu is in force yet. Publish the draft of the menu first.";
        Refused::new(Why::NotFound, "not-found", detail)
    })?;
    let view = PublishedMenuView { revision: MenuRevisionView::of(found.revision, true), menu: Shown(found.form) };
    Ok(item(&view, &known))
}

/// Publish the menu draft.
///
/// New quotes are priced from it from the given time on; earlier menu revisions never change. If-Match is the ETag of
/// the draft, so that exactly what was read is published. A draft with faults is refused with all of them. A draft that
/// equals the menu revision in force creates no new one: the answer is the revision in force. A time more than a year
/// ahead needs the confirmation `far-ahead`.
#[utoipa::path(tag = "menu", request_body = PublishBody,
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["far-ahead"]))),
    responses((status = 201, description = "The new menu revision.", body = MenuRevisionView)))]
#[post("/v1/menu/publish")]
async fn publish(call: Call<Owner>, _: IdempotencyKey, IfMatch(seen): IfMatch, body: Body<PublishBody>) -> Answer {
    let (from, note) = (body.value.from.map(|from| from.0), body.value.note);
    call.create(move |tx| {
        let revision = usecase::publish(tx, seen, from, note.as_str())?;
        let in_force = usecase::is_in_force(tx, &revision.id)?;
        let view = MenuRevisionView::of(revision, in_force);
        Ok(Created { location: format!("/v1/menu/revisions/{}", view.id), view })
    })
    .await
}

/// List the published menu revisions.
///
/// Returns one page of menu revisions, newest first, without their menus.
#[utoipa::path(tag = "menu", params(crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of menu revisions.", body = Page<MenuRevisionView>)))]
#[get("/v1/menu/revisions")]
async fn list(call: Call<Accounts>, list: List<NoFilter>) -> Answer {
    let (found, current) = call.read(move |tx| usecase::revisions(tx, &list.paging)).await?;
    Ok(page(
        &list.links,
        found.map(|revision| {
            let in_force = current.as_ref() == Some(&revision.id);
            MenuRevisionView::of(revision, in_force)
        }),
    ))
}

/// Read a published menu revision.
///
/// Returns the menu revision with its menu as it was published.
#[utoipa::path(tag = "menu", params(("id" = Reference, Path, description = "Id of the menu revision.")),
    responses((status = 200, description = "The requested menu revision.", body = PublishedMenuView)))]
#[get("/v1/menu/revisions/{id}")]
async fn show(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = MenuRevisionId::new(id.into_inner());
    let view = call.read(move |tx| {
        let (revision, menu) = usecase::show_revision(tx, &id)?;
        let in_force = usecase::is_in_force(tx, &id)?;
        Ok(PublishedMenuView { revision: MenuRevisionView::of(revision, in_force), menu: Shown(menu) })
    });
    // Whether it is in force changes with time alone, so a tag would not show it.
    Ok(item(&view.await?, &IfNoneMatch::default()))
}
