//! What a request says of a vehicle.

use baywright_domain::id::CustomerId;
use baywright_domain::vehicle::{BadVin, Market, OdometerUnit, PaintType, Powertrain, Vin, searchable_registration};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{MarketWord, OdometerWord, PaintWord, PowertrainWord, SizeWord};
use crate::platform::problem::Problem;
use crate::platform::wire::{CountryCode, Line, Reference, Text, Word, integer_or_null};
use crate::vehicle::usecase;

/// What is known of a vehicle.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VehicleBody {
    /// Whose it is.
    customer_id: Reference,
    /// The registration (number plate) as it is written.
    #[serde(default)]
    #[schema(example = "231-D-10101")]
    registration: Option<Line<20>>,
    /// The country of the registration.
    #[serde(default)]
    registration_country: Option<CountryCode>,
    /// Vehicle identification number (ISO 3779), 17 characters.
    #[serde(default)]
    #[schema(example = "1M8GDM9AXKP042788")]
    vin: Option<Line<40>>,
    /// Where it was sold; in North America the check digit of the VIN must be right. `ELSEWHERE` where not said.
    #[serde(default = "elsewhere")]
    #[schema(required = false)]
    market: MarketWord,
    /// The maker.
    #[schema(example = "Corrigan")]
    make: Line<60>,
    /// The model.
    #[schema(example = "Estate 2.0")]
    model: Line<60>,
    /// The year it was made in.
    #[serde(default, deserialize_with = "integer_or_null")]
    #[schema(minimum = 1880, maximum = 2199, example = 2023)]
    year: Option<i32>,
    /// The colour.
    #[serde(default)]
    colour: Option<Line<60>>,
    /// How large it is, for prices and times.
    size_class: SizeWord,
    /// What its paint is; `UNKNOWN` where not said.
    #[serde(default = "unknown_paint")]
    #[schema(required = false)]
    paint_type: PaintWord,
    /// What drives it; `UNKNOWN` where not said, which brings the cautions of high voltage.
    #[serde(default = "unknown_powertrain")]
    #[schema(required = false)]
    powertrain: PowertrainWord,
    /// What its odometer counts; `KM` where not said.
    #[serde(default = "kilometres")]
    #[schema(required = false)]
    odometer_unit: OdometerWord,
    /// What the shop wants to remember.
    #[serde(default)]
    notes: Text<4000>,
}

fn elsewhere() -> MarketWord {
    Word(Market::Elsewhere)
}

fn unknown_paint() -> PaintWord {
    Word(PaintType::Unknown)
}

fn unknown_powertrain() -> PowertrainWord {
    Word(Powertrain::Unknown)
}

fn kilometres() -> OdometerWord {
    Word(OdometerUnit::Kilometres)
}

impl VehicleBody {
    /// Checks what single values can't, and gives what is known.
    pub fn checked(self) -> Result<usecase::Details, Problem> {
        let market = self.market.0;
        let vin = self.vin.map(|written| Vin::parse(written.as_str(), market)).transpose();
        let vin = vin.map_err(|error: BadVin| Problem::field("/vin", "bad_vin", sentence(&error)))?;
        if let Some(plate) = &self.registration
            && searchable_registration(plate.as_str()).is_empty()
        {
            let detail = "Write the registration with its letters and digits, or leave it out.";
            return Err(Problem::field("/registration", "no_characters", detail));
        }
        if self.year.is_some_and(|year| !(1880..=2199).contains(&year)) {
            return Err(Problem::field("/year", "out_of_range", "Write the year with four digits, from 1880 on."));
        }
        Ok(usecase::Details {
            customer_id: CustomerId::new(self.customer_id),
            registration: self.registration.map(String::from),
            country: self.registration_country.map(|code| code.0),
            vin: vin.map(|(vin, _)| vin),
            market,
            make: self.make.into(),
            model: self.model.into(),
            year: self.year,
            colour: self.colour.map(String::from),
            size: self.size_class.0,
            paint: self.paint_type.0,
            powertrain: self.powertrain.0,
            odometer_unit: self.odometer_unit.0,
            notes: self.notes.into(),
        })
    }
}

fn sentence(error: &BadVin) -> String {
    let text = error.to_string();
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", chars.as_str())
}
