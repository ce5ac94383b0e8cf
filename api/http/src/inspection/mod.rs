//! Inspections over HTTP.

mod body;
mod view;

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_core::inspection::usecase::{self, Inspection, Wanted};
use baywright_core::job;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Crew, Owner};
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{InspectionId, VehicleId};
use baywright_domain::inspection::{ConditionClass, FindingKind, InspectionStage, InspectionState, Panel, Severity};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Reference, Word, Words, integer};
pub use body::{DecisionBody, InspectionBody};
pub use view::{InspectionLine, InspectionView};

/// Depth in micrometres.
#[derive(Debug, Clone, Copy, Serialize, Deserialize, ToSchema)]
#[serde(transparent)]
#[schema(minimum = 1, maximum = 5000)]
pub struct Micrometres(#[serde(deserialize_with = "integer")] u16);

/// A condition class as it is sent over HTTP; the API document's derive reads a plain name better than one with
/// parameters.
type ClassWord = Word<ConditionClass>;
/// A kind of finding as it is sent over HTTP.
type KindWord = Word<FindingKind>;
/// A stage as it is sent over HTTP.
type StageWord = Word<InspectionStage>;
/// A state as it is sent over HTTP.
type StateWord = Word<InspectionState>;
/// A panel as it is sent over HTTP.
type PanelWord = Word<Panel>;
/// A severity as it is sent over HTTP.
type SeverityWord = Word<Severity>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(create).service(show).service(replace).service(complete).service(decide);
}

type StateWords = Words<InspectionState>;

/// Conditions for the list of inspections.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct InspectionFilter {
    /// Limits the list to inspections of the vehicle with this id.
    #[param(inline, nullable = false)]
    vehicle_id: Option<Reference>,
    /// Limits the list to inspections in one of these states.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    state: StateWords,
}

/// List the inspections.
///
/// Returns one page of inspections, newest first, without their findings.
#[utoipa::path(tag = "inspection", params(InspectionFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of inspections.", body = Page<InspectionLine>)))]
#[get("/v1/inspections")]
async fn list(call: Call<Crew>, list: List<InspectionFilter>) -> Answer {
    let wanted = Wanted { vehicle_id: list.filter.vehicle_id.map(VehicleId::new), states: list.filter.state.0 };
    let found = call.read(move |tx| usecase::list(tx, &wanted, &list.paging)).await?;
    Ok(page(&list.links, found.map(InspectionLine::from)))
}

/// Begin an inspection.
///
/// Creates a draft, which can be changed until it is completed. The answer states the car's condition that follows from
/// the findings, with the reasons, and how the readings compare with the shop's limits. A gauge reads all layers
/// together: nothing here says that sanding or polishing does no harm.
#[utoipa::path(tag = "inspection", request_body = InspectionBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new inspection.", body = InspectionView)))]
#[post("/v1/inspections")]
async fn create(call: Call<Crew>, _: IdempotencyKey, body: Body<InspectionBody>) -> Answer {
    let (vehicle, details) = body.value.checked()?;
    call.create(move |tx| {
        let added = usecase::add(tx, &vehicle, &details)?;
        warn_of_odometer(tx, &added)?;
        let view = InspectionView::of(added)?;
        Ok(Created { location: format!("/v1/inspections/{}", view.id()), view })
    })
    .await
}

/// Warns of an odometer that shows less, or far more, than when it was last read.
fn warn_of_odometer(tx: &mut Tx<'_>, inspection: &Inspection) -> Done<()> {
    let Some(shown) = inspection.details.odometer.and_then(|shown| u32::try_from(shown).ok()) else { return Ok(()) };
    job::usecase::odometer(tx, &inspection.vehicle_id, inspection.odometer_unit, shown, Some(&inspection.id))
}

/// Read an inspection.
#[utoipa::path(tag = "inspection", params(("id" = Reference, Path, description = "Id of the inspection.")),
    responses((status = 200, description = "The requested inspection.", body = InspectionView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/inspections/{id}")]
async fn show(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = InspectionId::new(id.into_inner());
    let view = call.read(move |tx| InspectionView::of(usecase::show(tx, &id)?)).await?;
    Ok(item(&view, &known))
}

/// Replace an inspection draft.
///
/// Changed readings cancel an earlier decision of the owner about the old ones.
#[utoipa::path(tag = "inspection", request_body = InspectionBody,
    params(("id" = Reference, Path, description = "Id of the inspection.")), extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The inspection after the change.", body = InspectionView)))]
#[put("/v1/inspections/{id}")]
async fn replace(call: Call<Crew>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<InspectionBody>) -> Answer {
    let id = InspectionId::new(id.into_inner());
    let (vehicle, details) = body.value.checked()?;
    call.change(move |tx| {
        let replaced = usecase::replace(tx, &id, seen, &vehicle, &details)?;
        warn_of_odometer(tx, &replaced)?;
        InspectionView::of(replaced)
    })
    .await
}

/// Complete an inspection.
///
/// Makes the findings final, with the condition class, its reasons and its factor by the shop's current settings.
#[utoipa::path(tag = "inspection", params(("id" = Reference, Path, description = "Id of the inspection.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The inspection after the change.", body = InspectionView)))]
#[post("/v1/inspections/{id}/complete")]
async fn complete(call: Call<Crew>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = InspectionId::new(id.into_inner());
    call.change(move |tx| InspectionView::of(usecase::complete(tx, &id, seen)?)).await
}

/// Record the owner's decision about thin paint.
///
/// Stores the decision, with its reason, about readings that are beyond the shop's limits. It stays in the record even
/// if a later decision replaces it.
#[utoipa::path(tag = "inspection", request_body = DecisionBody,
    params(("id" = Reference, Path, description = "Id of the inspection.")), extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The inspection after the change.", body = InspectionView)))]
#[post("/v1/inspections/{id}/paint-decision")]
async fn decide(call: Call<Owner>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<DecisionBody>) -> Answer {
    let id = InspectionId::new(id.into_inner());
    let (go_ahead, reason) = body.value.into_parts();
    call.change(move |tx| InspectionView::of(usecase::decide(tx, &id, seen, go_ahead, &reason)?)).await
}
