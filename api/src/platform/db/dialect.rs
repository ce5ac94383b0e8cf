//! The few places where the engines differ.

use diesel::connection::{AnsiTransactionManager, SimpleConnection};
use diesel::result::QueryResult;
use diesel::{QueryableByName, RunQueryDsl, SqliteConnection, sql_query};

use super::conn::Conn;

/// What a fresh SQLite connection is told. `FULL` makes a commit survive a power cut; `NORMAL` would lose the last ones.
pub(super) const SQLITE_PRAGMAS: &str = "PRAGMA busy_timeout = 10000; PRAGMA journal_mode = WAL; \
     PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA temp_store = MEMORY; \
     PRAGMA journal_size_limit = 16777216; PRAGMA cache_size = -8000;";

/// Sets up a fresh SQLite connection.
pub(super) fn prepare_sqlite(conn: &mut SqliteConnection) -> QueryResult<()> {
    conn.batch_execute(SQLITE_PRAGMAS)
}

/// Opens the transaction in which everything is seen as if nothing else ran.
pub(super) fn begin(conn: &mut Conn) -> QueryResult<()> {
    match conn {
        Conn::Pg(inner) => AnsiTransactionManager::begin_transaction_sql(inner, "BEGIN ISOLATION LEVEL SERIALIZABLE"),
        Conn::Sqlite(inner) => AnsiTransactionManager::begin_transaction_sql(inner, "BEGIN IMMEDIATE"),
    }
}

/// Opens a transaction that only reads, so that its queries see one and the same state.
pub(super) fn begin_reading(conn: &mut Conn) -> QueryResult<()> {
    match conn {
        Conn::Pg(inner) => {
            AnsiTransactionManager::begin_transaction_sql(inner, "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        }
        Conn::Sqlite(inner) => AnsiTransactionManager::begin_transaction_sql(inner, "BEGIN DEFERRED"),
    }
}

/// Takes (or gives back) the shop's write lock on PostgreSQL, where several replicas write; SQLite has one writer.
///
/// It is a session lock, taken before `BEGIN`: inside the transaction the snapshot would be older than the lock, and
/// every waiter would then fail to serialise.
pub(super) fn shop_lock(conn: &mut Conn, key: i64, take: bool) -> QueryResult<()> {
    match conn {
        Conn::Pg(inner) => {
            let function = if take { "pg_advisory_lock" } else { "pg_advisory_unlock" };
            sql_query(format!("SELECT {function}({key})")).execute(inner).map(drop)
        }
        Conn::Sqlite(_) => Ok(()),
    }
}

#[derive(QueryableByName)]
struct One {
    #[diesel(sql_type = diesel::sql_types::BigInt)]
    one: i64,
}

/// Asks the engine for a sign of life, and whether it takes changes: a server that follows another one takes none.
pub(super) fn ping(conn: &mut Conn) -> QueryResult<bool> {
    let question = match conn {
        Conn::Pg(_) => "SELECT CASE WHEN pg_is_in_recovery() THEN 0 ELSE 1 END::bigint AS one",
        Conn::Sqlite(_) => "SELECT 1 AS one",
    };
    let answer: One = sql_query(question).get_result(conn)?;
    Ok(answer.one == 1)
}

/// Runs one body on whichever engine it is, for what diesel writes alike for both but not for their enum (inserting
/// several rows at once, say).
macro_rules! each_engine {
    ($conn:expr, $inner:ident => $body:expr) => {
        match $conn {
            $crate::platform::db::Conn::Pg($inner) => $body,
            $crate::platform::db::Conn::Sqlite($inner) => $body,
        }
    };
}
pub(crate) use each_engine;
