//! Results of importing the rows of a list.

use super::sheet::CellFault;
use crate::platform::refusal::{KnownRecord, Refused};

/// Result of importing a list. It names lines and existing records, and repeats no content of the list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    /// Number of rows there were.
    pub rows: usize,
    /// Number of records that were added.
    pub added: usize,
    /// Rows whose record already existed.
    pub already_here: Vec<Here>,
    /// Rows that were left out because their record may already exist.
    pub known: Vec<Known>,
    /// Rows that were refused.
    pub refused: Vec<Told>,
    /// Rows that were imported but should be checked.
    pub warnings: Vec<Told>,
}

/// A row whose record already existed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Here {
    /// Line of the file on which the row starts.
    pub line: u64,
    /// Id of the existing record.
    pub id: String,
}

/// A row that was left out because its record may already exist.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    /// Line of the file on which the row starts.
    pub line: u64,
    /// The existing records that it may be about.
    pub records: Vec<KnownRecord>,
}

/// Faults or warnings of one row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Line of the file on which the row starts.
    pub line: u64,
    /// Faults or warnings, cell by cell.
    pub faults: Vec<CellFault>,
}

impl Report {
    /// Adds the results of more rows of the same list.
    pub fn merge(&mut self, more: Self) {
        self.rows += more.rows;
        self.added += more.added;
        self.already_here.extend(more.already_here);
        self.known.extend(more.known);
        self.refused.extend(more.refused);
        self.warnings.extend(more.warnings);
    }
}

/// The faults of a refusal, cell by cell.
pub fn told(problem: &Refused, column: &impl Fn(&str) -> String) -> Vec<CellFault> {
    let faults = problem.errors().iter();
    let cells: Vec<CellFault> = faults
        .map(|fault| CellFault { column: column(&fault.pointer), code: fault.code.clone(), detail: big(&fault.detail) })
        .collect();
    if cells.is_empty() { vec![CellFault::new("", problem.code(), problem.detail())] } else { cells }
}

/// A sentence starts with a capital.
fn big(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_uppercase().collect::<String>() + chars.as_str()).unwrap_or_default()
}
