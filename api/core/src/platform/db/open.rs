//! Opening a database by its address, and the two functions to use it.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError, TryLockError};
use std::time::{Duration, Instant};

use diesel::r2d2::{ConnectionManager, Pool};
use diesel::result::QueryResult;

use super::conn::Conn;
use super::not_opened::{NotOpened, not_allowed};
use super::pools::{Postgres, Prepare, Sqlite, is_broken};
use super::turns::Turns;
use super::write::{Scope, read, try_to_write, write};
use super::{dialect, migrate};
use crate::platform::fail::{DbError, Fail};

/// A database, shared by the whole program; cloning shares it.
#[derive(Clone)]
pub struct Db {
    engine: Engine,
}

#[derive(Clone)]
enum Engine {
    Sqlite { file: Sqlite, writer: Arc<Mutex<Option<Conn>>>, readers: Pool<Sqlite> },
    Postgres { turns: Arc<Turns>, writers: Pool<Postgres>, readers: Pool<Postgres> },
}

/// How long a request waits for a connection.
const PATIENCE: Duration = Duration::from_secs(8);
/// How long the readiness check waits for a connection.
const READINESS: Duration = Duration::from_secs(2);
const READERS: u32 = 6;
/// One writer of each shop waits for the shop's lock with a connection in hand. So writers have a pool of their own, and
/// readers never wait for them.
const PG_WRITERS: u32 = 4;
const PG_READERS: u32 = 8;

const SQLITE: &str = "sqlite:";

fn sqlite_path(rest: &str) -> PathBuf {
    PathBuf::from(rest.trim_start_matches("//"))
}

/// The file of an embedded database, from its address; `None` if the address names a server.
pub fn embedded_file(address: &str) -> Option<PathBuf> {
    address.strip_prefix(SQLITE).map(sqlite_path)
}

fn is_server(address: &str) -> bool {
    address.starts_with("postgres://") || address.starts_with("postgresql://")
}

/// Whether the address is one that [`Db::open`] takes, without opening anything.
///
/// # Errors
/// [`NotOpened::UnknownScheme`].
pub fn known(address: &str) -> Result<(), NotOpened> {
    let known = embedded_file(address).is_some() || is_server(address);
    if known { Ok(()) } else { Err(strange(address)) }
}

/// The error for an address that names no engine. It does not repeat the whole address, which may hold a password.
fn strange(address: &str) -> NotOpened {
    NotOpened::UnknownScheme(address.split_once("://").map_or_else(String::new, |(scheme, _)| scheme.to_owned()))
}

