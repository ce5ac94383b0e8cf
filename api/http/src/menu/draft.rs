//! The draft as a whole.

use actix_web::{get, post, put};
use baywright_core::menu::kept::{CheckpointForm, MenuForm};
use baywright_core::menu::usecase::{self, Change, ChangeKind, Changes, Draft, FieldChange, Judged, MOST_BYTES};
use baywright_core::platform::identity::Desk;
use baywright_domain::id::MenuRevisionId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::body::{self, CheckpointsBody, MenuBody, Shown};
use super::words::PricesWord;
use crate::platform::answer::{Answer, item, plain};
use crate::platform::body::{BODY_BYTES, Body};
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::problem::FieldFault;
use crate::platform::wire::{Instant, Reference, Word};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show).service(replace).service(put_checkpoints).service(restore).service(validate).service(changes);
}

/// Draft of the menu.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuDraftView {
    /// Version of the menu draft, which every change raises by one; the same number as in the ETag. 0 if nothing was
    /// ever written.
    #[schema(minimum = 0)]
    version: i64,
    /// Time of the last change, RFC 3339 in UTC; null if the draft never changed.
    updated_at: Option<Instant>,
    /// Whether the menu's prices are with tax (`GROSS`) or before tax (`NET`), the same as `private_prices` of the
    /// shop. Applies to the labour rate and product prices too.
    prices: PricesWord,
    /// Complete content of the draft.
    #[schema(value_type = MenuBody)]
    menu: Shown<MenuForm>,
}

/// Menu revision that becomes the draft.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RestoreBody {
    /// Id of the published menu revision.
    revision_id: Reference,
}

// The API document's derive reads a plain name better than one with parameters.
/// A word for [`ChangeKind`].
pub type ChangeKindWord = Word<ChangeKind>;

/// Differences between the draft and the menu in force.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuChangesView {
    /// Version of the draft that was compared.
    #[schema(minimum = 0)]
    version: i64,
    /// Number of the menu revision in force that the draft is compared with; null before the first one.
    #[schema(minimum = 1, maximum = 1_000_000)]
    since_number: Option<i64>,
    /// Whether the draft equals the menu revision in force, so that publishing would create nothing.
    identical: bool,
    /// Whether the draft can be published.
    publishable: bool,
    /// Number of items that differ.
    #[schema(minimum = 0, maximum = 1_000_000)]
    change_count: usize,
    /// Items that differ; the first 1,000.
    #[schema(max_items = 1000)]
    changes: Vec<MenuChangeView>,
    /// Warnings about allowed but suspicious values, with JSON pointers into the draft's menu; the first 1,000.
    #[schema(max_items = 1000)]
    warnings: Vec<FieldFault>,
}

/// Item that differs between the menu in force and the draft.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuChangeView {
    /// Name of the list that contains the item, such as `services`.
    #[schema(max_length = 20, example = "services")]
    list: String,
    /// Code of the item; for a checkpoint its stage.
    #[schema(max_length = 40, example = "maintenance-wash")]
    code: String,
    /// Name of the item; for a checkpoint its reason.
    #[schema(max_length = 500)]
    name: String,
    /// Kind of difference: added, removed or changed.
    kind: ChangeKindWord,
    /// Values that differ; empty if the item was added or removed.
    #[schema(max_items = 200)]
    fields: Vec<MenuFieldChangeView>,
}

/// Value before and after the change.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuFieldChangeView {
    /// JSON pointer into the item.
    #[schema(max_length = 200, example = "/price/amounts/small/amount")]
    pointer: String,
    /// Value in the menu in force, as text of at most 500 characters; null if it had none.
    #[schema(max_length = 500, example = "59.00")]
    before: Option<String>,
    /// Value in the draft, as text of at most 500 characters; null if it has none.
    #[schema(max_length = 500, example = "65.00")]
    after: Option<String>,
}

impl From<Change> for MenuChangeView {
    fn from(change: Change) -> Self {
        let field = |field: FieldChange| MenuFieldChangeView {
            pointer: field.pointer,
            before: field.before,
            after: field.after,
        };
        Self {
            list: change.list.to_owned(),
            code: change.code,
            name: change.name,
            kind: Word(change.kind),
            fields: change.fields.into_iter().map(field).collect(),
        }
    }
}

/// Faults and warnings of the draft.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuValidationView {
    /// Version of the draft that was validated.
    #[schema(minimum = 0)]
    version: i64,
    /// Whether the draft can be published.
    publishable: bool,
    /// Number of faults.
    #[schema(minimum = 0, maximum = 1_000_000)]
    fault_count: usize,
    /// Faults, with JSON pointers into the draft's menu, in its order; the first 1,000.
    #[schema(max_items = 1000)]
    faults: Vec<FieldFault>,
    /// Warnings about allowed but suspicious values, such as a price of 0 or a skill that nobody has, with JSON
    /// pointers into the draft's menu; the first 1,000.
    #[schema(max_items = 1000)]
    warnings: Vec<FieldFault>,
}

