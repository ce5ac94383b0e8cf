//! Details of an inspection, as the use cases read them.

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

/// Details that the crew enters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// Stage of the job at which the car is inspected.
    pub stage: InspectionStage,
    /// Odometer reading, in the vehicle's unit.
    pub odometer: Option<i32>,
    /// Grade of dirt.
    pub soil: Grade,
    /// Grade of contamination bonded to the paint.
    pub contamination: Grade,
    /// Findings, in the order of the walk-round.
    pub findings: Vec<Found>,
    /// Paint-depth readings, each panel once.
    pub readings: Vec<PanelReadings>,
    /// Photographs of the whole car.
    pub photo_ids: Vec<PhotoId>,
    /// Damage that can't be corrected, as it was explained to the customer.
    pub beyond_repair: String,
    /// Other notes.
    pub note: String,
}

/// A finding with the photographs that show it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The finding.
    pub finding: Finding,
    /// Photographs that show it.
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
    /// Threshold of the rule for the condition.
    pub condition: ConditionPolicy,
    /// The limits of paint depth.
    pub paint: PaintPolicy,
    /// Condition factors of budgets and prices.
    pub factors: ByCondition<Decimal>,
}

/// Judgement of a completed inspection, stored with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judged {
    /// The condition class with its reasons.
    pub condition: Assessment,
    /// Factor by which budgets and prices are multiplied.
    pub factor: Decimal,
    /// The limits of paint depth.
    pub paint: PaintPolicy,
}

/// The current state of an inspection.
#[derive(Debug, Clone)]
pub struct Inspection {
    /// The inspection's id.
    pub id: InspectionId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// The vehicle.
    pub vehicle_id: VehicleId,
    /// Unit of its odometer.
    pub odometer_unit: OdometerUnit,
    /// Powertrain of the vehicle.
    pub powertrain: Powertrain,
    /// Draft or completed.
    pub state: InspectionState,
    /// Details that were entered.
    pub details: Details,
    /// Judgement: computed for a draft, stored for a completed inspection.
    pub judged: Judged,
    /// The owner's decision that is valid now, if there is one.
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
    /// Whether the findings are final.
    pub fn is_final(&self) -> bool {
        self.state == InspectionState::Completed
    }

    /// The consequences of the readings for the panels that are to be worked on. They never say that work does no harm.
    ///
    /// # Errors
    /// [`BadReadings`] if statistics can't be computed from the readings; they are checked when they are entered.
    pub fn paint(&self, worked_on: &[Panel]) -> Result<PaintOutcome, BadReadings> {
        compare(&self.details.readings, worked_on, self.judged.paint)
    }

    /// Cautions for work on the car.
    pub fn cautions(&self) -> Vec<Caution> {
        let mut cautions = self.powertrain.cautions();
        if !self.details.readings.is_empty() {
            cautions.push(Hazard::ThinPaint.into());
        }
        cautions
    }
}

/// Judges the details by the shop's limits.
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
    /// Stage of the job at which the car is inspected.
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
