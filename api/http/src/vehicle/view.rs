//! A vehicle as the API returns it.

use baywright_core::vehicle::usecase::Vehicle;
use serde::Serialize;
use utoipa::ToSchema;

use super::{MarketWord, OdometerWord, PaintWord, PowertrainWord, SizeWord};
use crate::customer::StateWord;
use crate::platform::wire::{CountryCode, Instant, Reference, Text, Word};

/// Vehicle of a customer.
#[derive(Debug, Serialize, ToSchema)]
pub struct VehicleView {
    /// Id of the vehicle.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the customer who owns the vehicle.
    customer_id: Reference,
    /// Registration (number plate) as it is written; null if there is none.
    #[schema(max_length = 20)]
    registration: Option<String>,
    /// Country code of the registration, ISO 3166-1; null if unknown.
    registration_country: Option<CountryCode>,
    /// Vehicle identification number; null if unknown.
    #[schema(max_length = 17)]
    vin: Option<String>,
    /// Market in which the vehicle was sold.
    market: MarketWord,
    /// Make of the vehicle.
    #[schema(max_length = 60)]
    make: String,
    /// Model of the vehicle.
    #[schema(max_length = 60)]
    model: String,
    /// Year in which the vehicle was made; null if unknown.
    #[schema(minimum = 1880, maximum = 2199)]
    year: Option<i32>,
    /// Colour of the vehicle; null if unknown.
    #[schema(max_length = 60)]
    colour: Option<String>,
    /// Size class for prices and times.
    size_class: SizeWord,
    /// Paint type of the vehicle.
    paint_type: PaintWord,
    /// Powertrain of the vehicle.
    powertrain: PowertrainWord,
    /// Unit of the odometer: kilometres or miles.
    odometer_unit: OdometerWord,
    /// Notes that the shop keeps about the vehicle.
    #[schema(max_length = 4000)]
    notes: String,
    /// Warning that the vehicle identification number may be mistyped; null if it looks right.
    #[schema(max_length = 500)]
    vin_warning: Option<String>,
    /// Cautions for any work on the vehicle.
    #[schema(value_type = Vec<Text<1000>>, max_items = 10)]
    cautions: Vec<String>,
    /// State of the record: active, merged into another record, or erased.
    state: StateWord,
    /// Id of the record that this one was merged into; null if it was not merged.
    merged_into: Option<Reference>,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
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
