//! Lists as text: reading a file into rows of named cells, and writing one.

mod read;
mod write;

use std::collections::BTreeMap;

pub use read::{Columns, read};
pub use write::write;

/// Maximum size of a list that the API accepts, in bytes.
pub const MOST_BYTES: usize = 1 << 20;
/// Maximum number of rows that the API accepts at a time: they are one transaction, for which others wait.
pub const MOST_ROWS: usize = 2_000;

/// A list that was read.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Its rows in order; empty ones are left out.
    pub rows: Vec<Row<Cells>>,
}

/// One row of a list.
#[derive(Debug, Clone)]
pub struct Row<T> {
    /// The line of the file on which it starts, from 1.
    pub line: u64,
    /// The content of the row, or what is wrong with it.
    pub said: Result<T, Vec<CellFault>>,
}

/// Fault of one cell of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellFault {
    /// The column; empty if the fault concerns the whole row.
    pub column: String,
    /// Stable code of the fault.
    pub code: String,
    /// Description of the fault and how to correct it.
    pub detail: String,
}

impl CellFault {
    /// A fault of one cell.
    pub fn new(column: &str, code: &str, detail: impl Into<String>) -> Self {
        Self { column: column.to_owned(), code: code.to_owned(), detail: detail.into() }
    }
}

/// The cells of a row that are not empty, by the names of their columns.
#[derive(Debug, Clone, Default)]
pub struct Cells(BTreeMap<&'static str, String>);

impl Cells {
    /// The content of a cell; `None` if it is empty.
    pub fn get(&self, column: &str) -> Option<&str> {
        self.0.get(column).map(String::as_str)
    }

    /// A cell that names one of the API's words, in any case and with spaces or hyphens between its parts.
    pub fn word(&self, column: &str) -> Option<String> {
        self.get(column).map(|cell| cell.to_uppercase().replace([' ', '-'], "_"))
    }

    /// A cell that holds several texts, with semicolons, commas or line breaks between them.
    pub fn list(&self, column: &str) -> Vec<&str> {
        let parts = self.get(column).unwrap_or_default().split([';', ',', '\n']);
        parts.map(str::trim).filter(|part| !part.is_empty()).collect()
    }
}
