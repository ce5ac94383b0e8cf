//! Vehicles over HTTP.

mod body;
mod view;

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_core::platform::identity::{Crew, Desk};
use baywright_core::vehicle::usecase::{self, Wanted};
use baywright_domain::id::{CustomerId, VehicleId};
use baywright_domain::vehicle::{Market, OdometerUnit, PaintType, Powertrain, SizeClass};
use serde::Deserialize;

use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Line, Reference, Word};
pub use body::VehicleBody;
pub use view::VehicleView;

/// A market as it is sent over HTTP; the API document's derive reads a plain name better than one with parameters.
type MarketWord = Word<Market>;
/// An odometer's unit as it is sent over HTTP.
type OdometerWord = Word<OdometerUnit>;
/// A type of paint as it is sent over HTTP.
type PaintWord = Word<PaintType>;
/// A powertrain as it is sent over HTTP.
type PowertrainWord = Word<Powertrain>;
/// A size class as it is sent over HTTP.
type SizeWord = Word<SizeClass>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(create).service(show).service(replace);
}

/// Conditions for the list of vehicles.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct VehicleFilter {
    /// Limits the list to vehicles of the customer with this id.
    #[param(inline, nullable = false)]
    customer_id: Option<Reference>,
    /// Limits the list to vehicles with this registration, however it is written.
    #[param(inline, nullable = false)]
    registration: Option<Line<20>>,
}

/// List the vehicles.
///
/// Returns one page of vehicles, newest first.
#[utoipa::path(tag = "vehicle", params(VehicleFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of vehicles.", body = Page<VehicleView>)))]
#[get("/v1/vehicles")]
async fn list(call: Call<Crew>, list: List<VehicleFilter>) -> Answer {
    let wanted = Wanted {
        customer_id: list.filter.customer_id.map(CustomerId::new),
        registration: list.filter.registration.map(String::from),
    };
    let found = call.read(move |tx| usecase::list(tx, &wanted, &list.paging)).await?;
    Ok(page(&list.links, found.map(VehicleView::from)))
}

/// Add a vehicle to a customer.
///
/// A vehicle identification number with a wrong check digit is refused for vehicles sold in North America and accepted
/// with a warning for others. If a vehicle with this number or registration is known, the answer is 409
/// `known-vehicle`, whose `known` names it: use that vehicle, or confirm that this is another one or was sold on. A
/// year of make beyond the next one, or before 1950, causes the warning `unlikely-year`.
#[utoipa::path(tag = "vehicle", request_body = VehicleBody,
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["known-vehicle"]))),
    responses((status = 201, description = "The new vehicle.", body = VehicleView)))]
#[post("/v1/vehicles")]
async fn create(call: Call<Desk>, _: IdempotencyKey, body: Body<VehicleBody>) -> Answer {
    let details = body.value.checked()?;
    call.create(move |tx| {
        let vehicle = usecase::add(tx, &details)?;
        Ok(Created { location: format!("/v1/vehicles/{}", vehicle.id), view: VehicleView::from(vehicle) })
    })
    .await
}

/// Read a vehicle.
///
/// A record that was merged into another one says so in `state` and `merged_into`.
#[utoipa::path(tag = "vehicle", params(("id" = Reference, Path, description = "Id of the vehicle.")),
    responses((status = 200, description = "The requested vehicle.", body = VehicleView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/vehicles/{id}")]
async fn show(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = VehicleId::new(id.into_inner());
    let vehicle = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&VehicleView::from(vehicle), &known))
}

/// Replace the details of a vehicle.
///
/// The vehicle stays with its customer. If it was sold on, add it to the new owner.
#[utoipa::path(tag = "vehicle", request_body = VehicleBody,
    params(("id" = Reference, Path, description = "Id of the vehicle.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The vehicle after the change.", body = VehicleView)))]
#[put("/v1/vehicles/{id}")]
async fn replace(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<VehicleBody>) -> Answer {
    let id = VehicleId::new(id.into_inner());
    let details = body.value.checked()?;
    call.change(move |tx| Ok(VehicleView::from(usecase::replace(tx, &id, seen, &details)?))).await
}
