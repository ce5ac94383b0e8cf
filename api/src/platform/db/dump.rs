//! All rows of one shop, table by table, as lines of JSON that are alike on both engines.
//!
//! Names of tables and columns come from the engine's own catalogue; nothing from outside becomes part of a query.

use std::io;

use baywright_domain::id::ShopId;
use diesel::connection::DefaultLoadingMode;
use diesel::sql_types::Text;
use diesel::{QueryableByName, RunQueryDsl, sql_query};
use serde_json::Value;

use super::conn::Conn;
use crate::platform::fail::{DbError, Stored};

/// Tables that hold secrets of sign-ins, or what the program makes anew from the others.
const LEFT_OUT: [&str; 9] = [
    "clock_run",
    "erased_key_secret",
    "idempotency",
    "invite",
    "refresh_token",
    "search_subject",
    "search_word",
    "session",
    "sign_in_attempt",
];

/// Columns that hold secrets: what a password or the token of a link is checked against.
const SECRET: [&str; 2] = ["password_hash", "token_hash"];

/// A table of a shop's records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its columns with their types, secrets left out.
    columns: Vec<(String, Kind)>,
}

/// What makes a difference to how a column is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Bytes, as lower-case hex.
    Bytes,
    /// Yes or no, as 1 or 0.
    Truth,
    /// Anything else, as it is.
    Other,
}

#[derive(QueryableByName)]
struct Column {
    #[diesel(sql_type = Text)]
    of: String,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    kind: String,
}

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

const SQLITE_COLUMNS: &str = "SELECT t.name AS \"of\", c.name AS name, c.type AS kind \
     FROM sqlite_schema t, pragma_table_info(t.name) c WHERE t.type = 'table' ORDER BY t.name, c.cid";
const POSTGRES_COLUMNS: &str = "SELECT table_name::text AS \"of\", column_name::text AS name, data_type::text AS kind \
     FROM information_schema.columns WHERE table_schema = current_schema() ORDER BY table_name, ordinal_position";

/// The tables that hold a shop's records, by name.
pub fn tables(conn: &mut Conn) -> Stored<Vec<Table>> {
    let mut tables = every_table(conn)?;
    tables.retain(|table| !LEFT_OUT.contains(&table.name.as_str()));
    Ok(tables)
}

/// All tables with rows of shops, also those that [`tables`] leaves out.
pub fn every_table(conn: &mut Conn) -> Stored<Vec<Table>> {
    let columns: Vec<Column> = match conn {
        Conn::Sqlite(inner) => sql_query(SQLITE_COLUMNS).load(inner)?,
        Conn::Pg(inner) => sql_query(POSTGRES_COLUMNS).load(inner)?,
    };
    let mut tables: Vec<Table> = Vec::new();
    for Column { of, name, kind } in columns {
        if tables.last().is_none_or(|table| table.name != of) {
            tables.push(Table { name: of, columns: Vec::new() });
        }
        let kind = match kind.as_str() {
            "BLOB" | "bytea" => Kind::Bytes,
            "boolean" => Kind::Truth,
            _ => Kind::Other,
        };
        if let Some(table) = tables.last_mut()
            && !SECRET.contains(&name.as_str())
        {
            table.columns.push((name, kind));
        }
    }
    let of_shop = |table: &Table| table.name == "shop" || table.columns.iter().any(|(name, _)| name == "shop_id");
    tables.retain(of_shop);
    Ok(tables)
}

impl Table {
    /// Whether it has a column of that name.
    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|(name, _)| name == column)
    }

    /// Names of the columns, secrets left out.
    pub fn columns(&self) -> impl Iterator<Item = &str> {
        self.columns.iter().map(|(name, _)| name.as_str())
    }

    fn quoted(name: &str) -> String {
        format!("\"{name}\"")
    }

    /// The columns as one JSON object, for SQLite.
    fn object(&self) -> String {
        let pair = |(name, kind): &(String, Kind)| match kind {
            Kind::Bytes => format!("'{name}', lower(hex(\"{name}\"))"),
            Kind::Truth | Kind::Other => format!("'{name}', \"{name}\""),
        };
        let pairs: Vec<String> = self.columns.iter().map(pair).collect();
        format!("json_object({})", pairs.join(", "))
    }

    /// The columns as a list, for PostgreSQL.
    fn list(&self) -> String {
        let said = |(name, kind): &(String, Kind)| match kind {
            Kind::Bytes => format!("encode(\"{name}\", 'hex') AS \"{name}\""),
            Kind::Truth => format!("\"{name}\"::int AS \"{name}\""),
            Kind::Other => Self::quoted(name),
        };
        let said: Vec<String> = self.columns.iter().map(said).collect();
        said.join(", ")
    }

    /// The column that says which shop a row is of.
    fn owner(&self) -> &'static str {
        if self.name == "shop" { "id" } else { "shop_id" }
    }

    /// The column by which rows are ordered.
    fn order(&self) -> String {
        self.columns.first().map_or_else(|| self.owner().to_owned(), |(name, _)| Self::quoted(name))
    }
}

/// Gives each row of the shop in the table to `f`, in the order of its first column, as one line of JSON; stops
/// where `f` can't go on.
pub fn rows(
    conn: &mut Conn,
    table: &Table,
    shop: &ShopId,
    mut f: impl FnMut(&str) -> io::Result<()>,
) -> Stored<io::Result<()>> {
    let (name, owner, order) = (Table::quoted(&table.name), table.owner(), table.order());
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

/// The rows of the shop in the table whose `column` says one of those texts, in the order of the first column. A column
/// that the table hasn't is an error.
pub fn pick(conn: &mut Conn, table: &Table, shop: &ShopId, column: &str, said: &[String]) -> Stored<Vec<Value>> {
    if !table.has(column) {
        return Err(DbError::Corrupt(format!("the table {} has no column {column}", table.name)));
    }
    let corrupt = |error: serde_json::Error| DbError::Corrupt(error.to_string());
    let (name, owner, order, column) =
        (Table::quoted(&table.name), table.owner(), table.order(), Table::quoted(column));
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
