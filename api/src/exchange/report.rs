//! What became of the rows of a list.

use super::sheet::CellFault;
use crate::platform::refusal::{KnownRecord, Refused};

/// What became of a list. It names lines and records that are there, and repeats nothing of what the list says.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    /// Number of rows there were.
    pub rows: usize,
    /// Number of records that were added.
    pub added: usize,
    /// Rows whose record was there already.
    pub already_here: Vec<Here>,
    /// Rows that were left out because their record may be there already.
    pub known: Vec<Known>,
    /// Rows that were refused.
    pub refused: Vec<Told>,
    /// Rows that were taken in and want a second look.
    pub warnings: Vec<Told>,
}

/// A row whose record was there already.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Here {
    /// The row's line in the file.
    pub line: u64,
    /// The record that was there.
    pub id: String,
}

/// A row that was left out because its record may be there already.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    /// The row's line in the file.
    pub line: u64,
    /// The records that it may be.
    pub records: Vec<KnownRecord>,
}

/// What is to be said of one row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// The row's line in the file.
    pub line: u64,
    /// What is wrong, cell by cell.
    pub faults: Vec<CellFault>,
}

impl Report {
    /// Takes in what became of more rows of the same list.
    pub fn merge(&mut self, more: Self) {
        self.rows += more.rows;
        self.added += more.added;
        self.already_here.extend(more.already_here);
        self.known.extend(more.known);
        self.refused.extend(more.refused);
        self.warnings.extend(more.warnings);
    }
}

/// What a refusal says, cell by cell.
pub(super) fn told(problem: &Refused, column: &impl Fn(&str) -> String) -> Vec<CellFault> {
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
