//! Cautions: the crew reads them on the screen by the bay and on the job sheet, the customer on the quote.
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
        /// Waste water from washing.
        WashWater = "WASH_WATER" "wash water",
        /// A chemical that must not dry on the surface.
        DwellTime = "DWELL_TIME" "dwell time",
        /// Dust from sanding.
        Dust = "DUST" "dust",
        /// Thin paint under a machine or abrasive. A step with this caution removes paint: see [`takes_paint`].
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
                 if a reading is low."
            }
            Self::NoiseAndVibration => "Wear hearing protection at machines and change hands or tasks in good time.",
        }
    }
}

words! {
    /// Audience of a caution.
    pub enum Audience("audience") {
        /// The person who does the work.
        Crew = "CREW" "crew",
        /// The customer, before the work and after it.
        Customer = "CUSTOMER" "customer",
        /// Both of them.
        Both = "BOTH" "crew and customer",
    }
}

impl Audience {
    /// Whether the person who does the work reads it.
    pub const fn has_crew(self) -> bool {
        matches!(self, Self::Crew | Self::Both)
    }
}

impl Hazard {
    /// Text for the customer about the hazard; `None` if it concerns the crew alone.
    pub const fn customer_text(self) -> Option<&'static str> {
        match self {
            Self::ThinPaint => Some(
                "A paint gauge reads all layers together and can't tell how much clear coat is left. If your paint proves \
                 too thin, we stop and ask you before we go on.",
            ),
            _ => None,
        }
    }
}

/// Whether work with these cautions removes paint, so that the paint-depth readings decide whether it is done.
pub fn takes_paint(cautions: &[Caution]) -> bool {
    cautions.contains(&Caution::Known(Hazard::ThinPaint))
}

/// A caution on a step, a product or a car.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Caution {
    /// One that the trade knows; [`Hazard::customer_text`] is the part that the customer reads.
    Known(Hazard),
    /// One for the crew in the shop's own words.
    Own(String),
    /// One for the customer in the shop's own words.
    ForCustomer(String),
}

impl Caution {
    /// Audience of the caution.
    pub const fn audience(&self) -> Audience {
        match self {
            Self::Known(hazard) if hazard.customer_text().is_some() => Audience::Both,
            Self::Known(_) | Self::Own(_) => Audience::Crew,
            Self::ForCustomer(_) => Audience::Customer,
        }
    }

    /// The caution in a sentence or two, as its first readers need it: the crew, or else the customer.
    pub fn text(&self) -> &str {
        match self {
            Self::Known(hazard) => hazard.text(),
            Self::Own(text) | Self::ForCustomer(text) => text,
        }
    }

    /// Text for the customer; `None` if it is for the crew alone.
    pub fn customer_text(&self) -> Option<&str> {
        match self {
            Self::Known(hazard) => hazard.customer_text(),
            Self::Own(_) => None,
            Self::ForCustomer(text) => Some(text),
        }
    }
}

impl From<Hazard> for Caution {
    fn from(hazard: Hazard) -> Self {
        Self::Known(hazard)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_customer_reads_only_what_is_meant_for_them() {
        let own = || String::from("Bolts to the maker's torque.");
        assert_eq!(Caution::Own(own()).customer_text(), None);
        assert_eq!(Caution::ForCustomer(own()).customer_text(), Some(own().as_str()));
        assert!(!Caution::ForCustomer(own()).audience().has_crew());
        for hazard in Hazard::ALL {
            let caution = Caution::from(*hazard);
            assert!(caution.audience().has_crew(), "{hazard}");
            assert_eq!(caution.customer_text().is_some(), *hazard == Hazard::ThinPaint, "{hazard}");
        }
    }
}
