//! The second step: which car.

use baywright_domain::id::{EnquiryId, VehicleId};

use super::show;
use crate::enquiry::usecase as enquiry;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::vehicle::usecase::{self as vehicle, Details};

/// Chooses a known car of the customer; `seen` is the version of the enquiry.
///
/// # Errors
/// `Invalid` if the customer has no such car; `Conflict` if there is a quote for another one.
pub fn choose_car(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, car: &VehicleId) -> Done<()> {
    let new = show(tx, id)?;
    seen.check(new.enquiry.version)?;
    let quoted = new.quote.as_ref().map(|shown| &shown.quote.vehicle);
    if quoted.is_some_and(|quoted| quoted != car) {
        let detail = "The quote of this call is for another car. Begin a new call for this car.";
        return Err(Refused::conflict("quoted-for-other-car", detail).into());
    }
    if new.enquiry.details.vehicle.as_ref() == Some(car) {
        return Ok(());
    }
    let details = enquiry::Details { vehicle: Some(car.clone()), ..new.enquiry.details };
    enquiry::replace(tx, id, seen, &details)?;
    Ok(())
}

/// Adds a car of the customer and chooses it; the customer in `details` is replaced by that of the call.
///
/// # Errors
/// `Conflict` with a question if a similar car is known; those of [`choose_car`].
pub fn add_car(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, details: &Details) -> Done<()> {
    let new = show(tx, id)?;
    let owner = new.customer()?.id.clone();
    seen.check(new.enquiry.version)?;
    let added = vehicle::add(tx, &Details { customer_id: owner, ..details.clone() })?;
    choose_car(tx, id, seen, &added.id)
}

/// Corrects the chosen car by what a form asks about: notes and identification number stay as they are. `seen` is the
/// version of the car.
///
/// # Errors
/// `ChangedMeanwhile` if the car was changed; `Conflict` if none is chosen.
pub fn correct_car(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, details: &Details) -> Done<()> {
    let new = show(tx, id)?;
    let car = new.vehicle()?;
    let before = &car.details;
    let details = Details {
        customer_id: before.customer_id.clone(),
        country: before.country,
        vin: before.vin.clone(),
        market: before.market,
        odometer_unit: before.odometer_unit,
        notes: before.notes.clone(),
        ..details.clone()
    };
    seen.check(car.version)?;
    if details != *before {
        vehicle::replace(tx, &car.id, seen, &details)?;
    }
    Ok(())
}
