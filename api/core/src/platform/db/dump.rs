//! All rows of one shop, table by table, as lines of JSON that are the same on both engines.
//!
//! Names of tables and columns come from the engine's own catalogue; nothing from outside becomes part of a query.

use std::io;

use baywright_domain::id::ShopId;
use diesel::connection::DefaultLoadingMode;
use diesel::sql_types::Text;
use diesel::{QueryableByName, RunQueryDsl, sql_query};
use serde_json::Value;

use super::conn::Conn;
use super::dialect;
pub use super::table::Table;
use super::table::{self, quoted};
use crate::platform::fail::{DbError, Stored};

/// Tables that hold secrets of sign-ins, or data that the program can compute again from other tables.
const LEFT_OUT: [&str; 10] = [
    "clock_run",
    "erased_key_secret",
    "idempotency",
    "invite",
    "known_address",
    "refresh_token",
    "search_subject",
    "search_word",
    "session",
    "sign_in_attempt",
];

/// Columns that hold secrets: digests against which a password or the token of a link is checked.
const SECRET: [&str; 2] = ["password_hash", "token_hash"];

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

/// Lets the transaction that is open take as long as it needs, for a command that reads all rows of a large shop.
pub fn take_time(conn: &mut Conn) -> Stored<()> {
    Ok(dialect::unhurried_here(conn)?)
}

/// The tables that hold a shop's records, by name.
pub fn tables(conn: &mut Conn) -> Stored<Vec<Table>> {
    let mut tables = every_table(conn)?;
    tables.retain(|table| !LEFT_OUT.contains(&table.name.as_str()));
    Ok(tables)
}

/// All tables with rows of shops, including those that [`tables`] leaves out, without columns that hold secrets.
pub fn every_table(conn: &mut Conn) -> Stored<Vec<Table>> {
    let mut tables = table::all(conn)?;
    tables.retain(|table| table.name == "shop" || table.has("shop_id"));
    for table in &mut tables {
        table.columns.retain(|(name, _)| !SECRET.contains(&name.as_str()));
    }
    Ok(tables)
}

/// The column that says to which shop a row belongs.
fn owner(table: &Table) -> &'static str {
    if table.name == "shop" { "id" } else { "shop_id" }
}

/// The column by which rows are ordered.
fn order(table: &Table) -> String {
    table.columns().next().map_or_else(|| owner(table).to_owned(), quoted)
}

/// Gives each row of the shop in the table to `f`, in the order of its first column, as one line of JSON; stops at the first
/// error of `f`.
pub fn rows(
    conn: &mut Conn,
    table: &Table,
    shop: &ShopId,
    mut f: impl FnMut(&str) -> io::Result<()>,
) -> Stored<io::Result<()>> {
    let (name, owner, order) = (quoted(&table.name), owner(table), order(table));
    match conn {
        Conn::Sqlite(inner) => {
            let object = table.object();
            let query = format!("SELECT {object} AS line FROM {name} WHERE {owner} = ? ORDER BY {order}");
            let lines = sql_query(query).bind::<Text, _>(shop.as_str());
            for line in lines.load_iter::<Line, DefaultLoadingMode>(inner)? {
                if let Err(error) = f(&line?.line) {
                    return Ok(Err(error));
                }
            }
        }
        Conn::Pg(inner) => {
            let list = table.list();
            let query = format!(
                "SELECT row_to_json(r)::text AS line FROM (SELECT {list} FROM {name} WHERE {owner} = $1 ORDER BY {order}) r"
            );
            let lines = sql_query(query).bind::<Text, _>(shop.as_str());
            for line in lines.load_iter::<Line, DefaultLoadingMode>(inner)? {
                if let Err(error) = f(&line?.line) {
                    return Ok(Err(error));
                }
            }
        }
    }
    Ok(Ok(()))
}

/// The rows of the shop in the table whose `column` has one of those texts, in the order of the first column. It is an error
/// if the table has no such column.
pub fn pick(conn: &mut Conn, table: &Table, shop: &ShopId, column: &str, said: &[String]) -> Stored<Vec<Value>> {
    if !table.has(column) {
        return Err(DbError::Corrupt(format!("the table {} has no column {column}", table.name)));
    }
    let corrupt = |error: serde_json::Error| DbError::Corrupt(error.to_string());
    let (name, owner, order, column) = (quoted(&table.name), owner(table), order(table), quoted(column));
    let wanted = serde_json::to_string(said).map_err(corrupt)?;
    let lines: Vec<Line> = match conn {
        Conn::Sqlite(inner) => {
            let object = table.object();
            let query = format!(
                "SELECT {object} AS line FROM {name} WHERE {owner} = ? AND {column} IN (SELECT value FROM json_each(?)) \
                 ORDER BY {order}"
            );
            sql_query(query).bind::<Text, _>(shop.as_str()).bind::<Text, _>(wanted).load(inner)?
        }
        Conn::Pg(inner) => {
            let list = table.list();
            let query = format!(
                "SELECT row_to_json(r)::text AS line FROM (SELECT {list} FROM {name} WHERE {owner} = $1 \
                 AND {column} IN (SELECT json_array_elements_text($2::json)) ORDER BY {order}) r"
            );
            sql_query(query).bind::<Text, _>(shop.as_str()).bind::<Text, _>(wanted).load(inner)?
        }
    };
    lines.iter().map(|line| serde_json::from_str(&line.line).map_err(corrupt)).collect()
}
