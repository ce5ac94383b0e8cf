//! An inspection as it is answered.

use baywright_domain::id::PhotoId;
use baywright_domain::inspection::{PaintOutcome, PaintWarning, PanelReadings, depth};
use baywright_domain::vehicle::OdometerUnit;
use serde::Serialize;
use utoipa::ToSchema;

use super::{ClassWord, KindWord, Micrometres, PanelWord, SeverityWord, StageWord, StateWord};
use crate::inspection::usecase::{Found, Inspection, Summary};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::wire::{Instant, Number, Reference, Text, Word};

/// A unit as it travels.
type UnitWord = Word<OdometerUnit>;

/// An inspection.
#[derive(Debug, Serialize, ToSchema)]
pub struct InspectionView {
    /// The inspection's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The vehicle.
    vehicle_id: Reference,
    /// When in the course of the job.
    stage: StageWord,
    /// Draft or completed.
    state: StateWord,
    /// What the odometer shows.
    #[schema(minimum = 0, maximum = 9_999_999)]
    odometer: Option<i32>,
    /// What the odometer counts.
    odometer_unit: UnitWord,
    /// How dirty the car is, 0 to 4.
    #[schema(minimum = 0, maximum = 4)]
    soil_grade: u8,
    /// How much is bonded to its paint, 0 to 4.
    #[schema(minimum = 0, maximum = 4)]
    contamination_grade: u8,
    /// What was found.
    #[schema(max_items = 200)]
    findings: Vec<FindingView>,
    /// What the gauge read, with statistics.
    #[schema(max_items = 25)]
    readings: Vec<ReadingsView>,
    /// Photographs of the whole car.
    #[schema(max_items = 24)]
    photo_ids: Vec<Reference>,
    /// What can't be put right.
    #[schema(max_length = 4000)]
    beyond_repair: String,
    /// What else there is to say.
    #[schema(max_length = 4000)]
    note: String,
    /// What that makes of the car's condition.
    condition: ConditionView,
    /// How readings compare with the shop's limits.
    paint: PaintView,
    /// What to be careful of.
    #[schema(value_type = Vec<Text<1000>>, max_items = 10)]
    cautions: Vec<String>,
    /// Who began it.
    inspected_by: Option<Reference>,
    /// When it was completed.
    completed_at: Option<Instant>,
    /// When it was begun.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

crate::versioned!(InspectionView);

/// Something found on a panel.
#[derive(Debug, Serialize, ToSchema)]
pub struct FindingView {
    /// Where.
    panel: PanelWord,
    /// What.
    kind: KindWord,
    /// How bad.
    severity: SeverityWord,
    /// Whether it asks for work, or is only recorded.
    adds_work: bool,
    /// What else there is to say.
    #[schema(max_length = 1000)]
    note: String,
    /// Photographs that show it.
    #[schema(max_items = 24)]
    photo_ids: Vec<Reference>,
}

/// Readings of one panel in micrometres, of all layers together.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReadingsView {
    /// The panel.
    panel: PanelWord,
    /// The readings.
    #[schema(max_items = 50)]
    micrometres: Vec<Micrometres>,
    /// The thinnest.
    #[schema(minimum = 1, maximum = 5000)]
    min: u16,
    /// The thickest.
    #[schema(minimum = 1, maximum = 5000)]
    max: u16,
    /// Their mean, to a tenth.
    mean: Number,
    /// The thickest less the thinnest.
    #[schema(minimum = 0, maximum = 5000)]
    spread: u16,
    /// Their sample standard deviation, to a tenth; null for one reading.
    deviation: Option<Number>,
}

/// The condition class and how it came about.
#[derive(Debug, Serialize, ToSchema)]
pub struct ConditionView {
    /// The class.
    class: ClassWord,
    /// What budgets and prices are multiplied with, where a service says that condition matters.
    factor: Number,
    /// A sentence for each thing that led to the class.
    #[schema(value_type = Vec<Text<4000>>, max_items = 10)]
    reasons: Vec<String>,
}

/// How readings compare with the shop's limits.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaintView {
    /// Below this, all layers together count as thin, in micrometres.
    #[schema(minimum = 0, maximum = 5000)]
    floor_um: u16,
    /// What the work may take off, in micrometres.
    #[schema(minimum = 0, maximum = 5000)]
    removal_budget_um: u16,
    /// What is beyond a limit.
    #[schema(max_items = 100)]
    warnings: Vec<PaintWarningView>,
    /// Whether the owner has to decide before anything is taken off.
    owner_decision_needed: bool,
    /// The owner's decision that counts.
    decision: Option<DecisionView>,
    /// What to keep in mind, whatever was read.
    #[schema(max_length = 500)]
    note: String,
}

/// A reading beyond a limit.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaintWarningView {
    /// The panel.
    panel: PanelWord,
    /// Stable word: `thin`, `thick`, `few_readings` or `not_read`.
    #[schema(max_length = 20, example = "thin")]
    code: String,
    /// What was read and which limit it is beyond.
    #[schema(max_length = 500)]
    detail: String,
}

/// The owner's decision.
#[derive(Debug, Serialize, ToSchema)]
pub struct DecisionView {
    /// Whether the work goes on.
    go_ahead: bool,
    /// Why.
    #[schema(max_length = 1000)]
    reason: String,
    /// Who decided.
    decided_by: Reference,
    /// When.
    decided_at: Instant,
}

/// An inspection as a list shows it.
#[derive(Debug, Serialize, ToSchema)]
pub struct InspectionLine {
    /// The inspection's id.
    id: Reference,
    /// Counts the changes.
    #[schema(minimum = 1)]
    version: i64,
    /// The vehicle.
    vehicle_id: Reference,
    /// When in the course of the job.
    stage: StageWord,
    /// Draft or completed.
    state: StateWord,
    /// The condition class, once completed.
    condition_class: Option<ClassWord>,
    /// When it was completed.
    completed_at: Option<Instant>,
    /// When it was begun.
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
