//! The embedded migrations of both engines.

use diesel::backend::Backend;
use diesel::migration::MigrationSource;
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use super::conn::Conn;

pub(super) const SQLITE: EmbeddedMigrations = embed_migrations!("../migrations/sqlite");
const POSTGRES: EmbeddedMigrations = embed_migrations!("../migrations/postgres");

/// What diesel's harness calls an error.
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

/// Runs what has not run yet; gives the names of what did.
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
