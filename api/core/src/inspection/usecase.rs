//! Use cases of inspections.

use std::collections::BTreeSet;

use baywright_domain::id::{InspectionId, PhotoId, VehicleId};
use baywright_domain::inspection::{
    ConditionPolicy, InspectionMove, InspectionState, OwnerDecision, PaintOutcome, PaintPolicy, PaintRefusal, Panel,
    WorkStage, depth, may_take_paint,
};
use baywright_domain::people::{Task, may};
use baywright_domain::refusal::Refusal;
use serde_json::json;

use super::details::judge;
pub use super::details::{Details, Found, Inspection, Judged, Policy, Summary};
use super::look::look;
use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::{media, shop, vehicle};

/// Maximum number of photographs of one inspection.
pub const MOST_PHOTOS: usize = 24;

/// Filter of the list of inspections.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to one vehicle.
    pub vehicle_id: Option<VehicleId>,
    /// Limits the list to these states; empty for all.
    pub states: Vec<InspectionState>,
}

/// The shop's current limits. The depth from which paint counts as repainted, and the number of spots to read on a
/// panel, are common practice and no settings.
fn policy(tx: &mut Tx<'_>) -> Done<Policy> {
    let settings = shop::usecase::settings(tx)?;
    let (floor, removal_budget) = (settings.terms.paint_floor_um, settings.terms.removal_budget_um);
    Ok(Policy {
        condition: ConditionPolicy::USUAL,
        paint: PaintPolicy { floor, removal_budget, ..PaintPolicy::USUAL },
        factors: settings.rates.factors.condition,
    })
}

/// One page of the shop's inspections.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Summary>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |summary| Mark::of_id(summary.id.as_str())))
}

/// The inspection with that id.
pub fn show(tx: &mut Tx<'_>, id: &InspectionId) -> Done<Inspection> {
    let kept = store::find(tx, id)?.ok_or_else(|| Refused::not_found("inspection"))?;
    let vehicle = vehicle::usecase::show(tx, &kept.vehicle_id)?;
    let judged = match kept.judged {
        Some(judged) => judged,
        None => judge(&kept.details, &policy(tx)?),
    };
    Ok(Inspection {
        id: kept.id,
        version: kept.version,
        odometer_unit: vehicle.details.odometer_unit,
        powertrain: vehicle.details.powertrain,
        vehicle_id: kept.vehicle_id,
        state: kept.state,
        details: kept.details,
        judged,
        decision: kept.decision,
        inspected_by: kept.inspected_by,
        completed_at: kept.completed_at,
        created_at: kept.created_at,
        updated_at: kept.updated_at,
    })
}

/// The inspections that decide about work on a car's paint, with their content: those that are named, and for each
/// panel the newest completed one that has readings of it.
pub fn speaking(tx: &mut Tx<'_>, vehicle: &VehicleId, named: &[InspectionId]) -> Done<Vec<(Inspection, PaintOutcome)>> {
    let mut found = Vec::new();
    for id in named {
        let inspection = show(tx, id)?;
        let outcome = inspection.paint(&[])?;
        found.push((inspection, outcome));
    }
    let mut read: Vec<Panel> = Vec::new();
    for id in store::newest_with_readings(tx, vehicle)? {
        let inspection = show(tx, &id)?;
        let panels = inspection.details.readings.iter().map(|readings| readings.panel);
        let first: Vec<Panel> = panels.filter(|panel| !read.contains(panel)).collect();
        let outcome = inspection.paint(&[])?.about(&first);
        read.extend(first);
        if outcome.owner_decision_needed() && !named.contains(&id) {
            found.push((inspection, outcome));
        }
    }
    Ok(found)
}

/// Refuses work that removes paint if one of those inspections does not allow it.
///
/// # Errors
/// `Conflict` with panels, readings and the lower limit if the owner has not decided that the work may go ahead.
pub fn may_work_on_paint(
    tx: &mut Tx<'_>,
    vehicle: &VehicleId,
    named: &[InspectionId],
    (work, stage): (&str, WorkStage),
) -> Done<()> {
    for (found, outcome) in speaking(tx, vehicle, named)? {
        may_take_paint(work, stage, &outcome, found.decision.as_ref())?;
    }
    Ok(())
}

/// Warns of work that removes paint on a vehicle of which no completed inspection has readings: nobody knows then
/// whether there is enough paint.
pub fn warn_of_unmeasured(tx: &mut Tx<'_>, vehicle: &VehicleId, work: &str) -> Done<()> {
    if store::newest_with_readings(tx, vehicle)?.is_empty() {
        let detail = format!(
            "{work} takes paint away, but no completed inspection of this car has readings of its paint. Measure the paint \
             before the work begins."
        );
        tx.warn("paint-not-measured", "", detail);
    }
    Ok(())
}

/// The latest odometer reading of a vehicle at an inspection other than the given one, with its time.
pub fn last_odometer(
    tx: &mut Tx<'_>,
    vehicle: &VehicleId,
    except: Option<&InspectionId>,
) -> Done<Option<(UtcTime, u32)>> {
    Ok(store::last_odometer(tx, vehicle, except)?)
}

/// Begins an inspection of a vehicle.
pub fn add(tx: &mut Tx<'_>, vehicle_id: &VehicleId, details: &Details) -> Done<Inspection> {
    if vehicle::usecase::of_ids(tx, std::slice::from_ref(vehicle_id))?.is_empty() {
        return Err(Refused::field("/vehicle_id", "not_found", "There is no such vehicle.").into());
    }
    vehicle::usecase::standing(tx, vehicle_id)?;
    checked(tx, details)?;
    let id: InspectionId = ids::new();
    store::insert(tx, &id, vehicle_id, details)?;
    let detail = json!({ "vehicle_id": vehicle_id.as_str(), "stage": details.stage.as_str() });
    record::write(tx, "inspection.added", ("inspection", id.as_str()), detail)?;
    look(tx, details);
    show(tx, &id)
}

