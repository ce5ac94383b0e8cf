//! The embedded migrations of both engines.
//!
//! Every write checks whether a newer program has migrated the database since this one opened it. So a replica that was
//! forgotten in an update can still read, refuses changes and reports that it is not ready. The check is made
//! inside the transaction, so no row of the old program can be committed after a migration.

use std::sync::LazyLock;

use diesel::backend::Backend;
use diesel::migration::MigrationSource;
use diesel::prelude::*;
use diesel::sqlite::Sqlite;
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use super::conn::Conn;
use crate::platform::fail::{DbError, Stored};

pub(super) const SQLITE: EmbeddedMigrations = embed_migrations!("../../migrations/sqlite");
const POSTGRES: EmbeddedMigrations = embed_migrations!("../../migrations/postgres");

/// Error type of diesel's migration harness.
type Trouble = Box<dyn std::error::Error + Send + Sync>;

/// The last migration that ran on the database and that this program does not have: a newer program made it.
pub(super) fn newer(conn: &mut Conn) -> Result<Option<String>, Trouble> {
    match conn {
        Conn::Pg(inner) => last_unknown(inner, POSTGRES),
        Conn::Sqlite(inner) => last_unknown(inner, SQLITE),
    }
}

fn last_unknown<B: Backend>(
    conn: &mut impl MigrationHarness<B>,
    ours: EmbeddedMigrations,
) -> Result<Option<String>, Trouble> {
    let known: Vec<String> =
        MigrationSource::<B>::migrations(&ours)?.iter().map(|known| known.name().version().to_string()).collect();
    let ran = conn.applied_migrations()?;
    Ok(ran.iter().map(ToString::to_string).filter(|ran| !known.contains(ran)).max())
}

diesel::table! {
    /// The migrations that ran, as diesel records them.
    #[sql_name = "__diesel_schema_migrations"]
    ran_migration (version) {
        /// The date and number of a migration's name.
        version -> Text,
    }
}

/// The last migration of this program; both engines have the same.
static LAST: LazyLock<String> = LazyLock::new(|| {
    let all = MigrationSource::<Sqlite>::migrations(&SQLITE).unwrap_or_default();
    all.iter().map(|known| known.name().version().to_string()).max().unwrap_or_default()
});

/// Refuses the request if a newer program has changed the database since this one opened it. It is asked in each
/// transaction that writes, because rows that this program writes may break what the newer one relies on.
pub(super) fn none_newer(conn: &mut Conn) -> Stored<()> {
    let newer: Vec<String> = ran_migration::table
        .filter(ran_migration::version.gt(LAST.as_str()))
        .select(ran_migration::version)
        .load(conn)?;
    newer.into_iter().max().map_or(Ok(()), |newer| Err(DbError::Newer(newer)))
}

/// Runs the migrations that have not run yet; returns their names.
pub(super) fn run(conn: &mut Conn) -> Result<Vec<String>, Trouble> {
    let ran = match conn {
        Conn::Pg(inner) => inner.run_pending_migrations(POSTGRES)?,
        Conn::Sqlite(inner) => inner.run_pending_migrations(SQLITE)?,
    };
    Ok(ran.iter().map(ToString::to_string).collect())
}

/// Undoes every migration, the last one first.
pub(super) fn revert_all(conn: &mut Conn) -> Result<usize, Trouble> {
    let undone = match conn {
        Conn::Pg(inner) => inner.revert_all_migrations(POSTGRES)?,
        Conn::Sqlite(inner) => inner.revert_all_migrations(SQLITE)?,
    };
    Ok(undone.len())
}

/// Whether any migration has still to run.
pub(super) fn pending(conn: &mut Conn) -> Result<bool, Trouble> {
    match conn {
        Conn::Pg(inner) => inner.has_pending_migration(POSTGRES),
        Conn::Sqlite(inner) => inner.has_pending_migration(SQLITE),
    }
}
