//! Published editions.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_domain::id::MenuRevisionId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::menu::form::{MenuForm, PricesWord};
use crate::menu::usecase::{self, Revision};
use crate::platform::answer::{Answer, Created, Page, Versioned, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::identity::{Accounts, Owner};
use crate::platform::problem::Problem;
use crate::platform::wire::{Instant, Reference, Text, Word};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show_in_force).service(publish).service(list).service(show);
}

/// What is published.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PublishBody {
    /// The moment from which it is in force, now or to come; null for now.
    from: Option<Instant>,
    /// What is new in it, for the shop's own people.
    #[serde(default)]
    #[schema(example = "Prices for the summer")]
    note: Text<500>,
}

/// A published edition of the menu; it never changes.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuRevisionView {
    /// Its id.
    id: Reference,
    /// Counts the shop's editions from 1.
    #[schema(minimum = 1, maximum = 1_000_000)]
    number: i64,
    /// The moment from which it is in force, until a later one takes over.
    from: Instant,
    /// Whether it is the one in force now.
    in_force: bool,
    /// Whether its prices are with tax (`GROSS`) or without (`NET`).
    prices: PricesWord,
    /// What is new in it.
    #[schema(max_length = 500)]
    note: String,
    /// SHA-256 over its canonical JSON (RFC 8785), in hex.
    #[schema(
        min_length = 64,
        max_length = 64,
        example = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    )]
    digest: String,
    /// Who published it; null where the program's own command did.
    published_by: Option<Reference>,
    /// When it was published.
    published_at: Instant,
    /// When it was withdrawn; null if it wasn't. A withdrawn edition is never in force.
    withdrawn_at: Option<Instant>,
}

/// A published edition with its menu.
#[derive(Debug, Serialize, ToSchema)]
pub struct PublishedMenuView {
    /// The edition.
    revision: MenuRevisionView,
    /// Its menu.
    menu: MenuForm,
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
/// What quotes are made from now. Its ETag is the number of the edition.
#[utoipa::path(tag = "menu",
    responses((status = 200, description = "The menu.", body = PublishedMenuView), (status = 304, description = "Unchanged."),
        (status = 404, description = "No menu is in force yet.")))]
#[get("/v1/menu")]
async fn show_in_force(call: Call<Accounts>, known: IfNoneMatch) -> Answer {
    let found = call.read(usecase::find_in_force).await?.ok_or_else(|| Problem::not_found("menu in force"))?;
    let view = PublishedMenuView { revision: MenuRevisionView::of(found.revision, true), menu: found.form };
    Ok(item(&view, &known))
}

/// Publish the draft.
///
/// From the moment given on, quotes are made from it; what was published before never changes. Give the draft's ETag,
/// so that what is published is what was read. A draft with faults is refused with all of them. A draft that is the same as
/// the edition in force makes no new edition: the answer is that edition.
#[utoipa::path(tag = "menu", request_body = PublishBody,
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new edition.", body = MenuRevisionView)))]
#[post("/v1/menu/publish")]
async fn publish(call: Call<Owner>, _: IdempotencyKey, seen: IfMatch, body: Body<PublishBody>) -> Answer {
    let (from, note) = (body.value.from.map(|from| from.0), body.value.note);
    call.create(move |tx| {
        let revision = usecase::publish(tx, seen, from, note.as_str())?;
        let in_force = usecase::is_in_force(tx, &revision.id)?;
        let view = MenuRevisionView::of(revision, in_force);
        Ok(Created { location: format!("/v1/menu/revisions/{}", view.id), view })
    })
    .await
}

/// List the published editions.
///
/// One page of them, newest first, without their menus.
#[utoipa::path(tag = "menu", params(crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page.", body = Page<MenuRevisionView>)))]
#[get("/v1/menu/revisions")]
async fn list(call: Call<Accounts>, list: List<NoFilter>) -> Answer {
    let (found, current) = call.read(move |tx| usecase::revisions(tx, &list.paging)).await?;
    Ok(page(&found.map(|revision| {
        let in_force = current.as_ref() == Some(&revision.id);
        MenuRevisionView::of(revision, in_force)
    })))
}

/// Read a published edition.
///
/// With its menu as it was published.
#[utoipa::path(tag = "menu", params(("id" = Reference, Path, description = "The edition.")),
    responses((status = 200, description = "The edition.", body = PublishedMenuView)))]
#[get("/v1/menu/revisions/{id}")]
async fn show(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = MenuRevisionId::new(id.into_inner());
    let view = call.read(move |tx| {
        let (revision, menu) = usecase::show_revision(tx, &id)?;
        let in_force = usecase::is_in_force(tx, &id)?;
        Ok(PublishedMenuView { revision: MenuRevisionView::of(revision, in_force), menu })
    });
    // Whether it is in force changes with time alone, so that a tag would not tell.
    Ok(item(&view.await?, &IfNoneMatch::default()))
}
