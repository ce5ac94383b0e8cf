//! An inspection as the API returns it.

use baywright_core::inspection::usecase::{Found, Inspection, Summary};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::Done;
use baywright_domain::id::PhotoId;
use baywright_domain::inspection::{PaintOutcome, PaintWarning, PanelReadings, depth};
use baywright_domain::vehicle::OdometerUnit;
use serde::Serialize;
use utoipa::ToSchema;

use super::{ClassWord, KindWord, Micrometres, PanelWord, SeverityWord, StageWord, StateWord};
use crate::platform::wire::{Instant, Number, Reference, Text, Word};

/// A unit as it is sent over HTTP.
type UnitWord = Word<OdometerUnit>;

/// Inspection of a vehicle.
#[derive(Debug, Serialize, ToSchema)]
pub struct InspectionView {
    /// Id of the inspection.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Stage of the job at which the car is inspected.
    stage: StageWord,
    /// State of the inspection: draft or completed.
    state: StateWord,
    /// Odometer reading in the unit of `odometer_unit`; null if it was not read.
    #[schema(minimum = 0, maximum = 9_999_999)]
    odometer: Option<i32>,
    /// Unit of the odometer: kilometres or miles.
    odometer_unit: UnitWord,
    /// Grade of dirt, from 0 for none to 4 for extreme.
    #[schema(minimum = 0, maximum = 4)]
    soil_grade: u8,
    /// Grade of contamination bonded to the paint, from 0 for none to 4 for extreme.
    #[schema(minimum = 0, maximum = 4)]
    contamination_grade: u8,
    /// Findings, in the order of the walk-round.
    #[schema(max_items = 200)]
    findings: Vec<FindingView>,
    /// Paint-depth readings of each panel, with statistics.
    #[schema(max_items = 25)]
    readings: Vec<ReadingsView>,
    /// Ids of photographs of the whole car.
    #[schema(max_items = 24)]
    photo_ids: Vec<Reference>,
    /// Damage that cannot be corrected, as it was explained to the customer.
    #[schema(max_length = 4000)]
    beyond_repair: String,
    /// Other notes about the inspection.
    #[schema(max_length = 4000)]
    note: String,
    /// Condition of the car that follows from the findings.
    condition: ConditionView,
    /// Comparison of the readings with the shop's limits.
    paint: PaintView,
    /// Cautions that apply to this car.
    #[schema(value_type = Vec<Text<1000>>, max_items = 10)]
    cautions: Vec<String>,
    /// Id of the person who began the inspection; null if no person did.
    inspected_by: Option<Reference>,
    /// Time when the inspection was completed, RFC 3339 in UTC; null for a draft.
    completed_at: Option<Instant>,
    /// Time when the inspection was begun, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(InspectionView);

/// Finding on a panel.
#[derive(Debug, Serialize, ToSchema)]
pub struct FindingView {
    /// Panel or part of the car.
    panel: PanelWord,
    /// Kind of finding, such as swirls or a stone chip.
    kind: KindWord,
    /// Severity of the finding: minor, moderate or serious.
    severity: SeverityWord,
    /// Whether the finding needs work, or is only recorded.
    adds_work: bool,
    /// Other notes about the finding.
    #[schema(max_length = 1000)]
    note: String,
    /// Ids of photographs that show the finding.
    #[schema(max_items = 24)]
    photo_ids: Vec<Reference>,
}

/// Paint-depth readings of one panel, of all layers together.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReadingsView {
    /// Panel that was measured.
    panel: PanelWord,
    /// Readings in micrometres, in the order in which they were taken.
    #[schema(max_items = 50)]
    micrometres: Vec<Micrometres>,
    /// Smallest reading, in micrometres.
    #[schema(minimum = 1, maximum = 5000)]
    min: u16,
    /// Largest reading, in micrometres.
    #[schema(minimum = 1, maximum = 5000)]
    max: u16,
    /// Mean of the readings, in micrometres, to one decimal.
    mean: Number,
    /// Difference between the largest and the smallest reading, in micrometres.
    #[schema(minimum = 0, maximum = 5000)]
    spread: u16,
    /// Sample standard deviation of the readings, in micrometres, to one decimal; null for a single reading.
    deviation: Option<Number>,
}

/// Condition class and how it was found.
#[derive(Debug, Serialize, ToSchema)]
pub struct ConditionView {
    /// Condition class: light, fair, heavy or severe.
    class: ClassWord,
    /// Factor by which budgets and prices are multiplied for services that depend on the condition.
    factor: Number,
    /// Reasons for the class, each as a sentence.
    #[schema(value_type = Vec<Text<4000>>, max_items = 10)]
    reasons: Vec<String>,
}

/// Comparison of paint-depth readings with the shop's limits.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaintView {
    /// Lower limit for the depth of all layers together, in micrometres; readings below it count as thin.
    #[schema(minimum = 0, maximum = 5000)]
    floor_um: u16,
    /// Depth that the work may remove, in micrometres.
    #[schema(minimum = 0, maximum = 5000)]
    removal_budget_um: u16,
    /// Readings beyond a limit, each with its panel.
    #[schema(max_items = 100)]
    warnings: Vec<PaintWarningView>,
    /// Whether the owner has to decide before any paint is removed.
    owner_decision_needed: bool,
    /// Decision of the owner that currently counts; null if there is none.
    decision: Option<DecisionView>,
    /// Reminder of what the readings cannot show, always the same.
    #[schema(max_length = 500)]
    note: String,
}

