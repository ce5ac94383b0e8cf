//! An inspection, as the use cases see it.

use std::collections::BTreeSet;

use baywright_domain::caution::{Caution, Hazard};
use baywright_domain::id::{InspectionId, PersonId, PhotoId, VehicleId};
use baywright_domain::inspection::ByCondition;
use baywright_domain::inspection::{
    Assessment, BadReadings, ConditionPolicy, Finding, Grade, InspectionStage, InspectionState, OwnerDecision,
    PaintOutcome, PaintPolicy, Panel, PanelReadings, assess, compare,
};
use baywright_domain::vehicle::{OdometerUnit, Powertrain};
use rust_decimal::Decimal;

use crate::platform::clock::UtcTime;

/// What the crew writes down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// When in the course of the job.
    pub stage: InspectionStage,
    /// What the odometer shows, in the vehicle's unit.
    pub odometer: Option<i32>,
    /// How dirty the car is.
    pub soil: Grade,
    /// How much is bonded to its paint.
    pub contamination: Grade,
    /// What was found, in the order of the walk-round.
    pub findings: Vec<Found>,
    /// What the gauge read, each panel once.
    pub readings: Vec<PanelReadings>,
    /// Photographs of the whole car.
    pub photo_ids: Vec<PhotoId>,
    /// What can't be put right, as it was explained to the customer.
    pub beyond_repair: String,
    /// What else there is to say.
    pub note: String,
}

/// A finding with the photographs that show it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The finding.
    pub finding: Finding,
    /// What shows it.
    pub photo_ids: Vec<PhotoId>,
}

impl Details {
    /// All photographs, each once.
    pub fn all_photos(&self) -> Vec<PhotoId> {
        let of_findings = self.findings.iter().flat_map(|found| &found.photo_ids);
        let all: BTreeSet<&PhotoId> = self.photo_ids.iter().chain(of_findings).collect();
        all.into_iter().cloned().collect()
    }
}

/// The shop's limits by which an inspection is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Policy {
    /// Where the rule for the condition draws its line.
    pub condition: ConditionPolicy,
    /// The limits of paint depth.
    pub paint: PaintPolicy,
    /// How budgets and prices grow with the condition.
    pub factors: ByCondition<Decimal>,
}

/// What a completed inspection was judged to be, kept with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judged {
    /// The condition class with its reasons.
    pub condition: Assessment,
    /// What budgets and prices are multiplied with.
    pub factor: Decimal,
    /// The limits of paint depth.
    pub paint: PaintPolicy,
}

/// An inspection as it stands.
#[derive(Debug, Clone)]
pub struct Inspection {
    /// The inspection's id.
    pub id: InspectionId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// The vehicle.
    pub vehicle_id: VehicleId,
    /// What its odometer counts.
    pub odometer_unit: OdometerUnit,
    /// What drives it.
    pub powertrain: Powertrain,
    /// Draft or completed.
    pub state: InspectionState,
    /// What was written down.
    pub details: Details,
    /// What that makes of the car: live for a draft, kept for a completed one.
    pub judged: Judged,
    /// The owner's decision that counts, if there is one.
    pub decision: Option<OwnerDecision>,
    /// Person who began it.
    pub inspected_by: Option<PersonId>,
    /// Time when it was completed.
    pub completed_at: Option<UtcTime>,
    /// Time when it was begun.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

impl Inspection {
    /// Whether what was found is final.
    pub fn is_final(&self) -> bool {
        self.state == InspectionState::Completed
    }

    /// What the readings lead to, for the panels that are to be worked on. It never says that work does no harm.
    ///
    /// # Errors
    /// [`BadReadings`] if readings can't be summed up; they are checked when they are written down.
    pub fn paint(&self, worked_on: &[Panel]) -> Result<PaintOutcome, BadReadings> {
        compare(&self.details.readings, worked_on, self.judged.paint)
    }

    /// What to be careful of.
    pub fn cautions(&self) -> Vec<Caution> {
        let mut cautions = self.powertrain.cautions();
        if !self.details.readings.is_empty() {
            cautions.push(Hazard::ThinPaint.into());
        }
        cautions
    }
}

/// Judges what was written down by the shop's limits.
pub(super) fn judge(details: &Details, policy: &Policy) -> Judged {
    let findings: Vec<Finding> = details.findings.iter().map(|found| found.finding.clone()).collect();
    let condition = assess(details.soil, details.contamination, &findings, policy.condition);
    let factor = *policy.factors.get(condition.class);
    Judged { condition, factor, paint: policy.paint }
}

/// An inspection as a list shows it.
#[derive(Debug, Clone)]
pub struct Summary {
    /// The inspection's id.
    pub id: InspectionId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// The vehicle.
    pub vehicle_id: VehicleId,
    /// When in the course of the job.
    pub stage: InspectionStage,
    /// Draft or completed.
    pub state: InspectionState,
    /// The condition class, once completed.
    pub class: Option<baywright_domain::inspection::ConditionClass>,
    /// Time when it was completed.
    pub completed_at: Option<UtcTime>,
    /// Time when it was begun.
    pub created_at: UtcTime,
}
