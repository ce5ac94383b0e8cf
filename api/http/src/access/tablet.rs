//! Tablets beside the bays, and the digits with which people sign in on them, over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::access::usecase::Tablet;
use baywright_core::access::usecase::tablet::{
    NewTablet, add, digest_of, drop_digits, end, keep_digits, may_have_digits, tablets,
};
use baywright_core::platform::identity::{Audience, Crew, Owner};
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::{PersonId, TabletId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::answer::{Answer, nothing, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Instant, Line, Reference, Secret, Whole};

/// Tablet to be added.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "name": "Bay 1, by the sink", "idle_minutes": 10 }))]
pub(super) struct TabletBody {
    /// Name of the tablet, such as the place where it hangs.
    name: Line<60>,
    /// Minutes without use after which a sign-in on the tablet ends; 10 if null or left out.
    #[serde(default)]
    idle_minutes: Option<Whole<10, 30>>,
}

/// Digits of a person.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "digits": "4071" }))]
pub(super) struct TabletDigitsBody {
    /// Four digits that are not easily guessed; null removes the person's digits.
    digits: Option<Secret>,
}

/// Tablet beside the bays, on which people sign in with four digits.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Tablet)]
pub(super) struct TabletView {
    /// Id of the tablet.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Name of the tablet.
    #[schema(max_length = 60)]
    name: String,
    /// Minutes without use after which a sign-in on the tablet ends.
    #[schema(minimum = 10, maximum = 30)]
    idle_minutes: u32,
    /// Time until which the code of the tablet can be used, RFC 3339 in UTC; null once a device is enrolled or the tablet is
    /// ended.
    code_ends_at: Option<Instant>,
    /// Time when a device was enrolled, RFC 3339 in UTC; null before.
    enrolled_at: Option<Instant>,
    /// Time when the tablet was ended, RFC 3339 in UTC; null while it is in use.
    ended_at: Option<Instant>,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(TabletView);

/// New tablet with its code.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = NewTablet)]
pub(super) struct NewTabletView {
    /// Tablet that was added.
    #[serde(flatten)]
    tablet: TabletView,
    /// Code that enrols a device, shown in this answer only. It is typed on the page `/tablet` of the device and works once.
    #[schema(max_length = 20, example = "K7MD-2QPT-RW4N")]
    code: String,
}

/// Tablets of the shop.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Tablets)]
pub(super) struct TabletsView {
    /// Tablets in use, the one that was added first on top.
    #[schema(max_items = 50)]
    items: Vec<TabletView>,
}

impl From<Tablet> for TabletView {
    fn from(tablet: Tablet) -> Self {
        Self {
            id: Reference::from(&tablet.id),
            version: tablet.version,
            name: tablet.name,
            idle_minutes: tablet.idle_minutes,
            code_ends_at: tablet.code_ends_at.map(Instant),
            enrolled_at: tablet.enrolled_at.map(Instant),
            ended_at: tablet.ended_at.map(Instant),
            created_at: Instant(tablet.created_at),
            updated_at: Instant(tablet.updated_at),
        }
    }
}

/// List the tablets.
///
/// Returns the tablets in use; a shop has at most 50. Tablets that were ended are left out.
#[utoipa::path(tag = "access", responses((status = 200, description = "Tablets in use.", body = TabletsView)))]
#[get("/v1/tablets")]
pub(super) async fn list(call: Call<Owner>) -> Answer {
    let all = call.read(tablets).await?;
    Ok(plain(&TabletsView { items: all.into_iter().map(TabletView::from).collect() }))
}

/// Add a tablet.
///
/// Creates a code that enrols a device beside the bays: it is typed on the page `/tablet` of that device within the hour, and
/// works once. On an enrolled device people tap their name and type four digits, which open the pages of the bays alone.
#[utoipa::path(tag = "access", request_body = TabletBody, extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "New tablet with its code.", body = NewTabletView)))]
#[post("/v1/tablets")]
pub(super) async fn create(call: Call<Owner>, body: Body<TabletBody>) -> Answer {
    let TabletBody { name, idle_minutes } = body.value;
    let new = NewTablet { name: name.into_string(), idle_minutes: idle_minutes.map(Whole::get) };
    let (tablet, code) = call.write(move |tx| add(tx, &new)).await?;
    Ok(plain(&NewTabletView { tablet: tablet.into(), code }))
}

/// End a tablet.
///
/// Every sign-in on it ends at once. A device that was lost opens nothing from then on; to use it again, add a tablet.
#[utoipa::path(tag = "access", params(("id" = Reference, Path, description = "Id of the tablet.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The tablet after the change.", body = TabletView)))]
#[post("/v1/tablets/{id}/end")]
pub(super) async fn end_tablet(call: Call<Owner>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = TabletId::new(id.into_inner());
    call.change(move |tx| Ok(TabletView::from(end(tx, &id, seen)?))).await
}

/// Set the digits of a person.
///
/// Replaces the four digits with which the person signs in on tablets, or removes them. They are no password for anything
/// else. Sign-ins that are open stay open.
#[utoipa::path(tag = "access", request_body = TabletDigitsBody,
    params(("id" = Reference, Path, description = "Id of the person.")), extensions(("x-unkeyed" = json!(true))),
    responses((status = 204, description = "The digits are set or removed.")))]
#[post("/v1/people/{id}/tablet-digits")]
pub(super) async fn set_digits(call: Call<Owner>, id: Path<String>, body: Body<TabletDigitsBody>) -> Answer {
    set(call, PersonId::new(id.into_inner()), body.value.digits).await
}

/// Set my digits.
///
/// Replaces the four digits with which the caller signs in on tablets, or removes them.
#[utoipa::path(tag = "access", request_body = TabletDigitsBody, extensions(("x-unkeyed" = json!(true))),
    responses((status = 204, description = "The digits are set or removed.")))]
#[post("/v1/me/tablet-digits")]
pub(super) async fn set_my_digits(call: Call<Crew>, body: Body<TabletDigitsBody>) -> Answer {
    let me = call.read(|tx| Ok(tx.actor.person().cloned().ok_or_else(|| Refused::not_found("person"))?)).await?;
    set(call, me, body.value.digits).await
}

/// Sets or removes a person's digits. No transaction is open while they are hashed.
async fn set<A: Audience>(call: Call<A>, who: PersonId, digits: Option<Secret>) -> Answer {
    let Some(digits) = digits else {
        call.write(move |tx| drop_digits(tx, &who)).await?;
        return Ok(nothing());
    };
    let person = who.clone();
    call.read(move |tx| may_have_digits(tx, &person)).await?;
    let digest = call.door().run(move |door| digest_of(door, &digits.0)).await?;
    call.write(move |tx| keep_digits(tx, &who, &digest)).await?;
    Ok(nothing())
}
