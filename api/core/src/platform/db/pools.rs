//! Creating connections, and when one is dropped.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use diesel::r2d2::{ConnectionManager, CustomizeConnection, R2D2Connection};
use diesel::{Connection, PgConnection, SqliteConnection};

use super::conn::Conn;
use super::watch::Watched;
use super::{dialect, snapshot};

/// Makes connections to the file of an embedded database.
#[derive(Debug, Clone)]
pub(super) struct Sqlite {
    pub(super) path: PathBuf,
    access: Access,
}

/// How the engine opens a file. It is decided once, so that all connections see the file in the same way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Access {
    /// To read and write; the file is created if it does not exist.
    Full,
    /// Read-only, so that no byte of the file changes; it must exist.
    ReadOnly,
    /// Like `ReadOnly` but without locks, because no service has the file open. Otherwise the engine would create its files
    /// beside it, or fail if it may not.
    AtRest {
        /// Time when the file was changed last, as far as the system says.
        changed_at: Option<SystemTime>,
    },
}

impl Sqlite {
    /// A file that is read and written.
    pub(super) fn full(path: PathBuf) -> Self {
        Self { path, access: Access::Full }
    }

    /// A file that must not change.
    pub(super) fn unchanged(path: &Path) -> Self {
        // The time is taken first: a service that starts in between is noticed by its log.
        let changed_at = changed_at(path);
        let access = if snapshot::is_at_rest(path) { Access::AtRest { changed_at } } else { Access::ReadOnly };
        Self { path: path.to_owned(), access }
    }

    /// Whether a service may have opened the file since, although it is read without locks: the data read then may be
    /// from several states.
    pub(super) fn is_disturbed(&self) -> bool {
        match self.access {
            Access::Full | Access::ReadOnly => false,
            Access::AtRest { changed_at: before } => {
                !snapshot::is_at_rest(&self.path) || changed_at(&self.path) != before
            }
        }
    }

    /// Opens a connection to the file.
    pub(super) fn open(&self) -> Result<Conn, diesel::r2d2::Error> {
        let address = match self.access {
            Access::Full => self.path.to_string_lossy().into_owned(),
            Access::ReadOnly => read_only(&self.path),
            Access::AtRest { .. } => read_only(&self.path) + "&immutable=1",
        };
        let mut conn = SqliteConnection::establish(&address).map_err(diesel::r2d2::Error::ConnectionError)?;
        let prepared = match self.access {
            Access::Full => dialect::prepare_sqlite(&mut conn),
            Access::ReadOnly | Access::AtRest { .. } => dialect::prepare_sqlite_reader(&mut conn),
        };
        prepared.map_err(diesel::r2d2::Error::QueryError)?;
        Ok(Conn::Sqlite(conn))
    }
}

/// Time when a file was changed last; `None` if the system does not say.
fn changed_at(path: &Path) -> Option<SystemTime> {
    std::fs::metadata(path).and_then(|file| file.modified()).ok()
}

/// The address with which SQLite opens a file read-only. Every byte of the path that has a meaning in an address is
/// escaped.
fn read_only(path: &Path) -> String {
    let mut address = "file:".to_owned();
    for byte in path.to_string_lossy().bytes() {
        if byte.is_ascii_alphanumeric() || b"/-._~".contains(&byte) {
            address.push(char::from(byte));
        } else {
            address.push('%');
            address.extend([byte >> 4, byte & 15].map(|half| char::from(b"0123456789ABCDEF"[usize::from(half)])));
        }
    }
    address + "?mode=ro"
}

impl diesel::r2d2::ManageConnection for Sqlite {
    type Connection = Conn;
    type Error = diesel::r2d2::Error;

    fn connect(&self) -> Result<Conn, Self::Error> {
        self.open()
    }

    fn is_valid(&self, conn: &mut Conn) -> Result<(), Self::Error> {
        dialect::ping(conn).map(drop).map_err(diesel::r2d2::Error::QueryError)
    }

    /// Drops a connection that a panic left in an unknown state, or whose transaction could not be ended.
    fn has_broken(&self, conn: &mut Conn) -> bool {
        std::thread::panicking() || is_broken(conn)
    }
}

/// Readers may only read: a query that writes is a defect, and the engine refuses it.
#[derive(Debug)]
pub(super) struct Prepare;

impl CustomizeConnection<Conn, diesel::r2d2::Error> for Prepare {
    fn on_acquire(&self, conn: &mut Conn) -> Result<(), diesel::r2d2::Error> {
        use diesel::connection::SimpleConnection;
        match conn {
            Conn::Sqlite(inner) => {
                inner.batch_execute("PRAGMA query_only = ON").map_err(diesel::r2d2::Error::QueryError)
            }
            Conn::Pg(_) => Ok(()),
        }
    }
}

/// Makes PostgreSQL connections.
pub(super) struct Postgres {
    pub(super) inner: ConnectionManager<PgConnection>,
    /// Seconds for which a connection may be silent in a transaction.
    pub(super) silent: u32,
}

impl diesel::r2d2::ManageConnection for Postgres {
    type Connection = Conn;
    type Error = diesel::r2d2::Error;

    fn connect(&self) -> Result<Conn, Self::Error> {
        let mut conn = self.inner.connect()?;
        conn.set_instrumentation(Watched::new());
        dialect::prepare_postgres(&mut conn, self.silent).map_err(diesel::r2d2::Error::QueryError)?;
        Ok(Conn::Pg(conn))
    }

    fn is_valid(&self, conn: &mut Conn) -> Result<(), Self::Error> {
        dialect::ping(conn).map(drop).map_err(diesel::r2d2::Error::QueryError)
    }

    fn has_broken(&self, conn: &mut Conn) -> bool {
        match conn {
            Conn::Pg(inner) => self.inner.has_broken(inner),
            Conn::Sqlite(_) => false,
        }
    }
}

/// Whether a connection to a file was left inside a transaction that could not be ended.
pub(super) fn is_broken(conn: &mut Conn) -> bool {
    match conn {
        Conn::Sqlite(inner) => inner.is_broken(),
        Conn::Pg(_) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_that_only_reads_escapes_what_would_end_the_path() {
        assert_eq!(
            read_only(Path::new("/backups/2026-03-28/baywright.db")),
            "file:/backups/2026-03-28/baywright.db?mode=ro"
        );
        assert_eq!(read_only(Path::new("a b?c#d%\u{e9}.db")), "file:a%20b%3Fc%23d%25%C3%A9.db?mode=ro");
    }
}
