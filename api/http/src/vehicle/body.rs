//! Bodies of requests about vehicles.

use baywright_core::platform::faults::Faults;
use baywright_core::platform::refusal::Refused;
use baywright_core::vehicle::usecase;
use baywright_domain::id::CustomerId;
use baywright_domain::vehicle::{
    BadVin, Market, OdometerUnit, PaintType, Powertrain, Vin, is_possible_year, searchable_registration,
};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{MarketWord, OdometerWord, PaintWord, PowertrainWord, SizeWord};
use crate::platform::wire::{CountryCode, Line, Reference, Text, Word, integer_or_null};

/// Details of a vehicle.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VehicleBody {
    /// Id of the customer who owns the vehicle.
    customer_id: Reference,
    /// Registration (number plate) as it is written; null or left out if there is none.
    #[serde(default)]
    #[schema(example = "231-D-10101")]
    registration: Option<Line<20>>,
    /// Country code of the registration, ISO 3166-1; null or left out if unknown.
    #[serde(default)]
    registration_country: Option<CountryCode>,
    /// Vehicle identification number (ISO 3779), 17 characters; null or left out if unknown.
    #[serde(default)]
    #[schema(example = "1M8GDM9AXKP042788")]
    vin: Option<Line<40>>,
    /// Market in which the vehicle was sold; in North America the check digit of the VIN must be right. `ELSEWHERE` if
    /// left out.
    #[serde(default = "elsewhere")]
    #[schema(required = false)]
    market: MarketWord,
    /// Make of the vehicle.
    #[schema(example = "Corrigan")]
    make: Line<60>,
    /// Model of the vehicle.
    #[schema(example = "Estate 2.0")]
    model: Line<60>,
    /// Year in which the vehicle was made; null or left out if unknown.
    #[serde(default, deserialize_with = "integer_or_null")]
    #[schema(minimum = 1880, maximum = 2199, example = 2023)]
    year: Option<i32>,
    /// Colour of the vehicle; null or left out if unknown.
    #[serde(default)]
    colour: Option<Line<60>>,
    /// Size class for prices and times.
    size_class: SizeWord,
    /// Paint type of the vehicle; `UNKNOWN` if left out.
    #[serde(default = "unknown_paint")]
    #[schema(required = false)]
    paint_type: PaintWord,
    /// Powertrain of the vehicle; `UNKNOWN` if left out, which adds the cautions for high voltage.
    #[serde(default = "unknown_powertrain")]
    #[schema(required = false)]
    powertrain: PowertrainWord,
    /// Unit of the odometer: kilometres or miles; `KM` if left out.
    #[serde(default = "kilometres")]
    #[schema(required = false)]
    odometer_unit: OdometerWord,
    /// Notes that the shop keeps about the vehicle.
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
    /// Checks rules that concern several values, and returns the details.
    ///
    /// # Errors
    /// 422 with every fault.
    pub fn checked(self) -> Result<usecase::Details, Refused> {
        let market = self.market.0;
        let mut faults = Faults::default();
        let vin = self.vin.as_ref().map(|written| Vin::parse(written.as_str(), market)).transpose();
        let vin = vin.map_err(|error: BadVin| Refused::field("/vin", "bad_vin", sentence(&error)));
        let vin = faults.note(vin.map(|read| read.map(|(vin, _)| vin)));
        faults.note(self.legible_registration());
        faults.note(self.possible_year());
        let vin = faults.all_or(vin)?;
        Ok(usecase::Details {
            customer_id: CustomerId::new(self.customer_id),
            registration: self.registration.map(String::from),
            country: self.registration_country.map(|code| code.0),
            vin,
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

    fn legible_registration(&self) -> Result<(), Refused> {
        if let Some(plate) = &self.registration
            && searchable_registration(plate.as_str()).is_empty()
        {
            let detail = "Write the registration with its letters and digits, or leave it out.";
            return Err(Refused::field("/registration", "no_characters", detail));
        }
        Ok(())
    }

    fn possible_year(&self) -> Result<(), Refused> {
        if self.year.is_some_and(|year| !is_possible_year(year)) {
            return Err(Refused::field("/year", "out_of_range", "Write the year with four digits, from 1880 on."));
        }
        Ok(())
    }
}

fn sentence(error: &BadVin) -> String {
    let text = error.to_string();
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", chars.as_str())
}
