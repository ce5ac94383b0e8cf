//! How connections are made, and when one is dropped.

use std::path::{Path, PathBuf};

use diesel::r2d2::{ConnectionManager, CustomizeConnection, R2D2Connection};
use diesel::{Connection, PgConnection, SqliteConnection};

use super::conn::Conn;
use super::watch::Watched;
use super::{dialect, snapshot};

/// Makes connections to the file of an embedded database.
#[derive(Debug, Clone)]
pub(super) struct Sqlite {
    pub(super) path: PathBuf,
    /// Whether the engine opens the file to read only, so that no byte of it changes.
    pub(super) unchanged: bool,
}

impl Sqlite {
    /// Opens the file, which is made if it is not there; one that stays unchanged must be there.
    pub(super) fn open(&self) -> Result<Conn, diesel::r2d2::Error> {
        let mut address = if self.unchanged { read_only(&self.path) } else { self.path.to_string_lossy().into_owned() };
        if self.unchanged && snapshot::is_at_rest(&self.path) {
            // Otherwise the engine would create its files beside it, or fail if it may not.
            address.push_str("&immutable=1");
        }
        let mut conn = SqliteConnection::establish(&address).map_err(diesel::r2d2::Error::ConnectionError)?;
        let prepared =
            if self.unchanged { dialect::prepare_sqlite_reader(&mut conn) } else { dialect::prepare_sqlite(&mut conn) };
        prepared.map_err(diesel::r2d2::Error::QueryError)?;
        Ok(Conn::Sqlite(conn))
    }
}

/// The address by which SQLite opens a file to read only. Every byte of the path that could end it in an address is escaped.
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

    /// Drops a connection that a panic left behind, or whose transaction could not be ended.
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
        conn.set_instrumentation(Watched);
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
