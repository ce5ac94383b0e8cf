//! Values of the program in the columns of a row.
//!
//! A store reads a row in cells, which are the few types that both engines know, and turns each cell into a value of
//! the program with [`Column`]. A cell that is not a valid value is an error that names table, column and row
//! ([`RowId`]); no default replaces it.
//!
//! Diesel's own `FromSql` would name the column of a bad cell but not its row, and its `AsExpression` can't be
//! implemented here for types of the domain. So diesel sees only text, numbers and booleans.

mod amounts;
mod declared;
mod times;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::row::RowId;
use crate::platform::fail::Stored;

/// A value of the program that is stored in one column.
pub trait Column: Sized {
    /// Type that both engines store: text, a number or a boolean, or an option of one of these.
    type Cell;

    /// The cell for the value.
    ///
    /// # Errors
    /// A sentence, if the column is too narrow for the value.
    fn to_cell(&self) -> Result<Self::Cell, String>;

    /// The value of a cell.
    ///
    /// # Errors
    /// A sentence that says why the cell is not a valid value.
    fn from_cell(cell: Self::Cell) -> Result<Self, String>;
}

/// A column that can be null.
impl<T: Column> Column for Option<T> {
    type Cell = Option<T::Cell>;

    fn to_cell(&self) -> Result<Self::Cell, String> {
        self.as_ref().map(T::to_cell).transpose()
    }

    fn from_cell(cell: Self::Cell) -> Result<Self, String> {
        cell.map(T::from_cell).transpose()
    }
}

impl Column for String {
    type Cell = Self;

    fn to_cell(&self) -> Result<Self, String> {
        Ok(self.clone())
    }

    fn from_cell(cell: Self) -> Result<Self, String> {
        Ok(cell)
    }
}

/// Declares types that both engines know themselves.
macro_rules! plain {
    ($($type:ty),+ $(,)?) => {$(
        impl Column for $type {
            type Cell = $type;

            fn to_cell(&self) -> Result<$type, String> {
                Ok(*self)
            }

            fn from_cell(cell: $type) -> Result<Self, String> {
                Ok(cell)
            }
        }
    )+};
}

plain!(bool, i32, i64);

/// Declares unsigned integers that fit into a signed column of 32 bits.
macro_rules! small {
    ($($type:ty),+ $(,)?) => {$(
        impl Column for $type {
            type Cell = i32;

            fn to_cell(&self) -> Result<i32, String> {
                Ok(i32::from(*self))
            }

            fn from_cell(cell: i32) -> Result<Self, String> {
                Self::try_from(cell).map_err(|_| format!("{cell} is out of range"))
            }
        }
    )+};
}

small!(u8, u16);

/// Declares unsigned integers that may be too large for a signed column of 32 bits.
macro_rules! counts {
    ($($type:ty),+ $(,)?) => {$(
        impl Column for $type {
            type Cell = i32;

            fn to_cell(&self) -> Result<i32, String> {
                i32::try_from(*self).map_err(|_| format!("{self} is out of range"))
            }

            fn from_cell(cell: i32) -> Result<Self, String> {
                Self::try_from(cell).map_err(|_| format!("{cell} is out of range"))
            }
        }
    )+};
}

counts!(u32, usize);

/// Values that are stored as text in a JSON array.
impl<T: Column<Cell = String>> Column for Vec<T> {
    type Cell = String;

    fn to_cell(&self) -> Result<String, String> {
        let texts: Vec<String> = self.iter().map(T::to_cell).collect::<Result<_, _>>()?;
        json_text(&texts)
    }

    fn from_cell(cell: String) -> Result<Self, String> {
        let texts: Vec<String> = from_json_text(&cell)?;
        texts.into_iter().map(T::from_cell).collect()
    }
}

/// The JSON text of a value, for columns that hold JSON.
fn json_text(value: &impl Serialize) -> Result<String, String> {
    serde_json::to_string(value).map_err(|why| why.to_string())
}

/// The value of a JSON text.
fn from_json_text<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    serde_json::from_str(text).map_err(|why| why.to_string())
}

impl RowId<'_> {
    /// The value of a cell of this row.
    ///
    /// # Errors
    /// [`DbError::Corrupt`](crate::platform::fail::DbError::Corrupt), which names table, column and row, if the cell is
    /// not a valid value.
    pub fn read<T: Column>(self, column: &str, cell: T::Cell) -> Stored<T> {
        T::from_cell(cell).map_err(|why| self.corrupt(column, why))
    }

    /// The value of a cell that is null only in other states of the record.
    ///
    /// # Errors
    /// Like [`RowId::read`], also if it is null.
    pub fn required<T>(self, column: &str, cell: Option<T>) -> Stored<T> {
        cell.ok_or_else(|| self.corrupt(column, "null"))
    }

    /// The value of a cell with JSON text.
    ///
    /// # Errors
    /// Like [`RowId::read`], if the text is not JSON of that form.
    pub fn read_json<T: DeserializeOwned>(self, column: &str, cell: &str) -> Stored<T> {
        from_json_text(cell).map_err(|why| self.corrupt(column, why))
    }

    /// The cell of this row for a value.
    ///
    /// # Errors
    /// Like [`RowId::read`], if the column is too narrow for the value.
    pub fn write<T: Column>(self, column: &str, value: &T) -> Stored<T::Cell> {
        value.to_cell().map_err(|why| self.corrupt(column, why))
    }

    /// The cell with the JSON text of a value.
    ///
    /// # Errors
    /// Like [`RowId::read`], if the value has no JSON.
    pub fn write_json(self, column: &str, value: &impl Serialize) -> Stored<String> {
        json_text(value).map_err(|why| self.corrupt(column, why))
    }
}
