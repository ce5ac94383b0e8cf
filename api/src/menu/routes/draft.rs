//! The draft as a whole.

use actix_web::{get, post, put};
use baywright_domain::id::MenuRevisionId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::menu::form::{GatesForm, MenuForm, PricesWord};
use crate::menu::usecase::{self, Change, ChangeKind, Changes, Draft, FieldChange, Judged};
use crate::platform::answer::{Answer, item, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::identity::Desk;
use crate::platform::problem::FieldFault;
use crate::platform::wire::{Instant, Reference, Word};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show).service(replace).service(put_gates).service(restore).service(validate).service(changes);
}

/// The draft of the menu.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuDraftView {
    /// Counts the changes; the same as the ETag. 0 where nothing was ever written.
    #[schema(minimum = 0)]
    version: i64,
    /// When it last changed; null where it never did.
    updated_at: Option<Instant>,
    /// Whether its prices are with tax (`GROSS`) or without (`NET`), as the shop's `private_prices` are. So are the labour
    /// rate and the prices of products.
    prices: PricesWord,
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

crate::wire_words! { ChangeKind => "MenuChangeKind" }

// The API document's derive reads a plain name better than one with parameters.
/// A word for [`ChangeKind`].
pub type ChangeKindWord = Word<ChangeKind>;

/// What publishing the draft would change in the menu that is in force.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuChangesView {
    /// The version of the draft that was looked at.
    #[schema(minimum = 0)]
    version: i64,
    /// Number of the edition in force that the draft is compared with; null before the first edition.
    #[schema(minimum = 1, maximum = 1_000_000)]
    since_number: Option<i64>,
    /// Whether the draft is the same as the edition in force, so that publishing would make nothing.
    identical: bool,
    /// Whether the draft can be published.
    publishable: bool,
    /// How many items differ.
    #[schema(minimum = 0, maximum = 1_000_000)]
    change_count: usize,
    /// The items that differ; the first 1,000.
    #[schema(max_items = 1000)]
    changes: Vec<MenuChangeView>,
    /// What is allowed and still looks wrong, with JSON pointers into the draft's menu; the first 1,000.
    #[schema(max_items = 1000)]
    warnings: Vec<FieldFault>,
}

/// An item that differs between the menu in force and the draft.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuChangeView {
    /// The list that the item is in.
    #[schema(max_length = 20, example = "services")]
    list: String,
    /// The item's code; the stage of a gate.
    #[schema(max_length = 40, example = "maintenance-wash")]
    code: String,
    /// The item's name; the reason of a gate.
    #[schema(max_length = 500)]
    name: String,
    /// Whether it was added, removed or changed.
    kind: ChangeKindWord,
    /// The values that differ; empty unless it was changed.
    #[schema(max_items = 200)]
    fields: Vec<MenuFieldChangeView>,
}

/// One value before and after.
#[derive(Debug, Serialize, ToSchema)]
pub struct MenuFieldChangeView {
    /// JSON pointer into the item.
    #[schema(max_length = 200, example = "/price/amounts/small/amount")]
    pointer: String,
    /// The value in the menu in force, as text of at most 500 characters; null if it had none.
    #[schema(max_length = 500, example = "59.00")]
    before: Option<String>,
    /// The value in the draft, as text of at most 500 characters; null if it has none.
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
    /// What is allowed and still looks wrong, such as a price of 0 or a skill that nobody has, with JSON pointers into the
    /// draft's menu; the first 1,000.
    #[schema(max_items = 1000)]
    warnings: Vec<FieldFault>,
}

const FAULTS: usize = 1000;

crate::versioned!(MenuDraftView);

impl From<Draft> for MenuDraftView {
    fn from(draft: Draft) -> Self {
        Self {
            version: draft.version,
            updated_at: draft.updated_at.map(Instant),
            prices: Word(draft.prices),
            menu: draft.menu,
        }
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
/// Every fault at once, each with its place. Faults keep the draft from being published; warnings don't.
#[utoipa::path(tag = "menu",
    responses((status = 200, description = "The faults and warnings.", body = MenuValidationView)))]
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
/// What publishing would add, remove and change, down to single values. Nothing is changed.
#[utoipa::path(tag = "menu", responses((status = 200, description = "The differences.", body = MenuChangesView)))]
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
