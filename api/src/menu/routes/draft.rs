//! The draft as a whole.

use actix_web::{get, post, put};
use baywright_domain::id::MenuRevisionId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::menu::form::{GatesForm, MenuForm};
use crate::menu::usecase::{self, Draft};
use crate::platform::answer::{Answer, item, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::identity::Desk;
use crate::platform::problem::FieldFault;
use crate::platform::wire::{Instant, Reference};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show).service(replace).service(put_gates).service(restore).service(validate);
}

/// The draft of the menu.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuDraftView {
    /// Counts the changes; the same as the ETag. 0 where nothing was ever written.
    #[schema(minimum = 0)]
    version: i64,
    /// When it last changed; null where it never did.
    updated_at: Option<Instant>,
    /// The menu.
    menu: MenuForm,
}

/// Which edition becomes the draft.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RestoreBody {
    /// The published edition.
    revision_id: Reference,
}

/// Everything that is wrong with the draft.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuValidationView {
    /// The version of the draft that was looked at.
    #[schema(minimum = 0)]
    version: i64,
    /// Whether it can be published.
    publishable: bool,
    /// How many faults there are.
    #[schema(minimum = 0, maximum = 1_000_000)]
    fault_count: usize,
    /// The faults, with JSON pointers into the draft's menu, in its order; the first 1,000.
    #[schema(max_items = 1000)]
    faults: Vec<FieldFault>,
}

const FAULTS: usize = 1000;

crate::versioned!(MenuDraftView);

impl From<Draft> for MenuDraftView {
    fn from(draft: Draft) -> Self {
        Self { version: draft.version, updated_at: draft.updated_at.map(Instant), menu: draft.menu }
    }
}

/// Read the draft.
///
/// What the next edition of the menu will be. It stays as it is when it is published.
#[utoipa::path(tag = "menu",
    responses((status = 200, description = "The draft.", body = MenuDraftView), (status = 304, description = "Unchanged.")))]
#[get("/v1/menu/draft")]
async fn show(call: Call<Desk>, known: IfNoneMatch) -> Answer {
    let draft = call.read(usecase::draft).await?;
    Ok(item(&MenuDraftView::from(draft), &known))
}

/// Replace the draft.
///
/// The whole menu as one document of at most 256 KiB, to bring a menu in from elsewhere. Lists are put in their own
/// order: products by code, steps by stage and code, services and packages by place and code.
#[utoipa::path(tag = "menu", request_body = MenuForm, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft as it now stands.", body = MenuDraftView)))]
#[put("/v1/menu/draft")]
async fn replace(call: Call<Desk>, seen: IfMatch, body: Body<MenuForm>) -> Answer {
    let menu = body.value;
    call.change(move |tx| Ok(MenuDraftView::from(usecase::replace(tx, seen, &menu)?))).await
}

/// Replace the gates.
///
/// Stages before which everything of earlier stages must be finished.
#[utoipa::path(tag = "menu", request_body = GatesForm, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft as it now stands.", body = MenuDraftView)))]
#[put("/v1/menu/draft/gates")]
async fn put_gates(call: Call<Desk>, seen: IfMatch, body: Body<GatesForm>) -> Answer {
    let gates = body.value.gates;
    call.change(move |tx| Ok(MenuDraftView::from(usecase::put_gates(tx, seen, &gates)?))).await
}

/// Make a published edition the draft.
///
/// What the draft held is lost.
#[utoipa::path(tag = "menu", request_body = RestoreBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft as it now stands.", body = MenuDraftView),
        (status = 404, description = "There is no such edition in this shop.")))]
#[post("/v1/menu/draft/restore")]
async fn restore(call: Call<Desk>, seen: IfMatch, body: Body<RestoreBody>) -> Answer {
    let id = MenuRevisionId::new(body.value.revision_id.into_string());
    call.change(move |tx| Ok(MenuDraftView::from(usecase::restore(tx, seen, &id)?))).await
}

/// Validate the draft.
///
/// Every fault at once, each with its place.
#[utoipa::path(tag = "menu", responses((status = 200, description = "The faults.", body = MenuValidationView)))]
#[get("/v1/menu/draft/validation")]
async fn validate(call: Call<Desk>) -> Answer {
    let (draft, faults) = call.read(usecase::faults).await?;
    Ok(plain(&MenuValidationView {
        version: draft.version,
        publishable: faults.is_empty(),
        fault_count: faults.len(),
        faults: faults.into_iter().take(FAULTS).map(FieldFault::from).collect(),
    }))
}