/// Warning about a reading beyond a limit.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaintWarningView {
    /// Panel that was measured.
    panel: PanelWord,
    /// Stable code of the warning: `thin`, `thick`, `few_readings` or `not_read`.
    #[schema(max_length = 20, example = "thin")]
    code: String,
    /// Description of the reading and the limit that it is beyond.
    #[schema(max_length = 500)]
    detail: String,
}

/// Decision of the owner about thin paint.
#[derive(Debug, Serialize, ToSchema)]
pub struct DecisionView {
    /// Whether the owner decided that the work may go ahead.
    go_ahead: bool,
    /// Reason for the decision.
    #[schema(max_length = 1000)]
    reason: String,
    /// Id of the person who decided.
    decided_by: Reference,
    /// Time of the decision, RFC 3339 in UTC.
    decided_at: Instant,
}

/// Inspection as shown in a list.
#[derive(Debug, Serialize, ToSchema)]
pub struct InspectionLine {
    /// Id of the inspection.
    id: Reference,
    /// Version of the record, which every change raises by one.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Stage of the job at which the car is inspected.
    stage: StageWord,
    /// State of the inspection: draft or completed.
    state: StateWord,
    /// Condition class; null for a draft.
    condition_class: Option<ClassWord>,
    /// Time when the inspection was completed, RFC 3339 in UTC; null for a draft.
    completed_at: Option<Instant>,
    /// Time when the inspection was begun, RFC 3339 in UTC.
    created_at: Instant,
}

impl From<Summary> for InspectionLine {
    fn from(summary: Summary) -> Self {
        Self {
            id: Reference::from(&summary.id),
            version: summary.version,
            vehicle_id: Reference::from(&summary.vehicle_id),
            stage: Word(summary.stage),
            state: Word(summary.state),
            condition_class: summary.class.map(Word),
            completed_at: summary.completed_at.map(Instant),
            created_at: Instant(summary.created_at),
        }
    }
}

fn references(photos: &[PhotoId]) -> Vec<Reference> {
    photos.iter().map(Reference::from).collect()
}

impl From<Found> for FindingView {
    fn from(found: Found) -> Self {
        Self {
            panel: Word(found.finding.panel),
            kind: Word(found.finding.kind),
            severity: Word(found.finding.severity),
            adds_work: found.finding.kind.adds_work(),
            note: found.finding.note,
            photo_ids: references(&found.photo_ids),
        }
    }
}

impl ReadingsView {
    fn of(read: PanelReadings) -> Done<Self> {
        let found = depth(&read.readings)?;
        Ok(Self {
            panel: Word(read.panel),
            micrometres: read.readings.into_iter().map(Micrometres).collect(),
            min: found.min,
            max: found.max,
            mean: Number(found.mean),
            spread: found.spread,
            deviation: found.deviation.map(Number),
        })
    }
}

impl From<&PaintWarning> for PaintWarningView {
    fn from(warning: &PaintWarning) -> Self {
        let (panel, code) = match warning {
            PaintWarning::ThinReading { panel, .. } => (*panel, "thin"),
            PaintWarning::ThickReading { panel, .. } => (*panel, "thick"),
            PaintWarning::FewReadings { panel, .. } => (*panel, "few_readings"),
            PaintWarning::NotRead(panel) => (*panel, "not_read"),
        };
        Self { panel: Word(panel), code: code.to_owned(), detail: warning.to_string() }
    }
}

impl PaintView {
    fn of(inspection: &Inspection, outcome: &PaintOutcome) -> Self {
        let decision = inspection.decision.as_ref().map(|decision| DecisionView {
            go_ahead: decision.go_ahead,
            reason: decision.reason.clone(),
            decided_by: Reference::from(&decision.who),
            decided_at: Instant(UtcTime::from(decision.at)),
        });
        Self {
            floor_um: inspection.judged.paint.floor,
            removal_budget_um: inspection.judged.paint.removal_budget,
            warnings: outcome.warnings.iter().map(PaintWarningView::from).collect(),
            owner_decision_needed: outcome.owner_decision_needed(),
            decision,
            note: outcome.note().to_owned(),
        }
    }
}

impl InspectionView {
    /// The view of an inspection.
    pub fn of(inspection: Inspection) -> Done<Self> {
        let paint = PaintView::of(&inspection, &inspection.paint(&[])?);
        let cautions = inspection.cautions().iter().map(|caution| caution.text().to_owned()).collect();
        let (details, judged) = (inspection.details, inspection.judged);
        Ok(Self {
            id: Reference::from(&inspection.id),
            version: inspection.version,
            vehicle_id: Reference::from(&inspection.vehicle_id),
            stage: Word(details.stage),
            state: Word(inspection.state),
            odometer: details.odometer,
            odometer_unit: Word(inspection.odometer_unit),
            soil_grade: details.soil.get(),
            contamination_grade: details.contamination.get(),
            findings: details.findings.into_iter().map(FindingView::from).collect(),
            readings: details.readings.into_iter().map(ReadingsView::of).collect::<Done<_>>()?,
            photo_ids: references(&details.photo_ids),
            beyond_repair: details.beyond_repair,
            note: details.note,
            condition: ConditionView {
                class: Word(judged.condition.class),
                factor: Number(judged.factor),
                reasons: judged.condition.reasons,
            },
            paint,
            cautions,
            inspected_by: inspection.inspected_by.as_ref().map(Reference::from),
            completed_at: inspection.completed_at.map(Instant),
            created_at: Instant(inspection.created_at),
            updated_at: Instant(inspection.updated_at),
        })
    }

    /// The inspection's id.
    pub fn id(&self) -> &Reference {
        &self.id
    }
}
