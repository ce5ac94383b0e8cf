//! Values of the program as they stand in the columns of a row.
//!
//! A store reads a row in cells, which are the few types that both engines know, and turns each cell into a value of the
//! program by [`Column`]. A cell that no value has is an error that names table, column and row ([`RowId`]); nothing is
//! put in its place.

mod declared;

use baywright_domain::calendar::DayOfWeek;
use baywright_domain::inspection::Grade;
use baywright_domain::learning::Quantile;
use baywright_domain::money::{Money, Percent};
use baywright_domain::schedule::ClockStep;
use baywright_domain::time::{Minute, Minutes};
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::row::RowId;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Stored;

/// A value of the program that is kept in one column.
pub trait Column: Sized {
    /// What both engines keep of it: text, a number or a truth value, or an option of one of these.
    type Cell;

    /// The cell that keeps the value.
    ///
    /// # Errors
    /// A sentence, if the column is too narrow for the value.
    fn to_cell(&self) -> Result<Self::Cell, String>;

    /// The value that a cell keeps.
    ///
    /// # Errors
    /// A sentence that says why no value has such a cell.
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

/// Declares whole numbers without a sign that fit into a column of 32 bits with one.
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

/// Declares whole numbers without a sign for which a column of 32 bits with one may be too narrow.
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

/// A moment, in milliseconds since 1970-01-01T00:00Z.
impl Column for UtcTime {
    type Cell = i64;

    fn to_cell(&self) -> Result<i64, String> {
        Ok(self.ms())
    }

    fn from_cell(cell: i64) -> Result<Self, String> {
        Self::of_ms(cell).ok_or_else(|| format!("{cell} ms is no moment of the calendar"))
    }
}

/// The same as chrono's type, for rules that work with dates.
impl Column for DateTime<Utc> {
    type Cell = i64;

    fn to_cell(&self) -> Result<i64, String> {
        UtcTime::from(*self).to_cell()
    }

    fn from_cell(cell: i64) -> Result<Self, String> {
        UtcTime::from_cell(cell).map(UtcTime::datetime)
    }
}

/// A moment of the schedule, in minutes since 1970-01-01T00:00Z.
impl Column for Minute {
    type Cell = i64;

    fn to_cell(&self) -> Result<i64, String> {
        Ok(self.get())
    }

    fn from_cell(cell: i64) -> Result<Self, String> {
        Ok(Self::new(cell))
    }
}

/// A length of time in minutes.
impl Column for Minutes {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.get().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        u32::from_cell(cell).map(Self::new)
    }
}

/// A day of the week by its number, from 1 for Monday to 7.
impl Column for DayOfWeek {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.number().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        Self::of_number(u8::from_cell(cell)?).ok_or_else(|| format!("{cell} is no day of the week"))
    }
}

/// An amount in minor units of the shop's currency.
impl Column for Money {
    type Cell = i64;

    fn to_cell(&self) -> Result<i64, String> {
        Ok(self.minor())
    }

    fn from_cell(cell: i64) -> Result<Self, String> {
        Ok(Self::from_minor(cell))
    }
}

/// A decimal number as text, with the digits that it was written with.
impl Column for Decimal {
    type Cell = String;

    fn to_cell(&self) -> Result<String, String> {
        Ok(self.to_string())
    }

    fn from_cell(cell: String) -> Result<Self, String> {
        cell.parse().map_err(|_| format!("{cell:?} is no decimal number"))
    }
}

/// A percentage as a decimal number, such as `13.5`.
impl Column for Percent {
    type Cell = String;

    fn to_cell(&self) -> Result<String, String> {
        Ok(self.to_string())
    }

    fn from_cell(cell: String) -> Result<Self, String> {
        Self::new(Decimal::from_cell(cell)?).map_err(|why| why.to_string())
    }
}

/// A day, such as `2026-11-30`.
impl Column for NaiveDate {
    type Cell = String;

    fn to_cell(&self) -> Result<String, String> {
        Ok(self.to_string())
    }

    fn from_cell(cell: String) -> Result<Self, String> {
        cell.parse().map_err(|_| format!("{cell:?} is no day"))
    }
}

/// A grade of soil or contamination, from 0 to 4.
impl Column for Grade {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.get().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        Self::new(u8::from_cell(cell)?).map_err(|why| why.to_string())
    }
}

/// A step of the clock, in minutes.
impl Column for ClockStep {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.minutes().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        Self::new(u8::from_cell(cell)?).map_err(|why| why.to_string())
    }
}

/// How sure a promise is, in percent.
impl Column for Quantile {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.percent().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        Self::new(u8::from_cell(cell)?).map_err(|why| why.to_string())
    }
}

/// Values that are kept as text, in a JSON array.
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

/// The value that JSON text says.
fn from_json_text<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    serde_json::from_str(text).map_err(|why| why.to_string())
}

impl RowId<'_> {
    /// The value that a cell of this row keeps.
    ///
    /// # Errors
    /// [`DbError::Corrupt`](crate::platform::fail::DbError::Corrupt), which names table, column and row, if no value has
    /// such a cell.
    pub fn read<T: Column>(self, column: &str, cell: T::Cell) -> Stored<T> {
        T::from_cell(cell).map_err(|why| self.corrupt(column, why))
    }

    /// What a cell holds that is null only in other states of the record.
    ///
    /// # Errors
    /// Like [`RowId::read`], if it is null.
    pub fn required<T>(self, column: &str, cell: Option<T>) -> Stored<T> {
        cell.ok_or_else(|| self.corrupt(column, "null"))
    }

    /// The value that a cell of JSON text says.
    ///
    /// # Errors
    /// Like [`RowId::read`], if the text is not JSON of that form.
    pub fn read_json<T: DeserializeOwned>(self, column: &str, cell: &str) -> Stored<T> {
        from_json_text(cell).map_err(|why| self.corrupt(column, why))
    }

    /// The cell of this row that keeps a value.
    ///
    /// # Errors
    /// Like [`RowId::read`], if the column is too narrow for the value.
    pub fn write<T: Column>(self, column: &str, value: &T) -> Stored<T::Cell> {
        value.to_cell().map_err(|why| self.corrupt(column, why))
    }

    /// The cell of JSON text that says a value.
    ///
    /// # Errors
    /// Like [`RowId::read`], if the value has no JSON.
    pub fn write_json(self, column: &str, value: &impl Serialize) -> Stored<String> {
        json_text(value).map_err(|why| self.corrupt(column, why))
    }
}
