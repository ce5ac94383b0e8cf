//! Inspections before work and after the wash: the findings panel by panel, the condition of the car that follows from them,
//! and the readings of the paint gauge.

mod condition;
mod paint;
mod removal;
mod state;

use alloc::string::String;

use crate::refusal::{Kind, Refusal};
use crate::word::words;

pub use condition::{Assessment, ByCondition, ConditionClass, ConditionPolicy, assess};
pub use paint::{
    BadReadings, Depth, OwnerDecision, PaintOutcome, PaintPolicy, PaintRefusal, PaintWarning, PanelReadings, compare,
    depth, may_sand,
};
pub use removal::{PaintInTheWay, WorkStage, decided_cautions, may_take_paint};
pub use state::{InspectionMove, InspectionStage, InspectionState};

words! {
    /// A part of the car that findings and readings belong to.
    pub enum Panel("panel") {
        /// The bonnet.
        Bonnet = "BONNET" "bonnet",
        /// The roof.
        Roof = "ROOF" "roof",
        /// The boot lid or tailgate.
        BootLid = "BOOT_LID" "boot lid",
        /// The front bumper.
        FrontBumper = "FRONT_BUMPER" "front bumper",
        /// The rear bumper.
        RearBumper = "REAR_BUMPER" "rear bumper",
        /// The front wing on the left, seen in driving direction.
        FrontWingLeft = "FRONT_WING_LEFT" "front wing, left",
        /// The front wing on the right.
        FrontWingRight = "FRONT_WING_RIGHT" "front wing, right",
        /// The front door on the left.
        FrontDoorLeft = "FRONT_DOOR_LEFT" "front door, left",
        /// The front door on the right.
        FrontDoorRight = "FRONT_DOOR_RIGHT" "front door, right",
        /// The rear door on the left.
        RearDoorLeft = "REAR_DOOR_LEFT" "rear door, left",
        /// The rear door on the right.
        RearDoorRight = "REAR_DOOR_RIGHT" "rear door, right",
        /// The rear quarter on the left.
        RearQuarterLeft = "REAR_QUARTER_LEFT" "rear quarter, left",
        /// The rear quarter on the right.
        RearQuarterRight = "REAR_QUARTER_RIGHT" "rear quarter, right",
        /// The sill on the left.
        SillLeft = "SILL_LEFT" "sill, left",
        /// The sill on the right.
        SillRight = "SILL_RIGHT" "sill, right",
        /// Mirrors.
        Mirrors = "MIRRORS" "mirrors",
        /// Windscreen and windows.
        Glass = "GLASS" "glass",
        /// Lamps.
        Lamps = "LAMPS" "lamps",
        /// Wheels and tyres.
        Wheels = "WHEELS" "wheels",
        /// Trim and rubber.
        Trim = "TRIM" "trim",
        /// Seats.
        Seats = "SEATS" "seats",
        /// Carpets and mats.
        Carpets = "CARPETS" "carpets",
        /// Dashboard, doors and console inside.
        Dashboard = "DASHBOARD" "dashboard and door cards",
        /// Headlining.
        Headlining = "HEADLINING" "headlining",
        /// The luggage space.
        LuggageSpace = "LUGGAGE_SPACE" "luggage space",
    }
}

impl Panel {
    /// Whether it has paint that a gauge can read; bumpers and wheels are painted too.
    pub const fn is_painted(self) -> bool {
        !matches!(
            self,
            Self::Glass
                | Self::Lamps
                | Self::Trim
                | Self::Seats
                | Self::Carpets
                | Self::Dashboard
                | Self::Headlining
                | Self::LuggageSpace
        )
    }
}

words! {
    /// Kind of a finding.
    pub enum FindingKind("kind of finding") {
        /// Fine round wash marks.
        Swirls = "SWIRLS" "swirl marks",
        /// Scratches in the clear coat.
        Scratches = "SCRATCHES" "scratches",
        /// Scratches through the clear coat.
        DeepScratches = "DEEP_SCRATCHES" "deep scratches",
        /// Mineral spots.
        WaterSpots = "WATER_SPOTS" "water spots",
        /// Marks eaten into the paint, by bird lime or insects.
        Etching = "ETCHING" "etching",
        /// Chalky, faded paint.
        Oxidation = "OXIDATION" "oxidation",
        /// Tar, resin or overspray.
        Deposits = "DEPOSITS" "tar, resin or overspray",
        /// Holograms left by a machine.
        Holograms = "HOLOGRAMS" "holograms",
        /// Stains inside.
        Stains = "STAINS" "stains",
        /// Animal hair.
        Hair = "HAIR" "animal hair",
        /// A smell.
        Odour = "ODOUR" "odour",
        /// Mould.
        Mould = "MOULD" "mould",
        /// Faded trim.
        FadedTrim = "FADED_TRIM" "faded trim",
        /// A stone chip; recorded, not worked on.
        StoneChip = "STONE_CHIP" "stone chip",
        /// A dent; recorded, not worked on.
        Dent = "DENT" "dent",
        /// Rust; recorded, not worked on.
        Rust = "RUST" "rust",
        /// A crack; recorded, not worked on.
        Crack = "CRACK" "crack",
        /// A wheel scraped at a kerb; recorded, not worked on.
        KerbDamage = "KERB_DAMAGE" "kerb damage",
        /// Clear coat coming off; recorded, and a reason not to polish.
        FailingClearCoat = "FAILING_CLEAR_COAT" "failing clear coat",
        /// A part that is missing or loose; recorded, not worked on.
        LooseOrMissing = "LOOSE_OR_MISSING" "loose or missing part",
    }
}

impl FindingKind {
    /// Whether it needs more work, or is only recorded as proof that it was there before.
    pub const fn adds_work(self) -> bool {
        !matches!(
            self,
            Self::StoneChip
                | Self::Dent
                | Self::Rust
                | Self::Crack
                | Self::KerbDamage
                | Self::FailingClearCoat
                | Self::LooseOrMissing
        )
    }
}

words! {
    /// Severity of a finding.
    pub enum Severity("severity") {
        /// Visible only under a lamp.
        Minor = "MINOR" "minor",
        /// Visible at a second look.
        Moderate = "MODERATE" "moderate",
        /// Seen at once.
        Serious = "SERIOUS" "serious",
    }
}

/// Something found on a panel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Panel or part of the car.
    pub panel: Panel,
    /// Kind of the finding.
    pub kind: FindingKind,
    /// Severity of the finding.
    pub severity: Severity,
    /// Note on the finding.
    pub note: String,
}

/// How dirty the car is, or how much is bonded to its paint: from 0, none, to 4, extreme.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Grade(u8);

/// A number that is not a [`Grade`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a grade is a whole number from 0 (none) to 4 (extreme)")]
pub struct BadGrade;

impl Refusal for BadGrade {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-grade"
    }
}

impl Grade {
    /// The grade with that number.
    ///
    /// # Errors
    /// [`BadGrade`] above 4.
    pub const fn new(grade: u8) -> Result<Self, BadGrade> {
        if grade <= 4 { Ok(Self(grade)) } else { Err(BadGrade) }
    }

    /// The number.
    pub const fn get(self) -> u8 {
        self.0
    }

    /// The word for people.
    pub const fn label(self) -> &'static str {
        match self.0 {
            0 => "none",
            1 => "slight",
            2 => "moderate",
            3 => "strong",
            _ => "extreme",
        }
    }
}
