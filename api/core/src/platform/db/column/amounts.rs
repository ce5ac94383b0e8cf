//! Money, numbers and shares in columns.

use baywright_domain::inspection::Grade;
use baywright_domain::learning::Quantile;
use baywright_domain::money::{Money, Percent};
use rust_decimal::Decimal;

use super::Column;

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

/// Quantile of a promise, in percent.
impl Column for Quantile {
    type Cell = i32;

    fn to_cell(&self) -> Result<i32, String> {
        self.percent().to_cell()
    }

    fn from_cell(cell: i32) -> Result<Self, String> {
        Self::new(u8::from_cell(cell)?).map_err(|why| why.to_string())
    }
}
