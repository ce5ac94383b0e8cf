//! A vehicle as it is answered.

use serde::Serialize;
use utoipa::ToSchema;

use super::{MarketWord, OdometerWord, PaintWord, PowertrainWord, SizeWord};
use crate::customer::StateWord;
use crate::platform::wire::{CountryCode, Instant, Reference, Text, Word};
use crate::vehicle::usecase::Vehicle;

/// A vehicle.
#[derive(Debug, Serialize, ToSchema)]
pub struct VehicleView {
    /// The vehicle's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Whose it is.
    customer_id: Reference,
    /// The registration as it is written.
    #[schema(max_length = 20)]
    registration: Option<String>,
    /// The country of the registration.
    registration_country: Option<CountryCode>,
    /// Vehicle identification number.
    #[schema(max_length = 17)]
    vin: Option<String>,
    /// Where it was sold.
    market: MarketWord,
    /// The maker.
    #[schema(max_length = 60)]
    make: String,
    /// The model.
    #[schema(max_length = 60)]
    model: String,
    /// The year it was made in.
    #[schema(minimum = 1880, maximum = 2199)]
    year: Option<i32>,
    /// The colour.
    #[schema(max_length = 60)]
    colour: Option<String>,
    /// How large it is.
    size_class: SizeWord,
    /// What its paint is.
    paint_type: PaintWord,
    /// What drives it.
    powertrain: PowertrainWord,
    /// What its odometer counts.
    odometer_unit: OdometerWord,
    /// What the shop wants to remember.
    #[schema(max_length = 4000)]
    notes: String,
    /// Why the vehicle identification number may be mistyped, or null if nothing is odd about it.
    #[schema(max_length = 500)]
    vin_warning: Option<String>,
    /// What to be careful of, whatever is done to the car.
    #[schema(value_type = Vec<Text<1000>>, max_items = 10)]
    cautions: Vec<String>,
    /// Where the record stands.
    state: StateWord,
    /// Id of the record that goes on in its place, if it was merged into another one.
    merged_into: Option<Reference>,
    /// When the record was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

crate::versioned!(VehicleView);

impl From<Vehicle> for VehicleView {
    fn from(vehicle: Vehicle) -> Self {
        let vin_warning = vehicle.vin_warning().map(|warning| warning.to_string());
        let cautions = vehicle.cautions().iter().map(|caution| caution.text().to_owned()).collect();
        let state = vehicle.state();
        let details = vehicle.details;
        Self {
            id: Reference::from(&vehicle.id),
            version: vehicle.version,
            customer_id: Reference::from(&details.customer_id),
            registration: details.registration,
            registration_country: details.country.map(CountryCode),
            vin: details.vin.map(|vin| vin.to_string()),
            market: Word(details.market),
            make: details.make,
            model: details.model,
            year: details.year,
            colour: details.colour,
            size_class: Word(details.size),
            paint_type: Word(details.paint),
            powertrain: Word(details.powertrain),
            odometer_unit: Word(details.odometer_unit),
            notes: details.notes,
            vin_warning,
            cautions,
            state: Word(state),
            merged_into: vehicle.merged_into.as_ref().map(Reference::from),
            created_at: Instant(vehicle.created_at),
            updated_at: Instant(vehicle.updated_at),
        }
    }
}
