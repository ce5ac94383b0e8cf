//! A row of the list of customers, read as the desk's body of a single creation.

use baywright_core::exchange::customers::{ADDRESS_LINES, COLUMNS, Listed, column, consent_column};
use baywright_core::exchange::sheet::{CellFault, Cells, Columns, Row, read};
use baywright_core::platform::refusal::Refused;
use baywright_domain::customer::ConsentKind;
use serde_json::{Map, Value, json};

use super::row;
use crate::customer::CustomerBody;

/// Reads a list of at most `most` customers.
pub fn of(bytes: &[u8], most: usize) -> Result<Vec<Row<Listed>>, Refused> {
    let sheet = read(bytes, Columns { known: &COLUMNS, needed: &["name"] }, most)?;
    let typed = |row: Row<Cells>| Row { line: row.line, said: row.said.and_then(|cells| listed(&cells)) };
    Ok(sheet.rows.into_iter().map(typed).collect())
}

fn listed(cells: &Cells) -> Result<Listed, Vec<CellFault>> {
    let mut faults = Vec::new();
    let mut fields = Map::new();
    for name in ["reference", "name", "contact_name", "vat_id", "language", "notes"] {
        fields.extend(cells.get(name).map(|cell| (name.to_owned(), json!(cell))));
    }
    for name in ["kind", "prices"] {
        fields.extend(cells.word(name).map(|word| (name.to_owned(), json!(word))));
    }
    for name in ["emails", "phones"] {
        fields.insert(name.to_owned(), json!(cells.list(name)));
    }
    if cells.get("name").is_none() {
        faults.push(CellFault::new("name", "missing", "Write the name."));
    }
    match cells.word("purchase_order_required").as_deref() {
        None => {}
        Some("YES" | "TRUE" | "1") => _ = fields.insert("purchase_order_required".to_owned(), json!(true)),
        Some("NO" | "FALSE" | "0") => _ = fields.insert("purchase_order_required".to_owned(), json!(false)),
        Some(_) => faults.push(CellFault::new("purchase_order_required", "invalid", "Write yes or no.")),
    }
    fields.extend(address(cells, &mut faults).map(|address| ("address".to_owned(), address)));
    let consents = consents(cells, &mut faults);
    let given: Vec<ConsentKind> = consents.iter().map(|(kind, _)| *kind).collect();
    fields.insert("consents".to_owned(), consents.into_iter().map(|(_, consent)| consent).collect());
    let column = |pointer: &str| column(pointer, cells, &given);
    row::typed(fields, faults, column, |body: CustomerBody| {
        let (details, consents) = body.checked()?;
        Ok(Listed { details, consents })
    })
}

fn address(cells: &Cells, faults: &mut Vec<CellFault>) -> Option<Value> {
    let others = ["city", "postcode", "region", "country"];
    if ADDRESS_LINES.iter().chain(&others).all(|name| cells.get(name).is_none()) {
        return None;
    }
    let mut address = Map::new();
    let lines: Vec<&str> = ADDRESS_LINES.iter().filter_map(|name| cells.get(name)).collect();
    address.insert("lines".to_owned(), json!(lines));
    for name in ["city", "postcode", "region"] {
        address.extend(cells.get(name).map(|cell| (name.to_owned(), json!(cell))));
    }
    address.extend(cells.word("country").map(|code| ("country".to_owned(), json!(code))));
    let mut whole = !lines.is_empty();
    if lines.is_empty() {
        faults.push(CellFault::new(ADDRESS_LINES[0], "missing", "Write the street, or leave the whole address out."));
    }
    for name in ["city", "country"] {
        if cells.get(name).is_none() {
            let detail = format!("Write the {name}, or leave the whole address out.");
            faults.push(CellFault::new(name, "missing", detail));
            whole = false;
        }
    }
    whole.then_some(Value::Object(address))
}

fn consents(cells: &Cells, faults: &mut Vec<CellFault>) -> Vec<(ConsentKind, Value)> {
    let mut given = Vec::new();
    for kind in ConsentKind::ALL {
        let name = consent_column(*kind);
        match (cells.get(&name), cells.get(&format!("{name}_at"))) {
            (Some(how), at) => {
                let mut consent = json!({ "kind": kind.as_str(), "how": how });
                if let Some(at) = at {
                    // A date alone stands for the start of that day.
                    let day = at.len() == "2026-03-28".len();
                    consent["given_at"] = json!(if day { format!("{at}T00:00:00Z") } else { at.to_owned() });
                }
                given.push((*kind, consent));
            }
            (None, Some(_)) => {
                let detail = "Write how the consent was given, such as by phone, or remove its date.";
                faults.push(CellFault::new(&name, "missing", detail));
            }
            (None, None) => {}
        }
    }
    given
}

#[cfg(test)]
mod tests {
    use baywright_core::platform::clock::UtcTime;

    use super::*;

    fn faults(list: &str) -> Vec<(String, String)> {
        let rows = of(list.as_bytes(), 9).unwrap();
        let faults = rows.into_iter().flat_map(|row| row.said.err().unwrap_or_default());
        faults.map(|fault| (fault.column, fault.detail)).collect()
    }

    #[test]
    fn every_faulty_cell_of_a_row_is_told() {
        let list = "name,kind,emails,address_line_2,city,country,vat_id,purchase_order_required,consent_mail_at\n\
                    ,shop,a@b; c@d.example; x,\"\u{1}\",Cork,XX,1,perhaps,2026-03-01";
        let columns: Vec<String> = faults(list).into_iter().map(|(column, _)| column).collect();
        let expected = ["name", "purchase_order_required", "consent_mail"];
        assert_eq!(columns[..3], expected, "{columns:?}");
        for column in ["kind", "emails", "address_line_2"] {
            assert!(columns.contains(&column.to_owned()), "{column}: {columns:?}");
        }
    }

    #[test]
    fn half_an_address_says_what_is_missing() {
        let list = "name,city,country\nAoife Byrne,Cork,\n";
        let columns: Vec<String> = faults(list).into_iter().map(|(column, _)| column).collect();
        assert_eq!(columns, ["address_line_1", "country"]);
    }

    #[test]
    fn a_row_becomes_what_the_desk_would_write_down() {
        let list = "name;kind;phones;consent_phone;consent_phone_at;purchase_order_required;country;city;address_line_1\n\
                    Quay Motors;Trade;+353 20 910 0111, +353 20 910 0112;by phone;2026-02-01;Yes;ie;Galway;Unit 9";
        let row = of(list.as_bytes(), 9).unwrap().remove(0).said.unwrap();
        assert_eq!(row.details.kind.as_str(), "TRADE");
        assert_eq!(row.details.phones.len(), 2);
        assert!(row.details.purchase_order_required);
        assert_eq!(row.details.address.unwrap().country.to_string(), "IE");
        let consent = &row.consents[0];
        assert_eq!((consent.how.as_str(), consent.given_at), ("by phone", UtcTime::parse("2026-02-01T00:00:00Z")));
    }
}