impl Db {
    /// Opens the database at `sqlite:PATH` or `postgres://…`; a missing SQLite file is created.
    pub fn open(address: &str) -> Result<Self, NotOpened> {
        let trouble = |error: &dyn std::fmt::Display| NotOpened::Engine(error.to_string());
        if let Some(path) = address.strip_prefix(SQLITE) {
            let path = sqlite_path(path);
            if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
                let no = |why: std::io::Error| NotOpened::Folder { folder: folder.to_owned(), why };
                std::fs::create_dir_all(folder).map_err(no)?;
            }
            let file = Sqlite::full(path);
            let writer = file.open().map_err(|e| not_allowed(&file.path).unwrap_or_else(|| trouble(&e)))?;
            Self::embedded(file, writer)
        } else if is_server(address) {
            let address = &limited(address);
            let pool = |size, silent| {
                Pool::builder()
                    .max_size(size)
                    .min_idle(Some(1))
                    .connection_timeout(PATIENCE)
                    .test_on_check_out(false)
                    .build(Postgres { inner: ConnectionManager::new(address), silent })
                    .map_err(|e| trouble(&e))
            };
            let writers = pool(PG_WRITERS, dialect::SILENT_SECONDS)?;
            let readers = pool(PG_READERS, dialect::SILENT_READER_SECONDS)?;
            Ok(Self { engine: Engine::Postgres { turns: Arc::default(), writers, readers } })
        } else {
            Err(strange(address))
        }
    }

    /// Opens the file of an embedded database without changing any byte of it, such as a backup's; every write fails.
    ///
    /// # Errors
    /// If there is no such file, or it is not a database.
    pub fn open_unchanged(path: &Path) -> Result<Self, NotOpened> {
        let file = Sqlite::unchanged(path);
        let conn = file.open().map_err(|error| NotOpened::Engine(error.to_string()))?;
        Self::embedded(file, conn)
    }

    fn embedded(file: Sqlite, writer: Conn) -> Result<Self, NotOpened> {
        let readers = Pool::builder()
            .max_size(READERS)
            .min_idle(Some(1))
            .connection_timeout(PATIENCE)
            .connection_customizer(Box::new(Prepare))
            .test_on_check_out(false)
            .build(file.clone())
            .map_err(|error| NotOpened::Engine(error.to_string()))?;
        Ok(Self { engine: Engine::Sqlite { file, writer: Arc::new(Mutex::new(Some(writer))), readers } })
    }

    /// Whether it is the embedded engine.
    pub fn is_sqlite(&self) -> bool {
        matches!(self.engine, Engine::Sqlite { .. })
    }

    /// The file of an embedded database.
    pub fn file(&self) -> Option<&Path> {
        match &self.engine {
            Engine::Sqlite { file, .. } => Some(&file.path),
            Engine::Postgres { .. } => None,
        }
    }

    /// Whether a service may have begun to change a file that [`Db::open_unchanged`] opened without locks, because
    /// nobody had it open: the data read since may be from several states.
    pub fn is_disturbed(&self) -> bool {
        match &self.engine {
            Engine::Sqlite { file, .. } => file.is_disturbed(),
            Engine::Postgres { .. } => false,
        }
    }

    /// Runs `f` on a read-only connection; all its queries see the same state. Blocking.
    pub fn read<T>(&self, f: impl FnOnce(&mut Conn) -> Result<T, Fail>) -> Result<T, Fail> {
        let (mut f, mut value) = (Some(f), None);
        self.reading(&mut |conn| {
            value = f.take().map(|f| f(conn)).transpose()?;
            Ok(())
        })?;
        value.ok_or_else(nothing_ran)
    }

    /// The same without type parameters, so that it is compiled once and not once per use case.
    fn reading(&self, f: &mut dyn FnMut(&mut Conn) -> Result<(), Fail>) -> Result<(), Fail> {
        let no = |e: diesel::r2d2::PoolError| DbError::NoConnection(e.to_string());
        match &self.engine {
            Engine::Sqlite { readers, .. } => read(&mut *readers.get().map_err(no)?, f),
            Engine::Postgres { readers, .. } => read(&mut *readers.get().map_err(no)?, f),
        }
    }

    /// Runs `f` in the program's one kind of transaction. Blocking, and `f` may run several times.
    pub fn write<T>(&self, scope: Scope<'_>, mut f: impl FnMut(&mut Conn) -> Result<T, Fail>) -> Result<T, Fail> {
        let mut value = None;
        self.writing(scope, &mut |conn| {
            value = Some(f(conn)?);
            Ok(())
        })?;
        value.ok_or_else(nothing_ran)
    }

    fn writing(&self, scope: Scope<'_>, f: &mut dyn FnMut(&mut Conn) -> Result<(), Fail>) -> Result<(), Fail> {
        match &self.engine {
            Engine::Sqlite { file, writer, .. } => {
                let no = |e: diesel::r2d2::Error| DbError::NoConnection(e.to_string()).into();
                with_writer(file, writer, no, |conn| write(conn, scope, f))
            }
            Engine::Postgres { turns, writers, .. } => {
                let until = Instant::now() + PATIENCE;
                let _turn = turns.take(scope.key(), PATIENCE).ok_or(DbError::Busy)?;
                // A writer whose turn comes late still gets a moment to take a connection; there is one unless all are
                // in use.
                let left = until.saturating_duration_since(Instant::now()).max(Duration::from_millis(500));
                let mut conn = writers.get_timeout(left).map_err(|e| DbError::NoConnection(e.to_string()))?;
                write(&mut conn, scope, f)
            }
        }
    }

    /// Empties the log of an embedded database, unless somebody reads for longer than a second. Blocking.
    ///
    /// # Errors
    /// If the file can't be opened or written.
    pub fn empty_log(&self) -> Result<(), DbError> {
        self.upkeep(dialect::empty_log)
    }

    /// Writes an embedded database anew, unless it is large, so that no older state of a row is left in it; then empties its
    /// log. Blocking.
    ///
    /// # Errors
    /// If the file can't be opened or written.
    pub fn rewrite(&self) -> Result<(), DbError> {
        self.upkeep(dialect::rewrite)?;
        self.empty_log()
    }

    /// Runs statements on the writer of an embedded database, outside any transaction; on a server it does nothing.
    fn upkeep(&self, f: fn(&mut Conn) -> QueryResult<()>) -> Result<(), DbError> {
        match &self.engine {
            Engine::Sqlite { file, writer, .. } => {
                let no = |error: diesel::r2d2::Error| DbError::NoConnection(error.to_string());
                with_writer(file, writer, no, |conn| f(conn).map_err(DbError::from))
            }
            Engine::Postgres { .. } => Ok(()),
        }
    }

    /// Runs the migrations that have not run yet; returns their names.
    ///
    /// # Errors
    /// [`NotOpened::Newer`] if the database has a migration that this program does not know; nothing is changed then.
    pub fn migrate(&self) -> Result<Vec<String>, NotOpened> {
        self.alone(|conn| {
            let trouble = |error: Box<dyn std::error::Error + Send + Sync>| NotOpened::Migration(error.to_string());
            match migrate::newer(conn).map_err(trouble)? {
                Some(newer) => Err(NotOpened::Newer(newer)),
                None => migrate::run(conn).map_err(trouble),
            }
        })
    }

    /// Undoes every migration: for tests of the down migrations.
    pub fn revert_all(&self) -> Result<usize, NotOpened> {
        self.alone(|conn| migrate::revert_all(conn).map_err(|e| NotOpened::Migration(e.to_string())))
    }

    /// Refuses if a migration still has to run, or if one ran that this program does not know.
    pub fn ensure_current(&self) -> Result<(), NotOpened> {
        self.alone(|conn| {
            let trouble = |error: Box<dyn std::error::Error + Send + Sync>| NotOpened::Migration(error.to_string());
            match migrate::newer(conn).map_err(trouble)? {
                Some(newer) => Err(NotOpened::Newer(newer)),
                None if migrate::pending(conn).map_err(trouble)? => Err(NotOpened::Behind),
                None => Ok(()),
            }
        })
    }

    /// Whether a change could be made now: a writer is free soon, and the engine accepts changes. Blocking.
    ///
    /// # Errors
    /// [`DbError::Newer`] if a newer program has changed the database: only starting that program helps.
    pub fn can_write(&self) -> Result<bool, DbError> {
        let tried = match &self.engine {
            Engine::Sqlite { file, writer, .. } => {
                let until = Instant::now() + READINESS;
                loop {
                    if let Some(tried) = try_with_writer(file, writer, try_to_write) {
                        break tried;
                    }
                    if Instant::now() > until {
                        return Ok(false);
                    }
                    std::thread::sleep(Duration::from_millis(10));
                }
            }
            Engine::Postgres { writers, .. } => match writers.get_timeout(READINESS) {
                Ok(mut conn) => try_to_write(&mut conn),
                Err(error) => Err(DbError::NoConnection(error.to_string())),
            },
        };
        match tried {
            Err(error) if !matches!(error, DbError::Newer(_)) => {
                tracing::warn!(%error, "no change can be made now");
                Ok(false)
            }
            tried => tried,
        }
    }

    /// A connection outside any transaction of ours, with the program's lock held: migrations run their own.
    fn alone<T>(&self, f: impl FnOnce(&mut Conn) -> Result<T, NotOpened>) -> Result<T, NotOpened> {
        let trouble = |error: &dyn std::fmt::Display| NotOpened::Engine(error.to_string());
        match &self.engine {
            Engine::Sqlite { file, writer, .. } => with_writer(file, writer, |e| trouble(&e), f),
            Engine::Postgres { writers, .. } => {
                let mut conn = writers.get().map_err(|e| trouble(&e))?;
                dialect::unhurried(&mut conn, true).map_err(|e| trouble(&e))?;
                dialect::shop_lock(&mut conn, MIGRATION_LOCK, true).map_err(|e| trouble(&e))?;
                let result = f(&mut conn);
                dialect::shop_lock(&mut conn, MIGRATION_LOCK, false).map_err(|e| trouble(&e))?;
                dialect::unhurried(&mut conn, false).map_err(|e| trouble(&e))?;
                result
            }
        }
    }
}

