//! What people must be careful of: shown on the screen by the bay and printed on the job sheet.
//!
//! The sentences are reminders (common practice, no source). They replace neither local law nor a product's own label
//! and safety data sheet, and where work needs a licence they don't give one.

use alloc::string::String;

use crate::word::words;

words! {
    /// A hazard that the trade knows, with its usual caution.
    pub enum Hazard("hazard") {
        /// Acid and chlorine bleach give off poisonous gas.
        AcidWithChlorine = "ACID_WITH_CHLORINE" "acid with chlorine bleach",
        /// Acid or iron remover on hot metal or bare alloy.
        HotOrBareMetal = "HOT_OR_BARE_METAL" "hot metal or bare alloy",
        /// A chemical that touches skin or eyes.
        SkinAndEyes = "SKIN_AND_EYES" "skin and eyes",
        /// Spray mist and solvent vapour.
        Ventilation = "VENTILATION" "spray mist and vapour",
        /// Solvent vapour and polishing cloths can catch fire.
        Fire = "FIRE" "fire",
        /// Water near mains power.
        WetAndElectric = "WET_AND_ELECTRIC" "water near electricity",
        /// Hoists and jacks.
        Lifting = "LIFTING" "hoists and jacks",
        /// The high-voltage parts of a hybrid or electric car.
        HighVoltage = "HIGH_VOLTAGE" "high voltage",
        /// Airbags and seat sensors.
        AirbagsAndSensors = "AIRBAGS_AND_SENSORS" "airbags and seat sensors",
        /// Where wash water goes.
        WashWater = "WASH_WATER" "wash water",
        /// A chemical that must not dry on the surface.
        DwellTime = "DWELL_TIME" "dwell time",
        /// Dust from sanding.
        Dust = "DUST" "dust",
        /// Thin paint under a machine or abrasive. A step with this caution takes paint away: see [`takes_paint`].
        ThinPaint = "THIN_PAINT" "thin paint",
        /// Noise and vibration of machines.
        NoiseAndVibration = "NOISE_AND_VIBRATION" "noise and vibration",
    }
}

impl Hazard {
    /// The caution in a sentence or two.
    pub const fn text(self) -> &'static str {
        match self {
            Self::AcidWithChlorine => {
                "Acid and chlorine bleach together give off poisonous gas. Never mix them, never use them from the same \
                 bucket, never let both into the drain at once."
            }
            Self::HotOrBareMetal => {
                "Never put acid or iron remover on hot metal or bare alloy. Let wheels and brakes cool first."
            }
            Self::SkinAndEyes => "Wear gloves and eye protection, and read the product's safety data sheet first.",
            Self::Ventilation => {
                "Ventilate the bay while spraying or coating, and wear the mask that the product's label asks for."
            }
            Self::Fire => {
                "Keep flames and sparks away from solvents, and lay used cloths flat outdoors or in a closed metal bin."
            }
            Self::WetAndElectric => {
                "Use electric tools near water only behind a residual-current device, with dry hands and plugs off the \
                 floor."
            }
            Self::Lifting => {
                "Only trained people use hoists and jacks, to the maker's instructions; never work under a car that \
                 stands on a jack alone."
            }
            Self::HighVoltage => {
                "Hybrid or electric: never spray into charge ports or the high-voltage area, and don't open covers \
                 marked orange. Only a qualified person works on these parts."
            }
            Self::AirbagsAndSensors => "Don't soak seats, belts or trim near airbags and seat sensors.",
            Self::WashWater => {
                "Wash water goes to an approved drain or separator, as local rules say, never into the storm drain."
            }
            Self::DwellTime => "Keep to the label's dwell time and never let the product dry on the surface.",
            Self::Dust => "Sand wet or with extraction, and wear a dust mask.",
            Self::ThinPaint => {
                "A gauge reads all layers together and can't tell how much clear coat is left. Stop and ask the owner \
                 where a reading is low."
            }
            Self::NoiseAndVibration => "Wear hearing protection at machines and change hands or tasks in good time.",
        }
    }
}

/// Whether work with these cautions takes paint away, so that what the gauge read decides whether it is done.
pub fn takes_paint(cautions: &[Caution]) -> bool {
    cautions.contains(&Caution::Known(Hazard::ThinPaint))
}

/// A caution on a step, a product or a car.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Caution {
    /// One that the trade knows.
    Known(Hazard),
    /// One in the shop's own words.
    Own(String),
}

impl Caution {
    /// The caution in a sentence or two.
    pub fn text(&self) -> &str {
        match self {
            Self::Known(hazard) => hazard.text(),
            Self::Own(text) => text,
        }
    }
}

impl From<Hazard> for Caution {
    fn from(hazard: Hazard) -> Self {
        Self::Known(hazard)
    }
}
