//! Use cases of vehicles.

mod alike;
pub mod merge;

use baywright_domain::id::{CustomerId, VehicleId};
use baywright_domain::vehicle::is_unlikely_year;
use chrono::Datelike;
use serde_json::json;

pub use self::alike::alike;
pub use super::details::{Details, Vehicle};
use super::store;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::{customer, search};

/// Filter of the list of vehicles.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to one customer.
    pub customer_id: Option<CustomerId>,
    /// Limits the list to vehicles with that registration, however it is written.
    pub registration: Option<String>,
}

/// One page of the shop's vehicles; records that were merged into others are left out.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Vehicle>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |vehicle| Mark::of_id(vehicle.id.as_str())))
}

/// The vehicle with that id.
pub fn show(tx: &mut Tx<'_>, id: &VehicleId) -> Done<Vehicle> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("vehicle"))?)
}

/// The vehicles with those ids, in no order; unknown ids are left out.
pub fn of_ids(tx: &mut Tx<'_>, ids: &[VehicleId]) -> Done<Vec<Vehicle>> {
    Ok(store::of_ids(tx, ids)?)
}

/// All vehicles of a customer, oldest first.
pub fn of_customer(tx: &mut Tx<'_>, customer: &CustomerId) -> Done<Vec<Vehicle>> {
    Ok(store::of_customer(tx, customer)?)
}

/// The vehicle that a new record is to be made for: `NotFound` if there is none, `Conflict` if it was merged into
/// another.
pub fn standing(tx: &mut Tx<'_>, id: &VehicleId) -> Done<Vehicle> {
    let vehicle = show(tx, id)?;
    match &vehicle.merged_into {
        Some(into) => {
            let detail = format!("This record was merged into another one. Use the vehicle {into} instead.");
            Err(Refused::conflict("vehicle-merged", detail).into())
        }
        None => Ok(vehicle),
    }
}

/// Every vehicle that was not merged into another, oldest first.
pub fn all(tx: &mut Tx<'_>) -> Done<Vec<Vehicle>> {
    Ok(store::all(tx)?)
}

/// Adds a vehicle to a customer. One that is similar to a known vehicle is added only if the desk confirms it.
pub fn add(tx: &mut Tx<'_>, details: &Details) -> Done<Vehicle> {
    owner(tx, &details.customer_id)?;
    alike::confirm_new(tx, details)?;
    let id: VehicleId = ids::new();
    store::insert(tx, &id, details)?;
    let detail = json!({ "customer_id": details.customer_id.as_str() });
    record::write(tx, "vehicle.added", ("vehicle", id.as_str()), detail)?;
    warn_of_year(tx, details)?;
    indexed(tx, &id).inspect(|vehicle| warn_of_vin(tx, vehicle))
}

/// Replaces the details of a vehicle.
pub fn replace(tx: &mut Tx<'_>, id: &VehicleId, seen: Seen, details: &Details) -> Done<Vehicle> {
    let vehicle = show(tx, id)?;
    seen.check(vehicle.version)?;
    standing(tx, id)?;
    owner(tx, &details.customer_id)?;
    if vehicle.details.customer_id != details.customer_id {
        // The findings, signatures and payments of the first owner are not for the second one to read.
        return Err(Refused::field(
            "/customer_id",
            "other_customer",
            "A vehicle can't move to another customer. If it was sold on, add it to the new customer.",
        )
        .into());
    }
    alike::warn_of_known(tx, &vehicle, details)?;
    if details.year != vehicle.details.year {
        warn_of_year(tx, details)?;
    }
    store::update(tx, id, vehicle.version + 1, details)?;
    record::write(tx, "vehicle.changed", ("vehicle", id.as_str()), json!({}))?;
    indexed(tx, id).inspect(|vehicle| warn_of_vin(tx, vehicle))
}

fn warn_of_year(tx: &mut Tx<'_>, details: &Details) -> Done<()> {
    let this_year = tx.today()?.year();
    if let Some(year) = details.year.filter(|year| is_unlikely_year(*year, this_year)) {
        let detail = format!("{year} is an unusual year of make. Check the year, and correct it if it is a slip.");
        tx.warn("unlikely-year", "/year", detail);
    }
    Ok(())
}

fn warn_of_vin(tx: &mut Tx<'_>, vehicle: &Vehicle) {
    if let Some(warning) = vehicle.vin_warning() {
        tx.warn("vin-check-digit", "/vin", warning.to_string());
    }
}

/// A customer named in the body: `Invalid` that points there if there is none.
fn owner(tx: &mut Tx<'_>, id: &CustomerId) -> Done<()> {
    if customer::usecase::of_ids(tx, std::slice::from_ref(id))?.is_empty() {
        return Err(Refused::field("/customer_id", "not_found", "There is no such customer.").into());
    }
    customer::usecase::standing(tx, id).map(drop)
}

/// Data that this feature holds about a customer: a vehicle keeps its kind, but nothing that identifies it.
pub const HOLDER: Holder = Holder {
    feature: "vehicle",
    held: &[Held::of_customer("vehicle")],
    forget: |tx, leaving| {
        store::blank(tx, &leaving.customer)?;
        Ok(Left::default())
    },
};

fn indexed(tx: &mut Tx<'_>, id: &VehicleId) -> Done<Vehicle> {
    let vehicle = show(tx, id)?;
    put_in_index(tx, &vehicle)?;
    Ok(vehicle)
}

fn put_in_index(tx: &mut Tx<'_>, vehicle: &Vehicle) -> Done<()> {
    let merged = store::merged_into(tx, &vehicle.id)?;
    let (hit, words) = vehicle.found_as(&merged);
    search::usecase::index(tx, hit, &words)
}

/// Indexes vehicles again whose search words were made by other rules.
pub fn index_anew(tx: &mut Tx<'_>) -> Done<()> {
    let ids: Vec<VehicleId> = search::usecase::outdated(tx, "vehicle")?.into_iter().map(VehicleId::new).collect();
    for vehicle in store::of_ids(tx, &ids)? {
        put_in_index(tx, &vehicle)?;
    }
    Ok(())
}
