//! How connections are made, and when one is given up.

use std::path::{Path, PathBuf};

use diesel::r2d2::{ConnectionManager, CustomizeConnection, R2D2Connection};
use diesel::{Connection, PgConnection, SqliteConnection};

use super::conn::Conn;
use super::dialect;

/// Opens the file, which is made if it is not there.
pub(super) fn open_sqlite(path: &Path) -> Result<Conn, diesel::r2d2::Error> {
    let mut conn =
        SqliteConnection::establish(&path.to_string_lossy()).map_err(diesel::r2d2::Error::ConnectionError)?;
    dialect::prepare_sqlite(&mut conn).map_err(diesel::r2d2::Error::QueryError)?;
    Ok(Conn::Sqlite(conn))
}

/// Makes SQLite connections for the readers' pool.
pub(super) struct Sqlite {
    pub(super) path: PathBuf,
}

impl diesel::r2d2::ManageConnection for Sqlite {
    type Connection = Conn;
    type Error = diesel::r2d2::Error;

    fn connect(&self) -> Result<Conn, Self::Error> {
        open_sqlite(&self.path)
    }

    fn is_valid(&self, conn: &mut Conn) -> Result<(), Self::Error> {
        dialect::ping(conn).map(drop).map_err(diesel::r2d2::Error::QueryError)
    }

    /// What a panic left behind is given up, and so is a connection whose transaction could not be ended.
    fn has_broken(&self, conn: &mut Conn) -> bool {
        std::thread::panicking() || is_broken(conn)
    }
}

/// Readers may only read: a query that writes is a defect, found by the engine.
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
