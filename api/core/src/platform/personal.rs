//! Personal data that features hold about a customer: finding its rows, and erasing it.
//!
//! Every feature with rows about a customer has a [`Holder`] in `features::holders`. A customer who asks gets all
//! columns of its rows, so that a new column is never left out; and its `forget` blanks them when the customer is
//! erased.

use std::collections::BTreeMap;

use baywright_domain::customer::Kept;
use baywright_domain::id::CustomerId;
use chrono::NaiveDate;
use serde_json::Value;

use super::fail::Done;
use super::tx::Tx;

/// Rows about a customer: those of `table` whose `column` contains one of `of`.
#[derive(Debug, Clone, Copy)]
pub struct Held {
    /// The table.
    pub table: &'static str,
    /// The column that says to which record a row belongs.
    pub column: &'static str,
    /// Kind of record that the column names.
    pub of: Of,
}

/// Record by which a row of a customer is found.
#[derive(Debug, Clone, Copy)]
pub enum Of {
    /// The customer's own id.
    Customer,
    /// The id of a row of that table, which was found before.
    Row(&'static str),
    /// The id of any row that was found before.
    AnyRow,
    /// The content of that column of that table in rows that were found before: an id, or a JSON list of ids.
    Named(&'static str, &'static str),
}

impl Held {
    /// Rows of `table` that name the customer.
    pub const fn of_customer(table: &'static str) -> Self {
        Self { table, column: "customer_id", of: Of::Customer }
    }

    /// Rows of `table` whose `column` names a row of `other`.
    pub const fn of_row(table: &'static str, column: &'static str, other: &'static str) -> Self {
        Self { table, column, of: Of::Row(other) }
    }
}

/// The personal data that one feature holds, and how it erases it.
#[derive(Clone, Copy)]
pub struct Holder {
    /// The feature.
    pub feature: &'static str,
    /// Its rows, each table after those it refers to.
    pub held: &'static [Held],
    /// Erases the data of a customer who was just erased, as far as it may be erased.
    pub forget: fn(&mut Tx<'_>, &Leaving) -> Done<Left>,
}

/// Returns those of the given photographs that a feature's rows show.
pub type Shows = fn(&mut Tx<'_>, &[String]) -> Done<Vec<String>>;

/// A customer who is being erased, with all their rows that were found before.
#[derive(Debug, Clone)]
pub struct Leaving {
    /// Id of the customer.
    pub customer: CustomerId,
    /// The rows of each table, as JSON objects of their columns.
    pub rows: BTreeMap<&'static str, Vec<Value>>,
    /// The years for which the shop keeps tax records.
    pub keep_years: u8,
    /// The features that show photographs. A photograph that they still show belongs to another customer as well.
    pub photos_shown_by: Vec<Shows>,
}

impl Leaving {
    /// The texts in a column of a table's rows, including the texts in JSON lists.
    pub fn named(&self, table: &str, column: &str) -> Vec<String> {
        let rows = self.rows.get(table).map(Vec::as_slice).unwrap_or_default();
        let mut named = Vec::new();
        for text in rows.iter().filter_map(|row| row.get(column)).filter_map(Value::as_str) {
            match serde_json::from_str::<Vec<String>>(text) {
                Ok(list) => named.extend(list),
                Err(_) => named.push(text.to_owned()),
            }
        }
        named
    }

    /// Ids of the rows of a table.
    pub fn ids(&self, table: &str) -> Vec<String> {
        self.named(table, "id")
    }

    /// Ids of all rows.
    pub fn all_ids(&self) -> Vec<String> {
        self.rows.keys().flat_map(|table| self.ids(table)).collect()
    }
}

/// Result of a feature's erasure.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Left {
    /// Records that must be kept, with the last day of that.
    pub kept: Vec<(Kept, NaiveDate)>,
    /// Paths of files below the folder of the shop's photographs, to be deleted after the transaction has ended.
    pub files: Vec<String>,
    /// Ids of mails, whose files are to be deleted then too.
    pub mails: Vec<String>,
}
