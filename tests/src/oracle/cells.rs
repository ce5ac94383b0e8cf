//! `cells`: rows written as a list, and the same list read back.

use baywright_core::exchange::sheet::{Columns, read, write};
use serde::{Deserialize, Serialize};

use super::Answer;

const NAMES: [&str; 2] = ["first", "second"];

/// Rows of two cells.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    rows: Vec<[String; 2]>,
}

/// The list, and what it says when it is taken in; a cell with nothing in it reads as null.
#[derive(Serialize)]
pub struct Listed {
    csv: String,
    rows: Vec<[Option<String>; 2]>,
}

/// Writes the rows and reads them.
pub fn answer(case: Case) -> Answer<Listed> {
    let count = case.rows.len();
    let csv = write(NAMES, case.rows.into_iter()).map_err(|fail| format!("{fail:?}"))?;
    let sheet = read(csv.as_bytes(), Columns { known: &NAMES, needed: &NAMES }, count).map_err(|no| no.to_string())?;
    let rows = sheet.rows.into_iter().map(|row| {
        let cells = row.said.map_err(|faults| format!("{faults:?}"))?;
        Ok(NAMES.map(|name| cells.get(name).map(str::to_owned)))
    });
    Ok(Listed { csv, rows: rows.collect::<Answer<_>>()? })
}