/// The error for a transaction that succeeded without having run, which can't happen.
fn nothing_ran() -> Fail {
    Fail::unexpected("a transaction ended without a result")
}

/// Two replicas that start together must not migrate together.
const MIGRATION_LOCK: i64 = 0x4241_5957;

/// Runs `f` on the one connection that writes to a file; `no` is the error if there is none.
fn with_writer<T, E>(
    file: &Sqlite,
    writer: &Mutex<Option<Conn>>,
    no: impl FnOnce(diesel::r2d2::Error) -> E,
    f: impl FnOnce(&mut Conn) -> Result<T, E>,
) -> Result<T, E> {
    // A panic inside `f` was rolled back by dropping the connection below, so a poisoned lock is sound.
    let mut slot = writer.lock().unwrap_or_else(PoisonError::into_inner);
    let mut conn = match slot.take() {
        Some(conn) => conn,
        None => file.open().map_err(no)?,
    };
    let result = f(&mut conn);
    // A connection whose transaction could be neither committed nor rolled back is dropped; the next write opens another.
    if !is_broken(&mut conn) {
        *slot = Some(conn);
    }
    result
}

/// The same, if nobody else in this process is writing at the moment.
fn try_with_writer<T>(
    file: &Sqlite,
    writer: &Mutex<Option<Conn>>,
    f: impl FnOnce(&mut Conn) -> Result<T, DbError>,
) -> Option<Result<T, DbError>> {
    let mut slot = match writer.try_lock() {
        Ok(slot) => slot,
        Err(TryLockError::Poisoned(poisoned)) => poisoned.into_inner(),
        Err(TryLockError::WouldBlock) => return None,
    };
    let mut conn = match slot.take().map_or_else(|| file.open(), Ok) {
        Ok(conn) => conn,
        Err(error) => return Some(Err(DbError::NoConnection(error.to_string()))),
    };
    let result = f(&mut conn);
    if !is_broken(&mut conn) {
        *slot = Some(conn);
    }
    Some(result)
}

/// The address of a server with the client's time limits added, except for those that it sets itself.
fn limited(address: &str) -> String {
    let mut limited = address.to_owned();
    for (name, value) in dialect::POSTGRES_CLIENT {
        let said = address.split_once('?').is_some_and(|(_, said)| {
            said.split('&').any(|pair| pair.split_once('=').is_some_and(|(said, _)| said == name))
        });
        if !said {
            limited.push(if limited.contains('?') { '&' } else { '?' });
            limited.extend([name, "=", value]);
        }
    }
    limited
}

#[cfg(test)]
mod tests {
    use super::limited;

    #[test]
    fn an_address_of_a_server_gets_limits_of_time_and_keeps_those_it_says() {
        let all = "connect_timeout=5&keepalives_idle=5&keepalives_interval=3&keepalives_count=3&tcp_user_timeout=15000";
        assert_eq!(limited("postgres://one@db/studio"), format!("postgres://one@db/studio?{all}"));
        let own = limited("postgres://one@db/studio?connect_timeout=30&sslmode=disable");
        let rest = &all["connect_timeout=5&".len()..];
        assert_eq!(own, format!("postgres://one@db/studio?connect_timeout=30&sslmode=disable&{rest}"));
    }
}
