//! Copies of an embedded database as files: for backups, and for putting one back.

use std::path::Path;

use diesel::connection::SimpleConnection;
use diesel::migration::{Migration, MigrationSource};
use diesel::sql_types::Text;
use diesel::sqlite::Sqlite;
use diesel::{Connection, QueryableByName, RunQueryDsl, SqliteConnection, sql_query};

use super::migrate::SQLITE;
use super::open::NotOpened;

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

fn trouble(error: impl std::fmt::Display) -> NotOpened {
    NotOpened::Engine(error.to_string())
}

fn open(file: &Path) -> Result<SqliteConnection, NotOpened> {
    let mut conn = SqliteConnection::establish(&file.to_string_lossy()).map_err(trouble)?;
    conn.batch_execute("PRAGMA busy_timeout = 10000").map_err(trouble)?;
    Ok(conn)
}

/// Writes the state of a database at one moment into a new file, while others go on reading and writing it. The copy is
/// whole when this returns, but only outlives a power cut once the caller has synced it.
///
/// # Errors
/// Where the engine can't read the one or write the other.
pub fn copy(from: &Path, to: &Path) -> Result<(), NotOpened> {
    let mut conn = open(from)?;
    sql_query("VACUUM INTO ?").bind::<Text, _>(to.to_string_lossy()).execute(&mut conn).map_err(trouble)?;
    Ok(())
}

/// Checks that a file is a sound database that this program or an older one made.
///
/// # Errors
/// What is wrong with it.
pub fn check(file: &Path) -> Result<(), NotOpened> {
    let mut conn = open(file)?;
    let faults: Vec<Line> =
        sql_query("SELECT integrity_check AS line FROM pragma_integrity_check").load(&mut conn).map_err(trouble)?;
    if let Some(fault) = faults.iter().find(|fault| fault.line != "ok") {
        return Err(NotOpened::Engine(format!("the file is damaged: {}", fault.line)));
    }
    let ran: Vec<Line> = sql_query("SELECT version AS line FROM __diesel_schema_migrations ORDER BY version")
        .load(&mut conn)
        .map_err(|_| NotOpened::Engine("the file is no database of this program".to_owned()))?;
    let known: Vec<Box<dyn Migration<Sqlite>>> = SQLITE.migrations().map_err(trouble)?;
    let known: Vec<String> = known.iter().map(|migration| migration.name().version().to_string()).collect();
    match ran.iter().find(|ran| !known.contains(&ran.line)) {
        Some(newer) => Err(NotOpened::Engine(format!(
            "the file was made by a newer program (it has the migration {}): take that program or a newer one",
            newer.line
        ))),
        None => Ok(()),
    }
}

/// Whether any other process, or another connection of this one, has the file open. What waits in its write-ahead log
/// is in the file itself afterwards, where nobody has.
///
/// # Errors
/// Where the file can't be opened at all.
pub fn is_in_use(file: &Path) -> Result<bool, NotOpened> {
    let mut conn = SqliteConnection::establish(&file.to_string_lossy()).map_err(trouble)?;
    // An open connection to a database with a write-ahead log keeps a shared lock on the file, idle or not.
    let alone = "PRAGMA busy_timeout = 0; PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; COMMIT;";
    Ok(conn.batch_execute(alone).is_err())
}
