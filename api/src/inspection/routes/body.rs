//! What a request says of an inspection.

use baywright_domain::id::{PhotoId, VehicleId};
use baywright_domain::inspection::{Finding, Grade, InspectionStage, PanelReadings};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{KindWord, Micrometres, PanelWord, SeverityWord, StageWord};
use crate::inspection::usecase::{Details, Found, MOST_PHOTOS};
use crate::platform::problem::Problem;
use crate::platform::wire::{Line, Reference, Text, Word, integer, integer_or_null};

const MOST_FINDINGS: usize = 200;
const MOST_PANELS: usize = 25;
const MOST_READINGS: usize = 50;

/// What was found on a car.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InspectionBody {
    /// The vehicle.
    vehicle_id: Reference,
    /// When in the course of the job; `BEFORE_WORK` where not said.
    #[serde(default = "before_work")]
    #[schema(required = false)]
    stage: StageWord,
    /// What the odometer shows, in the vehicle's unit.
    #[serde(default, deserialize_with = "integer_or_null")]
    #[schema(minimum = 0, maximum = 9_999_999, example = 48_210)]
    odometer: Option<i32>,
    /// How dirty the car is: 0 none, 1 slight, 2 moderate, 3 strong, 4 extreme.
    #[serde(deserialize_with = "integer")]
    #[schema(minimum = 0, maximum = 4, example = 2)]
    soil_grade: u8,
    /// How much is bonded to its paint, by the same grades.
    #[serde(deserialize_with = "integer")]
    #[schema(minimum = 0, maximum = 4, example = 1)]
    contamination_grade: u8,
    /// What was found, in the order of the walk-round.
    #[serde(default)]
    #[schema(max_items = 200)]
    findings: Vec<FindingBody>,
    /// What the gauge read, each panel once.
    #[serde(default)]
    #[schema(max_items = 25)]
    readings: Vec<ReadingsBody>,
    /// Photographs of the whole car.
    #[serde(default)]
    #[schema(max_items = 24)]
    photo_ids: Vec<Reference>,
    /// What can't be put right, as it was explained to the customer.
    #[serde(default)]
    beyond_repair: Text<4000>,
    /// What else there is to say.
    #[serde(default)]
    note: Text<4000>,
}

fn before_work() -> StageWord {
    Word(InspectionStage::BeforeWork)
}

/// Something found on a panel.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingBody {
    /// Where.
    panel: PanelWord,
    /// What.
    kind: KindWord,
    /// How bad.
    severity: SeverityWord,
    /// What else there is to say.
    #[serde(default)]
    note: Text<1000>,
    /// Photographs that show it.
    #[serde(default)]
    #[schema(max_items = 24)]
    photo_ids: Vec<Reference>,
}

/// Readings of one panel.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingsBody {
    /// The panel.
    panel: PanelWord,
    /// Depth of all layers at several spots, in micrometres, on clean and cool paint; each from 1 to 5,000.
    #[schema(min_items = 1, max_items = 50, example = json!([118, 121, 125]))]
    micrometres: Vec<Micrometres>,
}

/// The owner's decision.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DecisionBody {
    /// Whether the work goes on.
    go_ahead: bool,
    /// Why.
    #[schema(example = "By hand, one pass, read again after each panel.")]
    reason: Line<1000>,
}

impl DecisionBody {
    /// The decision and its reason.
    pub fn into_parts(self) -> (bool, String) {
        (self.go_ahead, self.reason.into())
    }
}

fn at_most(pointer: &str, count: usize, most: usize) -> Result<(), Problem> {
    if count > most {
        return Err(Problem::field(pointer, "too_many", format!("Send at most {most}.")));
    }
    Ok(())
}

fn grade(pointer: &str, number: u8) -> Result<Grade, Problem> {
    Grade::new(number).map_err(|error| Problem::field(pointer, "out_of_range", Problem::of(&error).detail()))
}

fn photos(ids: Vec<Reference>) -> Vec<PhotoId> {
    ids.into_iter().map(PhotoId::new).collect()
}

impl InspectionBody {
    /// Checks what single values can't, and gives the vehicle and what was found.
    pub fn checked(self) -> Result<(VehicleId, Details), Problem> {
        at_most("/findings", self.findings.len(), MOST_FINDINGS)?;
        at_most("/readings", self.readings.len(), MOST_PANELS)?;
        at_most("/photo_ids", self.photo_ids.len(), MOST_PHOTOS)?;
        if self.odometer.is_some_and(|shown| !(0..=9_999_999).contains(&shown)) {
            return Err(Problem::field("/odometer", "out_of_range", "Write the odometer as 0 to 9,999,999."));
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