const FAULTS: usize = 1000;

// A stored draft can be sent again as one body.
const _: () = assert!(MOST_BYTES <= BODY_BYTES);

crate::versioned!(MenuDraftView);

impl From<Draft> for MenuDraftView {
    fn from(draft: Draft) -> Self {
        Self {
            version: draft.version,
            updated_at: draft.updated_at.map(Instant),
            prices: Word(draft.prices),
            menu: Shown(draft.menu),
        }
    }
}

/// Read the menu draft.
///
/// Returns the menu as the next revision will be. Publishing does not change the draft.
#[utoipa::path(tag = "menu",
    responses((status = 200, description = "The requested draft.", body = MenuDraftView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/menu/draft")]
async fn show(call: Call<Desk>, known: IfNoneMatch) -> Answer {
    let draft = call.read(usecase::draft).await?;
    Ok(item(&MenuDraftView::from(draft), &known))
}

/// Replace the menu draft.
///
/// Takes the whole menu as one document of at most 256 KiB, for example to import a menu. Lists are sorted: products by
/// code, steps by stage and code, services and packages by position and code.
#[utoipa::path(tag = "menu", request_body = MenuBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft after the change.", body = MenuDraftView)))]
#[put("/v1/menu/draft")]
async fn replace(call: Call<Desk>, IfMatch(seen): IfMatch, body: Body<MenuBody>) -> Answer {
    let menu = MenuForm::from(body.value);
    call.change(move |tx| Ok(MenuDraftView::from(usecase::replace(tx, seen, &menu)?))).await
}

/// Replace the checkpoints of the menu draft.
///
/// A checkpoint is a stage that may begin only when every step of the earlier stages is finished.
#[utoipa::path(tag = "menu", request_body = CheckpointsBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft after the change.", body = MenuDraftView)))]
#[put("/v1/menu/draft/checkpoints")]
async fn put_checkpoints(call: Call<Desk>, IfMatch(seen): IfMatch, body: Body<CheckpointsBody>) -> Answer {
    let checkpoints: Vec<CheckpointForm> = body::all(body.value.checkpoints);
    call.change(move |tx| Ok(MenuDraftView::from(usecase::put_checkpoints(tx, seen, &checkpoints)?))).await
}

/// Replace the draft by a published menu revision.
///
/// The previous content of the draft is lost.
#[utoipa::path(tag = "menu", request_body = RestoreBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The draft after the change.", body = MenuDraftView),
        (status = 404, description = "The shop has no menu revision with this id.")))]
#[post("/v1/menu/draft/restore")]
async fn restore(call: Call<Desk>, IfMatch(seen): IfMatch, body: Body<RestoreBody>) -> Answer {
    let id = MenuRevisionId::new(body.value.revision_id.into_string());
    call.change(move |tx| Ok(MenuDraftView::from(usecase::restore(tx, seen, &id)?))).await
}

/// Validate the menu draft.
///
/// Returns all faults at once, each with its pointer. Faults prevent publishing; warnings do not.
#[utoipa::path(tag = "menu",
    responses((status = 200, description = "Faults and warnings of the draft.", body = MenuValidationView)))]
#[get("/v1/menu/draft/validation")]
async fn validate(call: Call<Desk>) -> Answer {
    let (draft, Judged { faults, warnings, .. }) = call.read(usecase::validated).await?;
    Ok(plain(&MenuValidationView {
        version: draft.version,
        publishable: faults.is_empty(),
        fault_count: faults.len(),
        faults: faults.into_iter().take(FAULTS).map(FieldFault::from).collect(),
        warnings: warnings.into_iter().take(FAULTS).map(FieldFault::from).collect(),
    }))
}

/// Compare the draft with the menu in force.
///
/// Returns every item that publishing would add, remove or change, down to single values. Changes nothing.
#[utoipa::path(tag = "menu", responses((status = 200, description = "Differences between draft and menu.",
    body = MenuChangesView)))]
#[get("/v1/menu/draft/changes")]
async fn changes(call: Call<Desk>) -> Answer {
    let Changes { draft, judged, since, changes } = call.read(usecase::changes).await?;
    Ok(plain(&MenuChangesView {
        version: draft.version,
        since_number: since.map(|revision| revision.number),
        identical: changes.is_empty(),
        publishable: judged.faults.is_empty(),
        change_count: changes.len(),
        changes: changes.into_iter().take(FAULTS).map(MenuChangeView::from).collect(),
        warnings: judged.warnings.into_iter().take(FAULTS).map(FieldFault::from).collect(),
    }))
}
