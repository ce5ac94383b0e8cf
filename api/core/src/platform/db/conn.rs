//! The connection that every query is written for.

#![allow(missing_docs, reason = "the derive makes public items without docs")]

use diesel::{PgConnection, SqliteConnection};

/// A connection to either engine. Queries are written to the subset that both understand; `migrations/README.md` lists
/// what is outside it.
#[derive(diesel::MultiConnection)]
pub enum Conn {
    /// PostgreSQL.
    Pg(PgConnection),
    /// SQLite.
    Sqlite(SqliteConnection),
}
