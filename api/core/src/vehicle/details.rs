//! Details of a vehicle, as the use cases read them.

use baywright_domain::caution::Caution;
use baywright_domain::country::Country;
use baywright_domain::id::{CustomerId, VehicleId};
use baywright_domain::merge::RecordState;
use baywright_domain::search::Words;
use baywright_domain::vehicle::{Market, OdometerUnit, PaintType, Powertrain, SizeClass, Traits, Vin, VinWarning};

use crate::platform::clock::UtcTime;
use crate::search::usecase::Hit;

/// Details of a vehicle that the desk enters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// Id of the customer who owns the vehicle.
    pub customer_id: CustomerId,
    /// The registration (number plate) as written.
    pub registration: Option<String>,
    /// The country of the registration.
    pub country: Option<Country>,
    /// The vehicle identification number.
    pub vin: Option<Vin>,
    /// Market in which it was sold, which decides whether the check digit of the number must be right.
    pub market: Market,
    /// Make of the vehicle.
    pub make: String,
    /// Model of the vehicle.
    pub model: String,
    /// Year in which it was made.
    pub year: Option<i32>,
    /// Colour of the vehicle.
    pub colour: Option<String>,
    /// Size class of the vehicle.
    pub size: SizeClass,
    /// Paint type of the vehicle.
    pub paint: PaintType,
    /// Powertrain of the vehicle.
    pub powertrain: Powertrain,
    /// Unit of its odometer.
    pub odometer_unit: OdometerUnit,
    /// Notes of the shop.
    pub notes: String,
}

impl Details {
    /// Name of the vehicle: maker and model.
    pub fn name(&self) -> String {
        format!("{} {}", self.make, self.model)
    }

    /// Name of the vehicle with its colour, as far as that is known.
    pub fn name_with_colour(&self) -> String {
        match &self.colour {
            Some(colour) => format!("{}, {colour}", self.name()),
            None => self.name(),
        }
    }

    /// The details that distinguish it from other vehicles of its customer.
    pub fn traits(&self) -> Traits {
        Traits {
            vin: self.vin.clone(),
            registration: self.registration.clone(),
            country: self.country,
            make: self.make.clone(),
            model: self.model.clone(),
            year: self.year,
            colour: self.colour.clone(),
        }
    }
}

/// The current state of a vehicle.
#[derive(Debug, Clone)]
pub struct Vehicle {
    /// The vehicle's id.
    pub id: VehicleId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Details of the vehicle.
    pub details: Details,
    /// The record that replaces this one after a merge.
    pub merged_into: Option<VehicleId>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

impl Vehicle {
    /// State of the record.
    pub fn state(&self) -> RecordState {
        if self.merged_into.is_some() { RecordState::Merged } else { RecordState::Active }
    }

    /// Name of the vehicle: make, model and registration.
    pub fn label(&self) -> String {
        let name = self.details.name();
        match &self.details.registration {
            Some(plate) => format!("{name}, {plate}"),
            None => name,
        }
    }

    /// Warnings about details that may be wrong.
    pub fn vin_warning(&self) -> Option<VinWarning> {
        let vin = self.details.vin.as_ref()?;
        Vin::parse(vin.as_str(), self.details.market).ok().and_then(|(_, warning)| warning)
    }

    /// Cautions for any work on it.
    pub fn cautions(&self) -> Vec<Caution> {
        self.details.powertrain.cautions()
    }

    /// Words by which the vehicle is found, also those of records that were merged into this one.
    pub(super) fn found_as(&self, merged: &[Self]) -> (Hit, Words) {
        let details = &self.details;
        let words = [self].into_iter().chain(merged).fold(Words::new(), |words, one| one.details.words(words));
        let title = details.registration.clone().unwrap_or_else(|| self.label());
        let detail = details.name_with_colour();
        (Hit { kind: "vehicle".to_owned(), id: self.id.to_string(), title, detail }, words)
    }
}

impl Details {
    /// Adds the words under which it is found.
    fn words(&self, mut words: Words) -> Words {
        let details = self;
        if let Some(plate) = &details.registration {
            words = words.plate(plate);
        }
        if let Some(vin) = &details.vin {
            // People read out the end of the number, so it is indexed from each of its last eight characters on.
            let end = vin.as_str().char_indices().nth(9).map_or("", |(at, _)| &vin.as_str()[at..]);
            words = words.text(vin.as_str()).plate(end);
        }
        words.text(&details.make).text(&details.model)
    }
}
