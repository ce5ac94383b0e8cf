//! The list of vehicles: its columns, a row read into what the desk writes down and whose it is, and a vehicle written
//! as a row.

use baywright_domain::customer::Traits;
use serde_json::{Map, json};

use super::row;
use super::sheet::{CellFault, Cells, Columns, Row, read};
use crate::platform::refusal::Refused;
use crate::vehicle::routes::VehicleBody;
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

/// A vehicle as a row says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// What is said of its customer; telephone numbers as typed.
    pub owner: Traits,
    /// What is known; whose it is stands in `owner`, since a list names no ids.
    pub details: Details,
}

/// Stands in a row's body where the customer's id will be.
const NOBODY: &str = "00000000-0000-0000-0000-000000000000";

/// Reads a list of at most `most` vehicles.
pub fn of(bytes: &[u8], most: usize) -> Result<Vec<Row<Listed>>, Refused> {
    let sheet = read(bytes, Columns { known: &COLUMNS, needed: &["make", "model", "size_class"] }, most)?;
    let typed = |row: Row<Cells>| Row { line: row.line, said: row.said.and_then(|cells| listed(&cells)) };
    Ok(sheet.rows.into_iter().map(typed).collect())
}

fn listed(cells: &Cells) -> Result<Listed, Vec<CellFault>> {
    let mut faults = Vec::new();
    let mut fields = Map::new();
    fields.insert("customer_id".to_owned(), json!(NOBODY));
    for name in ["registration", "vin", "make", "model", "colour", "notes"] {
        fields.extend(cells.get(name).map(|cell| (name.to_owned(), json!(cell))));
    }
    for name in ["registration_country", "market", "size_class", "paint_type", "powertrain", "odometer_unit"] {
        fields.extend(cells.word(name).map(|word| (name.to_owned(), json!(word))));
    }
    if let Some(cell) = cells.get("year") {
        match cell.parse::<i32>() {
            Ok(year) => _ = fields.insert("year".to_owned(), json!(year)),
            Err(_) => faults.push(CellFault::new("year", "invalid", "Write the year with four digits.")),
        }
    }
    for (name, detail) in
        [("make", "Write the maker."), ("model", "Write the model."), ("size_class", "Write the size.")]
    {
        if cells.get(name).is_none() {
            faults.push(CellFault::new(name, "missing", detail));
        }
    }
    let owner = Traits {
        reference: cells.get("customer_reference").map(str::to_owned),
        name: cells.get("customer_name").unwrap_or_default().to_owned(),
        emails: cells.list("customer_email").into_iter().map(str::to_owned).collect(),
        phones: cells.list("customer_phone").into_iter().map(str::to_owned).collect(),
    };
    if owner.keys().is_empty() {
        let detail = "Write who owns it: the customer's reference, name, mail address or telephone number.";
        faults.push(CellFault::new("customer_reference", "missing", detail));
    }
    row::typed(fields, faults, column, VehicleBody::checked).map(|details| Listed { owner, details })
}

/// The column behind a pointer into the body of a single creation.
pub(super) fn column(pointer: &str) -> String {
    pointer.trim_start_matches('/').split('/').next().unwrap_or_default().to_owned()
}

/// A vehicle as a row, with what its customer is known by.
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_says_whose_vehicle_it_is_and_what_it_is() {
        let list = "customer_email,make,model,size class,powertrain,year\n\
                    aoife@example.com,Corrigan,Estate,extra large,Electric,2023\n\
                    ,Corrigan,,medium,steam,next";
        let mut rows = of(list.as_bytes(), 9).unwrap();
        let faults = rows.remove(1).said.unwrap_err();
        let columns: Vec<&str> = faults.iter().map(|fault| fault.column.as_str()).collect();
        assert_eq!(columns, ["year", "model", "customer_reference", "powertrain"]);
        let row = rows.remove(0).said.unwrap();
        assert_eq!((row.owner.emails.len(), row.details.size.as_str()), (1, "EXTRA_LARGE"));
    }
}
