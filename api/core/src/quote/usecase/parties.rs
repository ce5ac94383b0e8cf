//! The parts of a quote's document about studio, customer, vehicle and inspection, with their current data.

use baywright_domain::id::{InspectionId, PhotoId, VehicleId};
use baywright_domain::inspection::{ConditionClass, decided_cautions};
use baywright_domain::vehicle::SizeClass;

use crate::customer::usecase::Customer;
use crate::inspection::usecase::Inspection;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::{Moment, Word};
use crate::platform::refusal::{Refused, Why};
use crate::platform::tx::Tx;
use crate::quote::kept::{
    QuoteCustomer, QuoteDraft, QuoteFinding, QuoteInspection, QuotePhoto, QuoteStudio, QuoteVehicle,
};
use crate::shop::usecase::Settings;
use crate::vehicle::usecase::Vehicle;
use crate::{inspection, media, vehicle};

pub(super) fn studio(settings: &Settings) -> QuoteStudio {
    let profile = &settings.profile;
    let address = &profile.address;
    let country = address.country.map(|country| country.to_string());
    QuoteStudio {
        name: profile.name.clone(),
        legal_name: profile.legal_name.clone(),
        address: address.lines().into_iter().chain(country).collect(),
        email: profile.email.clone().unwrap_or_default(),
        phone: profile.phone.clone().unwrap_or_default(),
        vat_id: profile.vat_id.clone().unwrap_or_default(),
        zone: settings.zone.name().to_owned(),
        currency: settings.currency.code().to_owned(),
    }
}

pub(super) fn customer(customer: &Customer) -> QuoteCustomer {
    let address = customer.details.address.as_ref().map(|address| {
        let town = [address.postcode.as_deref(), Some(address.city.as_str()), address.region.as_deref()];
        let town = town.into_iter().flatten().collect::<Vec<_>>().join(" ");
        address.lines.iter().cloned().chain([town, address.country.to_string()]).collect()
    });
    QuoteCustomer {
        id: customer.id.to_string(),
        name: customer.details.name.clone(),
        kind: Word(customer.details.kind),
        email: customer.email().map(str::to_owned),
        address: address.unwrap_or_default(),
    }
}

/// The vehicle, with the size in the draft or in its record.
pub(super) fn vehicle(vehicle: &Vehicle, size: SizeClass) -> QuoteVehicle {
    let details = &vehicle.details;
    QuoteVehicle {
        id: vehicle.id.to_string(),
        name: details.name_with_colour(),
        registration: details.registration.clone().unwrap_or_default(),
        vin: details.vin.as_ref().map(|vin| vin.as_str().to_owned()).unwrap_or_default(),
        size: Word(size),
        powertrain: Word(details.powertrain),
    }
}

/// A vehicle named in the body: `Invalid` that points there if there is none, `Conflict` if it was merged into another.
pub(super) fn vehicle_of(tx: &mut Tx<'_>, id: &VehicleId) -> Done<Vehicle> {
    let found = vehicle::usecase::of_ids(tx, std::slice::from_ref(id))?.pop();
    found.ok_or_else(|| Refused::field("/vehicle_id", "not_found", "There is no such vehicle."))?;
    vehicle::usecase::standing(tx, id)
}

/// The draft's inspection with the condition that the quote is for.
///
/// # Errors
/// `Invalid` if the inspection is another vehicle's or still a draft, or if neither it nor a condition is given.
pub(super) fn inspected(
    tx: &mut Tx<'_>,
    draft: &QuoteDraft,
    of: &VehicleId,
) -> Done<(Option<QuoteInspection>, ConditionClass)> {
    let Some(id) = draft.inspection() else {
        let condition = draft.condition.ok_or_else(|| {
            let detail = "Give a completed inspection of the vehicle, or its condition.";
            Refused::field("/condition", "missing", detail)
        })?;
        return Ok((None, condition.0));
    };
    if draft.condition.is_some() {
        let detail = "The inspection already gives the condition. Leave out the condition, or the inspection.";
        return Err(Refused::field("/condition", "given_twice", detail).into());
    }
    let found = inspection_of(tx, &id)?;
    if found.vehicle_id != *of {
        return Err(Refused::field(
            "/inspection_id",
            "other_vehicle",
            "This inspection is of another vehicle. Choose one of this vehicle.",
        )
        .into());
    }
    if !found.is_final() {
        let detail = "This inspection is still a draft. Complete it first.";
        return Err(Refused::field("/inspection_id", "not_completed", detail).into());
    }
    let condition = found.judged.condition.class;
    Ok((Some(shown(tx, &found)?), condition))
}

/// Sentences for the customer about paint on which the owner decided to work, each once.
pub(super) fn paint_cautions(tx: &mut Tx<'_>, of: &VehicleId, draft: &QuoteDraft) -> Done<Vec<String>> {
    let mut told = Vec::new();
    for (found, outcome) in inspection::usecase::speaking(tx, of, draft.inspection().as_slice())? {
        for caution in decided_cautions(&outcome, found.decision.as_ref()) {
            if !told.contains(&caution) {
                told.push(caution);
            }
        }
    }
    Ok(told)
}

fn inspection_of(tx: &mut Tx<'_>, id: &InspectionId) -> Done<Inspection> {
    match inspection::usecase::show(tx, id) {
        Err(Fail::Refused(refused)) if refused.why() == Why::NotFound => {
            Err(Refused::field("/inspection_id", "not_found", "There is no such inspection.").into())
        }
        other => other,
    }
}

fn shown(tx: &mut Tx<'_>, inspection: &Inspection) -> Done<QuoteInspection> {
    let details = &inspection.details;
    let known = media::usecase::of_ids(tx, &details.all_photos())?;
    let photos = |ids: &[PhotoId]| -> Vec<QuotePhoto> {
        let found = ids.iter().filter_map(|id| known.iter().find(|photo| photo.id == *id));
        found.map(|photo| QuotePhoto { id: photo.id.to_string(), sha256: photo.full.digest.clone() }).collect()
    };
    let findings = details.findings.iter().map(|found| QuoteFinding {
        panel: found.finding.panel.label().to_owned(),
        what: found.finding.kind.label().to_owned(),
        severity: found.finding.severity.label().to_owned(),
        note: found.finding.note.clone(),
        photos: photos(&found.photo_ids),
    });
    let odometer = details.odometer.map(|count| format!("{count} {}", inspection.odometer_unit.label()));
    Ok(QuoteInspection {
        id: inspection.id.to_string(),
        at: Moment(inspection.completed_at.unwrap_or(inspection.created_at)),
        condition: Word(inspection.judged.condition.class),
        reasons: inspection.judged.condition.reasons.clone(),
        odometer: odometer.unwrap_or_default(),
        beyond_repair: details.beyond_repair.clone(),
        findings: findings.collect(),
        photos: photos(&details.photo_ids),
    })
}