/// Replaces the content of a draft. If readings change, an earlier decision about the old ones is no longer valid.
pub fn replace(
    tx: &mut Tx<'_>,
    id: &InspectionId,
    seen: Seen,
    vehicle_id: &VehicleId,
    details: &Details,
) -> Done<Inspection> {
    let before = show(tx, id)?;
    seen.check(before.version)?;
    before.state.go(InspectionMove::Change)?;
    if before.vehicle_id != *vehicle_id {
        let detail = "An inspection can't move to another vehicle. Make a new inspection for that vehicle.";
        return Err(Refused::field("/vehicle_id", "other_vehicle", detail).into());
    }
    checked(tx, details)?;
    store::update(tx, id, before.version + 1, details)?;
    let void = before.decision.is_some() && before.details.readings != details.readings;
    if void {
        store::void_decisions(tx, id)?;
    }
    record::write(tx, "inspection.changed", ("inspection", id.as_str()), json!({ "decision_void": void }))?;
    look(tx, details);
    show(tx, id)
}

/// Makes the findings final: the inspection is judged by the shop's current limits, and never changes again.
pub fn complete(tx: &mut Tx<'_>, id: &InspectionId, seen: Seen) -> Done<Inspection> {
    let draft = show(tx, id)?;
    seen.check(draft.version)?;
    draft.state.go(InspectionMove::Complete)?;
    store::complete(tx, id, draft.version + 1, &draft.judged)?;
    let detail =
        json!({ "condition_class": draft.judged.condition.class.as_str(), "factor": draft.judged.factor.to_string() });
    record::write(tx, "inspection.completed", ("inspection", id.as_str()), detail)?;
    show(tx, id)
}

/// Stores the owner's decision about readings that are beyond the shop's limits.
pub fn decide(tx: &mut Tx<'_>, id: &InspectionId, seen: Seen, go_ahead: bool, reason: &str) -> Done<Inspection> {
    let inspection = show(tx, id)?;
    seen.check(inspection.version)?;
    let who = tx.actor.person().cloned().ok_or_else(|| Fail::from(PaintRefusal::NotTheirs))?;
    let role = tx.actor.role().filter(|role| may(*role, Task::DecideRisk));
    let role = role.ok_or_else(|| Fail::from(PaintRefusal::NotTheirs))?;
    if !inspection.paint(&[])?.owner_decision_needed() {
        let detail = "No reading is beyond the studio's limits, so there is nothing to decide.";
        return Err(Refused::conflict("nothing-to-decide", detail).into());
    }
    if reason.trim().is_empty() {
        return Err(PaintRefusal::NoReason.into());
    }
    store::void_decisions(tx, id)?;
    let decision = OwnerDecision { who, role, go_ahead, reason: reason.to_owned(), at: tx.now.datetime() };
    store::insert_decision(tx, id, &decision)?;
    store::touch(tx, id, inspection.version + 1)?;
    record::write(tx, "inspection.paint_decided", ("inspection", id.as_str()), json!({ "go_ahead": go_ahead }))?;
    show(tx, id)
}

/// Checks rules that concern several values: each panel is read once, statistics can be computed, photographs exist.
fn checked(tx: &mut Tx<'_>, details: &Details) -> Done<()> {
    let mut panels = BTreeSet::new();
    for (at, read) in details.readings.iter().enumerate() {
        if !panels.insert(read.panel) {
            let detail = "List each panel once, with all its readings.";
            return Err(Refused::field(format!("/readings/{at}/panel"), "repeated", detail).into());
        }
        depth(&read.readings).map_err(|error| {
            Refused::field(format!("/readings/{at}/micrometres"), error.code(), Refused::of(&error).detail())
        })?;
    }
    let wanted = details.all_photos();
    if wanted.len() > MOST_PHOTOS {
        let detail = format!("An inspection holds at most {MOST_PHOTOS} photographs.");
        return Err(Refused::field("/findings", "too_many_photos", detail).into());
    }
    let known: BTreeSet<PhotoId> = media::usecase::of_ids(tx, &wanted)?.into_iter().map(|photo| photo.id).collect();
    let missing = |photos: &[PhotoId]| photos.iter().position(|photo| !known.contains(photo));
    let fault = |pointer: String| Refused::field(pointer, "not_found", "There is no such photograph.");
    if let Some(at) = missing(&details.photo_ids) {
        return Err(fault(format!("/photo_ids/{at}")).into());
    }
    for (number, found) in details.findings.iter().enumerate() {
        if let Some(at) = missing(&found.photo_ids) {
            return Err(fault(format!("/findings/{number}/photo_ids/{at}")).into());
        }
    }
    Ok(())
}

/// The given photographs that an inspection shows.
pub fn shown(tx: &mut Tx<'_>, photos: &[String]) -> Done<Vec<String>> {
    Ok(store::shown(tx, photos)?)
}

/// Data that this feature holds about a customer: findings on their vehicles. Panels, kinds and readings stay; texts
/// and photographs are deleted.
pub const HOLDER: Holder = Holder {
    feature: "inspection",
    held: &[
        Held::of_row("inspection", "vehicle_id", "vehicle"),
        Held::of_row("finding", "inspection_id", "inspection"),
        Held::of_row("inspection_photo", "inspection_id", "inspection"),
        Held::of_row("paint_reading", "inspection_id", "inspection"),
        Held::of_row("paint_decision", "inspection_id", "inspection"),
    ],
    forget: |tx, leaving| {
        store::blank(tx, &leaving.ids("inspection"))?;
        Ok(Left::default())
    },
};
