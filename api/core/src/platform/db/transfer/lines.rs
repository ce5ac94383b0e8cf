//! Rows as lines of JSON: read in the order of their key, written in batches, and summed.

use std::collections::BTreeMap;

use diesel::connection::DefaultLoadingMode;
use diesel::pg::PgRowByRowLoadingMode;
use diesel::sql_types::Text;
use diesel::{QueryableByName, RunQueryDsl, sql_query};
use serde_json::Value;
use sha2::{Digest, Sha256};

use super::Sum;
use crate::platform::canonical::hex;
use crate::platform::db::conn::Conn;
use crate::platform::db::table::{Kind, Table, quoted};
use crate::platform::fail::{DbError, Stored};

/// Maximum number of rows that one statement writes.
const BATCH_ROWS: usize = 1000;
/// Bytes of JSON after which a batch is full; a longer row is a batch of its own.
const BATCH_BYTES: usize = 1 << 20;

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

/// Passes each row of the table to `f` as one line of JSON, in the order of its primary key. No engine has to return
/// all of them at once.
pub(super) fn each(conn: &mut Conn, table: &Table, mut f: impl FnMut(&str) -> Stored<()>) -> Stored<()> {
    let name = quoted(&table.name);
    match conn {
        Conn::Sqlite(inner) => {
            let object = table.object();
            let key: Vec<String> = table.key.iter().map(|column| quoted(column)).collect();
            let query = format!("SELECT {object} AS line FROM {name} ORDER BY {}", key.join(", "));
            for line in sql_query(query).load_iter::<Line, DefaultLoadingMode>(inner)? {
                f(&line?.line)?;
            }
        }
        Conn::Pg(inner) => {
            let list = table.list();
            // Text by its bytes, as SQLite orders it, whatever language the server sorts by.
            let by_bytes = |column: &String| {
                let is_text = table.columns.iter().any(|(name, kind)| name == column && *kind == Kind::Text);
                if is_text { format!("{} COLLATE \"C\"", quoted(column)) } else { quoted(column) }
            };
            let key: Vec<String> = table.key.iter().map(by_bytes).collect();
            let query = format!(
                "SELECT row_to_json(r)::text AS line FROM (SELECT {list} FROM {name} ORDER BY {}) r",
                key.join(", ")
            );
            for line in sql_query(query).load_iter::<Line, PgRowByRowLoadingMode>(inner)? {
                f(&line?.line)?;
            }
        }
    }
    Ok(())
}

/// The statement that writes the rows of a JSON array of objects to the table.
pub(super) fn insert(conn: &Conn, table: &Table) -> String {
    let (name, columns) = (quoted(&table.name), listed(table, |name, _| quoted(name)));
    match conn {
        Conn::Sqlite(_) => {
            let values = listed(table, |name, kind| match kind {
                Kind::Bytes => format!("unhex(line ->> '{name}')"),
                Kind::Text | Kind::Truth | Kind::Whole | Kind::Other => format!("line ->> '{name}'"),
            });
            // Each line is cut out of the array once, and not for each of its columns.
            let given = "WITH given (line) AS MATERIALIZED (SELECT value FROM json_each(?))";
            format!("INSERT INTO {name} ({columns}) {given} SELECT {values} FROM given")
        }
        Conn::Pg(_) => {
            let values = listed(table, |name, kind| match kind {
                Kind::Bytes => format!("decode(\"{name}\", 'hex')"),
                Kind::Text | Kind::Truth | Kind::Whole | Kind::Other => quoted(name),
            });
            let read = listed(table, |name, kind| match kind {
                Kind::Truth => format!("\"{name}\" boolean"),
                Kind::Whole => format!("\"{name}\" bigint"),
                Kind::Text | Kind::Bytes | Kind::Other => format!("\"{name}\" text"),
            });
            format!("INSERT INTO {name} ({columns}) SELECT {values} FROM json_to_recordset($1::json) AS given ({read})")
        }
    }
}

/// The part of a statement for each column, separated by commas.
fn listed(table: &Table, column: impl Fn(&str, Kind) -> String) -> String {
    table.columns.iter().map(|(name, kind)| column(name, *kind)).collect::<Vec<_>>().join(", ")
}

/// Rows to be written, as a JSON array that is not closed yet.
#[derive(Default)]
pub(super) struct Batch {
    text: String,
    rows: usize,
}

impl Batch {
    pub(super) fn push(&mut self, line: &str) {
        self.text.push(if self.rows == 0 { '[' } else { ',' });
        self.text.push_str(line);
        self.rows += 1;
    }

    pub(super) fn is_full(&self) -> bool {
        self.rows >= BATCH_ROWS || self.text.len() >= BATCH_BYTES
    }

    /// Writes the rows, if there are any, and starts a new batch; returns how many were written.
    pub(super) fn write(&mut self, to: &mut Conn, statement: &str) -> Stored<usize> {
        if self.rows == 0 {
            return Ok(0);
        }
        self.text.push(']');
        let query = sql_query(statement).bind::<Text, _>(self.text.as_str());
        let written = match to {
            Conn::Sqlite(inner) => query.execute(inner)?,
            Conn::Pg(inner) => query.execute(inner)?,
        };
        if written != self.rows {
            return Err(DbError::Corrupt(format!("of {} rows {written} were written", self.rows)));
        }
        self.text.clear();
        self.rows = 0;
        Ok(written)
    }
}

/// A digest over rows that come one after the other.
///
/// It is computed from each row as JSON with sorted names, whole numbers unchanged, bytes as hex and booleans as numbers.
/// The line is parsed and written again for it, so that an engine may escape and space its JSON as it likes.
#[derive(Default)]
pub(super) struct Summing {
    rows: usize,
    sum: Sha256,
}

impl Summing {
    pub(super) fn add(&mut self, line: &str) -> Stored<()> {
        let corrupt = |error: serde_json::Error| DbError::Corrupt(error.to_string());
        let row: BTreeMap<String, Value> = serde_json::from_str(line).map_err(corrupt)?;
        self.sum.update(serde_json::to_vec(&row).map_err(corrupt)?);
        self.sum.update(b"\n");
        self.rows += 1;
        Ok(())
    }

    pub(super) fn finish(self, table: &Table) -> Sum {
        Sum { table: table.name.clone(), rows: self.rows, digest: hex(&self.sum.finalize()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sum(lines: &[&str]) -> String {
        let mut summing = Summing::default();
        for line in lines {
            summing.add(line).unwrap();
        }
        hex(&summing.sum.finalize())
    }

    #[test]
    fn a_sum_minds_values_and_their_order_and_not_how_json_is_written() {
        let one = r#"{"a":"\u00e9","b":9007199254740993}"#;
        assert_eq!(sum(&[one]), sum(&[r#"{ "b": 9007199254740993, "a": "é" }"#]));
        for other in [r#"{"a":"é","b":9007199254740992}"#, r#"{"a":"é","b":null}"#, r#"{"a":"e","b":9007199254740993}"#]
        {
            assert_ne!(sum(&[one]), sum(&[other]));
            assert_ne!(sum(&[one, other]), sum(&[other, one]));
        }
    }
}
