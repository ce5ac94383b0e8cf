//! Bodies of requests about inspections.

use baywright_core::inspection::usecase::{Details, Found, MOST_PHOTOS};
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::{PhotoId, VehicleId};
use baywright_domain::inspection::{Finding, Grade, InspectionStage, PanelReadings};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{KindWord, Micrometres, PanelWord, SeverityWord, StageWord};
use crate::platform::wire::{Line, Reference, Text, Word, integer, integer_or_null};

const MOST_FINDINGS: usize = 200;
const MOST_PANELS: usize = 25;
const MOST_READINGS: usize = 50;

/// Findings of an inspection.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InspectionBody {
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Stage of the job at which the car is inspected; `BEFORE_WORK` if left out.
    #[serde(default = "before_work")]
    #[schema(required = false)]
    stage: StageWord,
    /// Odometer reading in the vehicle's unit, kilometres or miles; null or left out if it was not read.
    #[serde(default, deserialize_with = "integer_or_null")]
    #[schema(minimum = 0, maximum = 9_999_999, example = 48_210)]
    odometer: Option<i32>,
    /// Grade of dirt: 0 none, 1 slight, 2 moderate, 3 strong, 4 extreme.
    #[serde(deserialize_with = "integer")]
    #[schema(minimum = 0, maximum = 4, example = 2)]
    soil_grade: u8,
    /// Grade of contamination bonded to the paint: 0 none, 1 slight, 2 moderate, 3 strong, 4 extreme.
    #[serde(deserialize_with = "integer")]
    #[schema(minimum = 0, maximum = 4, example = 1)]
    contamination_grade: u8,
    /// Findings, in the order of the walk-round.
    #[serde(default)]
    #[schema(max_items = 200)]
    findings: Vec<FindingBody>,
    /// Paint-depth readings, each panel once.
    #[serde(default)]
    #[schema(max_items = 25)]
    readings: Vec<ReadingsBody>,
    /// Ids of photographs of the whole car.
    #[serde(default)]
    #[schema(max_items = 24)]
    photo_ids: Vec<Reference>,
    /// Damage that cannot be corrected, as it was explained to the customer.
    #[serde(default)]
    beyond_repair: Text<4000>,
    /// Other notes about the inspection.
    #[serde(default)]
    note: Text<4000>,
}

fn before_work() -> StageWord {
    Word(InspectionStage::BeforeWork)
}

/// Finding on a panel.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingBody {
    /// Panel or part of the car.
    panel: PanelWord,
    /// Kind of finding, such as swirls or a stone chip.
    kind: KindWord,
    /// Severity of the finding: minor, moderate or serious.
    severity: SeverityWord,
    /// Other notes about the finding.
    #[serde(default)]
    note: Text<1000>,
    /// Ids of photographs that show the finding.
    #[serde(default)]
    #[schema(max_items = 24)]
    photo_ids: Vec<Reference>,
}

/// Paint-depth readings of one panel.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingsBody {
    /// Panel that was measured.
    panel: PanelWord,
    /// Depth of all layers at several spots, in micrometres, on clean and cool paint; each from 1 to 5,000.
    #[schema(min_items = 1, max_items = 50, example = json!([118, 121, 125]))]
    micrometres: Vec<Micrometres>,
}

/// Decision of the owner about thin paint.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DecisionBody {
    /// Whether the owner decided that the work may go ahead.
    go_ahead: bool,
    /// Reason for the decision.
    #[schema(example = "By hand, one pass, read again after each panel.")]
    reason: Line<1000>,
}

impl DecisionBody {
    /// The decision and its reason.
    pub fn into_parts(self) -> (bool, String) {
        (self.go_ahead, self.reason.into())
    }
}

fn at_most(pointer: &str, count: usize, most: usize) -> Result<(), Refused> {
    if count > most {
        return Err(Refused::field(pointer, "too_many", format!("Send at most {most}.")));
    }
    Ok(())
}

fn grade(pointer: &str, number: u8) -> Result<Grade, Refused> {
    Grade::new(number).map_err(|error| Refused::field(pointer, "out_of_range", Refused::of(&error).detail()))
}

fn photos(ids: Vec<Reference>) -> Vec<PhotoId> {
    ids.into_iter().map(PhotoId::new).collect()
}

impl InspectionBody {
    /// Checks rules that concern several values, and returns the vehicle and the details.
    pub fn checked(self) -> Result<(VehicleId, Details), Refused> {
        at_most("/findings", self.findings.len(), MOST_FINDINGS)?;
        at_most("/readings", self.readings.len(), MOST_PANELS)?;
        at_most("/photo_ids", self.photo_ids.len(), MOST_PHOTOS)?;
        if self.odometer.is_some_and(|shown| !(0..=9_999_999).contains(&shown)) {
            return Err(Refused::field("/odometer", "out_of_range", "Write the odometer as 0 to 9,999,999."));
        }
        let (soil, contamination) =
            (grade("/soil_grade", self.soil_grade)?, grade("/contamination_grade", self.contamination_grade)?);
        let mut findings = Vec::with_capacity(self.findings.len());
        for (at, body) in self.findings.into_iter().enumerate() {
            at_most(&format!("/findings/{at}/photo_ids"), body.photo_ids.len(), MOST_PHOTOS)?;
            let finding =
                Finding { panel: body.panel.0, kind: body.kind.0, severity: body.severity.0, note: body.note.into() };
            findings.push(Found { finding, photo_ids: photos(body.photo_ids) });
        }
        let mut readings = Vec::with_capacity(self.readings.len());
        for (at, body) in self.readings.into_iter().enumerate() {
            at_most(&format!("/readings/{at}/micrometres"), body.micrometres.len(), MOST_READINGS)?;
            readings.push(PanelReadings {
                panel: body.panel.0,
                readings: body.micrometres.iter().map(|depth| depth.0).collect(),
            });
        }
        let details = Details {
            stage: self.stage.0,
            odometer: self.odometer,
            soil,
            contamination,
            findings,
            readings,
            photo_ids: photos(self.photo_ids),
            beyond_repair: self.beyond_repair.into(),
            note: self.note.into(),
        };
        Ok((VehicleId::new(self.vehicle_id), details))
    }
}
