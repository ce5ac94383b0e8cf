//! Changes the rows of every table that refer to one record so that they refer to another, and back.
//!
//! Tables are found in the engine's own catalogue by their column, so that a table that is added later is not forgotten.
//! Names of tables and columns come from there and from the program; nothing from outside becomes part of a query.
//!
//! The log's entry of a merge contains the ids of all rows that moved, which an undo reads. The engines let an issued
//! invoice or a payment change its customer along a merge only.

use std::collections::BTreeMap;

use baywright_domain::id::ShopId;
use diesel::sql_types::{BigInt, Text};
use diesel::{QueryableByName, RunQueryDsl, sql_query};

use super::conn::Conn;
use super::dump::{Table, every_table};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Stored};

/// Ids of rows, by their table.
pub type Rows = BTreeMap<String, Vec<String>>;

/// The column that refers to the record, and the table whose rows stay.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// The column, such as `customer_id`.
    pub name: &'static str,
    /// A table whose rows have a rule of their own.
    pub but: Option<&'static str>,
}

/// From which record to which, and the time.
#[derive(Debug, Clone, Copy)]
pub struct Turn<'a> {
    /// The shop.
    pub shop: &'a ShopId,
    /// The id that the rows refer to now.
    pub from: &'a str,
    /// The new id.
    pub to: &'a str,
    /// Now.
    pub now: UtcTime,
}

#[derive(QueryableByName)]
struct Id {
    #[diesel(sql_type = Text)]
    id: String,
}

/// Changes every row that refers to `turn.from` to refer to `turn.to`; returns the rows.
pub fn all(conn: &mut Conn, column: Column, turn: Turn<'_>) -> Stored<Rows> {
    let mut moved = Rows::new();
    for table in tables(conn, column)? {
        let ids = named(conn, &table, column.name, turn.shop, turn.from)?;
        if !ids.is_empty() {
            set(conn, &table, column.name, turn, &ids)?;
            moved.insert(table.name, ids);
        }
    }
    Ok(moved)
}

/// Changes those rows that still refer to `turn.from` to refer to `turn.to`, and with them every other row that refers
/// to both `turn.from` and one of those rows, because it was made for them since. Returns the changed rows.
pub fn back(conn: &mut Conn, column: Column, turn: Turn<'_>, rows: &Rows) -> Stored<Rows> {
    let tables = tables(conn, column)?;
    let mut going = Rows::new();
    for table in &tables {
        let here = named(conn, table, column.name, turn.shop, turn.from)?;
        let theirs = rows.get(&table.name).map(Vec::as_slice).unwrap_or_default();
        let ids: Vec<String> = here.into_iter().filter(|id| theirs.contains(id)).collect();
        going.insert(table.name.clone(), ids);
    }
    loop {
        let known: Vec<String> = going.values().flatten().cloned().collect();
        let mut more = false;
        for table in &tables {
            let built = built_on(conn, table, column.name, turn, &known)?;
            let ids = going.entry(table.name.clone()).or_default();
            for id in built.into_iter().filter(|id| !known.contains(id)) {
                if !ids.contains(&id) {
                    ids.push(id);
                    more = true;
                }
            }
        }
        if !more {
            break;
        }
    }
    going.retain(|_, ids| !ids.is_empty());
    for table in &tables {
        if let Some(ids) = going.get(&table.name) {
            set(conn, table, column.name, turn, ids)?;
        }
    }
    Ok(going)
}

fn tables(conn: &mut Conn, column: Column) -> Stored<Vec<Table>> {
    let mut tables = every_table(conn)?;
    tables.retain(|table| table.has(column.name) && table.has("id") && column.but != Some(table.name.as_str()));
    Ok(tables)
}

/// The placeholder of a query's value, in the engine's syntax.
fn place(conn: &Conn, number: usize) -> String {
    match conn {
        Conn::Sqlite(_) => format!("?{number}"),
        Conn::Pg(_) => format!("${number}"),
    }
}

