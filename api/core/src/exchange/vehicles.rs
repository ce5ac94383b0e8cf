//! The list of vehicles: its columns, a row that was read with its owner, and a vehicle written as a row.

use baywright_domain::customer::Traits;

use crate::vehicle::usecase::{Details, Vehicle};

/// The columns, in the order in which they are written.
pub const COLUMNS: [&str; 17] = [
    "customer_reference",
    "customer_name",
    "customer_email",
    "customer_phone",
    "registration",
    "registration_country",
    "vin",
    "market",
    "make",
    "model",
    "year",
    "colour",
    "size_class",
    "paint_type",
    "powertrain",
    "odometer_unit",
    "notes",
];

/// A vehicle as a row describes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Details of its customer; telephone numbers as typed.
    pub owner: Traits,
    /// Details of the vehicle; its customer is in `owner`, since a list contains no ids.
    pub details: Details,
}

/// The column for a pointer into the body of a single creation.
pub fn column(pointer: &str) -> String {
    pointer.trim_start_matches('/').split('/').next().unwrap_or_default().to_owned()
}

/// A vehicle as a row, with the details that identify its customer.
pub fn cells(vehicle: &Vehicle, owner: &Traits) -> [String; 17] {
    let details = &vehicle.details;
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    [
        text(&owner.reference),
        owner.name.clone(),
        owner.emails.first().cloned().unwrap_or_default(),
        owner.phones.first().cloned().unwrap_or_default(),
        text(&details.registration),
        details.country.map(|country| country.to_string()).unwrap_or_default(),
        details.vin.as_ref().map(ToString::to_string).unwrap_or_default(),
        details.market.as_str().to_owned(),
        details.make.clone(),
        details.model.clone(),
        details.year.map(|year| year.to_string()).unwrap_or_default(),
        text(&details.colour),
        details.size.as_str().to_owned(),
        details.paint.as_str().to_owned(),
        details.powertrain.as_str().to_owned(),
        details.odometer_unit.as_str().to_owned(),
        details.notes.clone(),
    ]
}
