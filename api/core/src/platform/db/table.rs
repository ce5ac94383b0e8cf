//! Tables as the engine's own catalogue describes them, and their rows as JSON that is the same on both engines.
//!
//! Names of tables and columns come from the catalogue; nothing from outside becomes part of a query.

use diesel::sql_types::{BigInt, Text};
use diesel::{QueryableByName, RunQueryDsl, sql_query};

use super::conn::Conn;
use crate::platform::fail::Stored;

/// A table of the database.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its columns with their types.
    pub(super) columns: Vec<(String, Kind)>,
    /// The columns of its primary key, in the key's order.
    pub(super) key: Vec<String>,
}

/// Type of a column, which decides how it is read and written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Bytes, written as lower-case hex.
    Bytes,
    /// Text.
    Text,
    /// A boolean, if the engine has a type for it; written as 1 or 0.
    Truth,
    /// A whole number.
    Whole,
    /// Anything else, written as the engine writes it.
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
    /// The column's position in the primary key, from 1; 0 if it is not part of it.
    #[diesel(sql_type = BigInt)]
    place: i64,
}

const SQLITE_COLUMNS: &str = "SELECT t.name AS \"of\", c.name AS name, c.type AS kind, c.pk AS place \
     FROM sqlite_schema t, pragma_table_info(t.name) c WHERE t.type = 'table' ORDER BY t.name, c.cid";
/// Tables that belong to an extension and not to the program.
const POSTGRES_COLUMNS: &str = "SELECT c.relname::text AS \"of\", a.attname::text AS name, \
     format_type(a.atttypid, NULL) AS kind, coalesce(array_position(k.conkey, a.attnum), 0)::bigint AS place \
     FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace \
     JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped \
     LEFT JOIN pg_constraint k ON k.conrelid = c.oid AND k.contype = 'p' \
     WHERE n.nspname = current_schema() AND c.relkind = 'r' \
     AND NOT EXISTS (SELECT 1 FROM pg_depend d \
         WHERE d.classid = 'pg_class'::regclass AND d.objid = c.oid AND d.deptype = 'e') \
     ORDER BY c.relname, a.attnum";

/// The migrations' own bookkeeping.
pub(super) const BOOKKEEPING: &str = "__diesel_schema_migrations";

/// All tables that hold rows of the program, by name.
pub(super) fn all(conn: &mut Conn) -> Stored<Vec<Table>> {
    let mut tables = every(conn)?;
    tables.retain(|table| table.name != BOOKKEEPING);
    Ok(tables)
}

/// All tables of the database except the engine's own, by name.
pub(super) fn every(conn: &mut Conn) -> Stored<Vec<Table>> {
    let columns: Vec<Column> = match conn {
        Conn::Sqlite(inner) => sql_query(SQLITE_COLUMNS).load(inner)?,
        Conn::Pg(inner) => sql_query(POSTGRES_COLUMNS).load(inner)?,
    };
    let of_one = |a: &Column, b: &Column| a.of == b.of;
    let tables = columns.chunk_by(of_one).filter_map(Table::of);
    Ok(tables.filter(|table| !table.name.starts_with("sqlite_")).collect())
}

impl Table {
    /// The table that those columns are of.
    fn of(columns: &[Column]) -> Option<Self> {
        let mut key: Vec<&Column> = columns.iter().filter(|column| column.place > 0).collect();
        key.sort_by_key(|column| column.place);
        Some(Self {
            name: columns.first()?.of.clone(),
            columns: columns.iter().map(|column| (column.name.clone(), Kind::of(&column.kind))).collect(),
            key: key.into_iter().map(|column| column.name.clone()).collect(),
        })
    }

    /// Whether it has a column of that name.
    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|(name, _)| name == column)
    }

    /// Names of its columns.
    pub fn columns(&self) -> impl Iterator<Item = &str> {
        self.columns.iter().map(|(name, _)| name.as_str())
    }

    /// The columns as one JSON object, for SQLite.
    pub(super) fn object(&self) -> String {
        let pair = |(name, kind): &(String, Kind)| match kind {
            // The hex text of NULL is empty, as for no bytes, so NULL is handled separately.
            Kind::Bytes => format!("'{name}', iif(\"{name}\" IS NULL, NULL, lower(hex(\"{name}\")))"),
            Kind::Text | Kind::Truth | Kind::Whole | Kind::Other => format!("'{name}', \"{name}\""),
        };
        let pairs: Vec<String> = self.columns.iter().map(pair).collect();
        format!("json_object({})", pairs.join(", "))
    }

    /// The columns as a list, for PostgreSQL.
    pub(super) fn list(&self) -> String {
        let said = |(name, kind): &(String, Kind)| match kind {
            Kind::Bytes => format!("encode(\"{name}\", 'hex') AS \"{name}\""),
            Kind::Truth => format!("\"{name}\"::int AS \"{name}\""),
            Kind::Text | Kind::Whole | Kind::Other => quoted(name),
        };
        let said: Vec<String> = self.columns.iter().map(said).collect();
        said.join(", ")
    }
}

impl Kind {
    /// The type for an engine's name of it.
    fn of(name: &str) -> Self {
        match name {
            "BLOB" | "bytea" => Self::Bytes,
            "TEXT" | "text" => Self::Text,
            "boolean" => Self::Truth,
            "INTEGER" | "bigint" | "integer" => Self::Whole,
            _ => Self::Other,
        }
    }
}

/// A name in quotes, for a query.
pub(super) fn quoted(name: &str) -> String {
    format!("\"{name}\"")
}
