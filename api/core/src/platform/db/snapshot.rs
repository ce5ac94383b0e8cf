//! Copies of an embedded database as files: for backups, and for restoring one.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use diesel::connection::SimpleConnection;
use diesel::migration::{Migration, MigrationSource};
use diesel::sql_types::Text;
use diesel::sqlite::Sqlite;
use diesel::{Connection, QueryableByName, RunQueryDsl, SqliteConnection, sql_query};

use super::migrate::SQLITE;
use super::not_opened::NotOpened;

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

/// Writes the state of a database at one moment into a new file, while others continue to read and write it. The copy
/// is complete when this returns, but survives a power cut only once the caller has synced it.
///
/// # Errors
/// If the engine can't read the database or write the new file.
pub fn copy(from: &Path, to: &Path) -> Result<(), NotOpened> {
    let mut conn = open(from)?;
    sql_query("VACUUM INTO ?").bind::<Text, _>(to.to_string_lossy()).execute(&mut conn).map_err(trouble)?;
    Ok(())
}

/// Checks that a file is an intact database that this program or an older one made.
///
/// # Errors
/// The fault that was found.
pub fn check(file: &Path) -> Result<(), NotOpened> {
    let mut conn = open(file)?;
    let faults: Vec<Line> =
        sql_query("SELECT integrity_check AS line FROM pragma_integrity_check").load(&mut conn).map_err(trouble)?;
    if let Some(fault) = faults.iter().find(|fault| fault.line != "ok") {
        return Err(NotOpened::Engine(format!("the file is damaged: {}", fault.line)));
    }
    let ran: Vec<Line> = sql_query("SELECT version AS line FROM __diesel_schema_migrations ORDER BY version")
        .load(&mut conn)
        .map_err(|_| NotOpened::Engine("the file is not a database of this program".to_owned()))?;
    let known: Vec<Box<dyn Migration<Sqlite>>> = SQLITE.migrations().map_err(trouble)?;
    let known: Vec<String> = known.iter().map(|migration| migration.name().version().to_string()).collect();
    match ran.iter().find(|ran| !known.contains(&ran.line)) {
        Some(newer) => Err(NotOpened::Newer(newer.line.clone())),
        None => Ok(()),
    }
}

/// Whether any other process, or another connection of this one, has the file open. If not, everything in its
/// write-ahead log is in the file itself afterwards. A file that is not an intact database counts as not open.
///
/// # Errors
/// If the file can't be opened at all.
pub fn is_in_use(file: &Path) -> Result<bool, NotOpened> {
    let mut conn = SqliteConnection::establish(&file.to_string_lossy()).map_err(trouble)?;
    // An open connection to a database with a write-ahead log keeps a shared lock on the file, idle or not.
    let alone = "PRAGMA busy_timeout = 0; PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; COMMIT;";
    match conn.batch_execute(alone) {
        Ok(()) => Ok(false),
        Err(error) => match error.to_string() {
            text if text.contains("locked") => Ok(true),
            text if text.contains("malformed") || text.contains("not a database") => Ok(false),
            text => Err(NotOpened::Engine(text)),
        },
    }
}

/// Whether a file is a database that no service has opened since it was copied, as a backup's is: a service uses a
/// write-ahead log, and the first open records that in the file (<https://www.sqlite.org/fileformat.html>, section
/// 1.3).
pub fn is_untouched(file: &Path) -> bool {
    let mut header = [0_u8; 20];
    let read = File::open(file).and_then(|mut opened| opened.read_exact(&mut header));
    read.is_ok() && header.starts_with(b"SQLite format 3\0") && header.ends_with(&[1, 1])
}

/// Whether the file is a service's database that no program has open: it is set to use a write-ahead log, which does
/// not exist.
pub(super) fn is_at_rest(file: &Path) -> bool {
    !is_untouched(file) && is_complete(file)
}

/// Whether the file alone is the whole database, since no write-ahead log is beside it.
pub fn is_complete(file: &Path) -> bool {
    !write_ahead_log(file).exists()
}

/// The file of a database's write-ahead log.
fn write_ahead_log(file: &Path) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push("-wal");
    name.into()
}

/// A photograph as a row of the database names it.
#[derive(Debug, Clone, PartialEq, Eq, QueryableByName)]
pub struct NamedPhoto {
    /// Id of the shop.
    #[diesel(sql_type = Text)]
    pub shop_id: String,
    /// Id of the photograph.
    #[diesel(sql_type = Text)]
    pub id: String,
    /// SHA-256 of the photograph's file.
    #[diesel(sql_type = Text)]
    pub digest: String,
    /// SHA-256 of the thumbnail's file.
    #[diesel(sql_type = Text)]
    pub thumb_digest: String,
}

/// All photographs that the database of a file names.
///
/// # Errors
/// If the file can't be read as a database of this program.
pub fn photos(file: &Path) -> Result<Vec<NamedPhoto>, NotOpened> {
    let all = "SELECT shop_id, id, digest, thumb_digest FROM photo ORDER BY shop_id, id";
    sql_query(all).load(&mut open(file)?).map_err(trouble)
}
