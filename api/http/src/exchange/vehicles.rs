//! A row of the list of vehicles, read as the desk's body of a single creation.

use baywright_core::exchange::sheet::{CellFault, Cells, Columns, Row, read};
use baywright_core::exchange::vehicles::{COLUMNS, Listed, column};
use baywright_core::platform::refusal::Refused;
use baywright_domain::customer::Traits;
use serde_json::{Map, json};

use super::row;
use crate::vehicle::VehicleBody;

/// Placeholder in a row's body for the customer's id.
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
        let detail = "Write who owns it: the customer's reference, name, email address or telephone number.";
        faults.push(CellFault::new("customer_reference", "missing", detail));
    }
    row::typed(fields, faults, column, VehicleBody::checked).map(|details| Listed { owner, details })
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