/// A list of ids in a query, given as JSON text.
fn listed(conn: &Conn, number: usize) -> String {
    let place = place(conn, number);
    match conn {
        Conn::Sqlite(_) => format!("(SELECT value FROM json_each({place}))"),
        Conn::Pg(_) => format!("(SELECT json_array_elements_text({place}::json))"),
    }
}

fn json(ids: &[String]) -> Stored<String> {
    serde_json::to_string(ids).map_err(|error| DbError::Corrupt(error.to_string()))
}

/// Ids of the rows of a table whose column names a record.
fn named(conn: &mut Conn, table: &Table, column: &str, shop: &ShopId, record: &str) -> Stored<Vec<String>> {
    let (one, two) = (place(conn, 1), place(conn, 2));
    let query = format!("SELECT id FROM \"{}\" WHERE shop_id = {one} AND \"{column}\" = {two} ORDER BY id", table.name);
    let query = sql_query(query).bind::<Text, _>(shop.as_str()).bind::<Text, _>(record);
    let rows: Vec<Id> = match conn {
        Conn::Sqlite(inner) => query.load(inner)?,
        Conn::Pg(inner) => query.load(inner)?,
    };
    Ok(rows.into_iter().map(|row| row.id).collect())
}

/// Ids of the rows of a table that refer to `turn.from` and, in another column, to one of those rows.
fn built_on(conn: &mut Conn, table: &Table, column: &str, turn: Turn<'_>, rows: &[String]) -> Stored<Vec<String>> {
    let list = listed(conn, 3);
    let others = table.columns().filter(|name| name.ends_with("_id") && *name != column && *name != "shop_id");
    let names: Vec<String> = others.map(|name| format!("\"{name}\" IN {list}")).collect();
    if names.is_empty() || rows.is_empty() {
        return Ok(Vec::new());
    }
    let (one, two, names) = (place(conn, 1), place(conn, 2), names.join(" OR "));
    let query = format!(
        "SELECT id FROM \"{}\" WHERE shop_id = {one} AND \"{column}\" = {two} AND ({names}) ORDER BY id",
        table.name
    );
    let query =
        sql_query(query).bind::<Text, _>(turn.shop.as_str()).bind::<Text, _>(turn.from).bind::<Text, _>(json(rows)?);
    let rows: Vec<Id> = match conn {
        Conn::Sqlite(inner) => query.load(inner)?,
        Conn::Pg(inner) => query.load(inner)?,
    };
    Ok(rows.into_iter().map(|row| row.id).collect())
}

/// Lets rows refer to `turn.to`. Their versions are raised, so that nobody overwrites a change that they have not seen.
fn set(conn: &mut Conn, table: &Table, column: &str, turn: Turn<'_>, ids: &[String]) -> Stored<()> {
    let (one, two, four) = (place(conn, 1), place(conn, 2), place(conn, 4));
    let list = listed(conn, 3);
    let mut sets = format!("\"{column}\" = {one}");
    if table.has("version") {
        sets.push_str(", version = version + 1");
    }
    // The time is bound in every case, so that the query has one form.
    let updated = if table.has("updated_at") { format!(", updated_at = {four}") } else { String::new() };
    let always = if updated.is_empty() { format!(" AND {four} > 0") } else { String::new() };
    let query = format!("UPDATE \"{}\" SET {sets}{updated} WHERE shop_id = {two} AND id IN {list}{always}", table.name);
    let query = sql_query(query)
        .bind::<Text, _>(turn.to)
        .bind::<Text, _>(turn.shop.as_str())
        .bind::<Text, _>(json(ids)?)
        .bind::<BigInt, _>(turn.now.ms());
    match conn {
        Conn::Sqlite(inner) => query.execute(inner)?,
        Conn::Pg(inner) => query.execute(inner)?,
    };
    Ok(())
}
