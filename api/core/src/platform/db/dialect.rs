//! The few places where the engines differ.
//!
//! **Nothing waits on PostgreSQL without an end.** Statements and waits for locks have timeouts. If a session holds a
//! shop's lock and sends nothing for ten seconds, inside a transaction or not, the server ends it. So a replica that
//! hangs (stopped, swapped out, cut off from the network) loses its lock: its uncommitted work is rolled back, and its
//! next statement fails when it wakes up. `idle_session_timeout`, on which this depends, needs PostgreSQL 14. A server
//! that hangs is noticed by the request that waits for it: 25 seconds after it sent a statement it refuses the request,
//! although its thread keeps waiting in libpq (`watch.rs`). Within one process only one writer of a shop waits for the
//! lock with a connection in hand, so a shop whose lock is stuck takes no connections from other shops (`turns.rs`).

use diesel::connection::{AnsiTransactionManager, SimpleConnection};
use diesel::result::QueryResult;
use diesel::{PgConnection, QueryableByName, RunQueryDsl, SqliteConnection, sql_query};

use super::conn::Conn;

/// Settings of a new SQLite connection. `FULL` makes a commit survive a power cut; `NORMAL` would lose the last ones.
/// `secure_delete` overwrites what is deleted, so that the text of an erased customer is not left in free pages; `FAST`
/// would leave it in pages that become free as a whole, such as those of a long note.
pub(super) const SQLITE_PRAGMAS: &str = "PRAGMA busy_timeout = 10000; PRAGMA journal_mode = WAL; \
     PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA temp_store = MEMORY; \
     PRAGMA secure_delete = ON; PRAGMA journal_size_limit = 16777216; PRAGMA cache_size = -8000;";

/// Sets up a fresh SQLite connection.
pub(super) fn prepare_sqlite(conn: &mut SqliteConnection) -> QueryResult<()> {
    conn.batch_execute(SQLITE_PRAGMAS)
}

/// Moves the pages of SQLite's log into the database, and empties it: it holds pages as they were before each change, until
/// it is overwritten. It does nothing if somebody reads for longer than a second, so it is tried again later. PostgreSQL's
/// log, and the old rows until its next `VACUUM`, are its administrator's concern.
pub(super) fn empty_log(conn: &mut Conn) -> QueryResult<()> {
    match conn {
        Conn::Pg(_) => Ok(()),
        Conn::Sqlite(inner) => {
            let emptied = inner.batch_execute("PRAGMA busy_timeout = 1000; PRAGMA wal_checkpoint(TRUNCATE);");
            inner.batch_execute("PRAGMA busy_timeout = 10000")?;
            emptied
        }
    }
}

/// Largest SQLite database that is written anew after an erasure, in bytes: writes wait for it, about a second.
const REWRITTEN_BYTES: i64 = 128 << 20;

/// Writes a SQLite database of moderate size anew. What is deleted was overwritten, but when rows move from one page to
/// another, copies of them remain in the free space of the first. The copy is built in a file, because it is as large as the
/// database.
pub(super) fn rewrite(conn: &mut Conn) -> QueryResult<()> {
    let Conn::Sqlite(inner) = conn else { return Ok(()) };
    let size = "SELECT page_count * page_size AS one FROM pragma_page_count(), pragma_page_size()";
    let size: One = sql_query(size).get_result(inner)?;
    if size.one > REWRITTEN_BYTES {
        tracing::info!(bytes = size.one, "the database is too large to be written anew after an erasure");
        return Ok(());
    }
    let rewritten = inner.batch_execute("PRAGMA temp_store = FILE; VACUUM;");
    inner.batch_execute("PRAGMA temp_store = MEMORY")?;
    rewritten
}

/// Sets up a new SQLite connection to a file that must not change; the journal mode would be written into it.
pub(super) fn prepare_sqlite_reader(conn: &mut SqliteConnection) -> QueryResult<()> {
    conn.batch_execute("PRAGMA busy_timeout = 10000; PRAGMA temp_store = MEMORY; PRAGMA cache_size = -8000;")
}

/// Lock timeout of PostgreSQL, in seconds, above all for a shop's lock.
const LOCK_SECONDS: u32 = 5;
/// Statement timeout of PostgreSQL, in seconds.
const STATEMENT_SECONDS: u32 = 20;
/// Seconds after which no request waits for the answer to a statement: by then the server would have ended the
/// statement, so the server hangs.
pub(super) const ANSWER_SECONDS: u32 = STATEMENT_SECONDS + 5;
/// Seconds that PostgreSQL waits for the next statement of a session that holds a shop's lock or has a transaction
/// open. The server then ends a process that hangs (stopped, swapped out, its machine gone): its transaction is rolled
/// back and its lock is free, so that healthy replicas continue. If it wakes up, its next statement fails, so no late
/// write of it arrives.
pub(super) const SILENT_SECONDS: u32 = 10;
/// The same for sessions that only read: they hold nothing that others wait for, so they get more time.
pub(super) const SILENT_READER_SECONDS: u32 = 60;

/// Sets up a new PostgreSQL connection, so that every wait has a limit; `silent` is the number of seconds for which it
/// may be silent in a transaction.
pub(super) fn prepare_postgres(conn: &mut PgConnection, silent: u32) -> QueryResult<()> {
    conn.batch_execute(&format!(
        "SET lock_timeout = '{LOCK_SECONDS}s'; SET statement_timeout = '{STATEMENT_SECONDS}s'; \
         SET idle_in_transaction_session_timeout = '{silent}s'; \
         SET tcp_keepalives_idle = 5; SET tcp_keepalives_interval = 3; SET tcp_keepalives_count = 3"
    ))?;
    // Setting for data sent to a client that does not read it: a server on a system without this option refuses it, and
    // keeps the others.
    if let Err(error) = conn.batch_execute("SET tcp_user_timeout = '15s'") {
        tracing::debug!(%error, "the database server has no tcp_user_timeout");
    }
    Ok(())
}

/// Settings of the client's side of a connection to PostgreSQL, unless the address sets them: they detect a server that
/// is gone.
pub(super) const POSTGRES_CLIENT: [(&str, &str); 5] = [
    ("connect_timeout", "5"),
    ("keepalives_idle", "5"),
    ("keepalives_interval", "3"),
    ("keepalives_count", "3"),
    ("tcp_user_timeout", "15000"),
];

/// Removes the time limits of a PostgreSQL connection, or restores them: migrations take as long as they need, and
/// another program that starts meanwhile waits for their end.
pub(super) fn unhurried(conn: &mut Conn, begin: bool) -> QueryResult<()> {
    let (lock, statement) = if begin { (0, 0) } else { (LOCK_SECONDS, STATEMENT_SECONDS) };
    match conn {
        Conn::Pg(inner) => {
            inner.batch_execute(&format!("SET lock_timeout = '{lock}s'; SET statement_timeout = '{statement}s'"))
        }
        Conn::Sqlite(_) => Ok(()),
    }
}

/// The same for the open transaction, until its end: a copy of a whole database takes as long as it needs, and one side
/// is silent while the other one works.
pub(super) fn unhurried_here(conn: &mut Conn) -> QueryResult<()> {
    match conn {
        Conn::Pg(inner) => inner.batch_execute(
            "SET LOCAL lock_timeout = 0; SET LOCAL statement_timeout = 0; \
             SET LOCAL idle_in_transaction_session_timeout = 0",
        ),
        Conn::Sqlite(_) => Ok(()),
    }
}

#[derive(QueryableByName)]
struct Trigger {
    #[diesel(sql_type = diesel::sql_types::Text)]
    name: String,
    #[diesel(sql_type = diesel::sql_types::Text)]
    made_by: String,
}

/// Disables the triggers of these tables in the open transaction; returns the statements that enable them again. They
/// check changes, but a copy is none: rows of an older program may not pass them today.
pub(super) fn lower_guards(conn: &mut Conn, tables: &[&str]) -> QueryResult<Vec<String>> {
    match conn {
        Conn::Pg(inner) => {
            for table in tables {
                inner.batch_execute(&format!("ALTER TABLE \"{table}\" DISABLE TRIGGER USER"))?;
            }
            Ok(tables.iter().map(|table| format!("ALTER TABLE \"{table}\" ENABLE TRIGGER USER")).collect())
        }
        Conn::Sqlite(inner) => {
            // SQLite can't disable a trigger. All are dropped, and created again in the same order.
            let all = "SELECT name, sql AS made_by FROM sqlite_schema WHERE type = 'trigger' ORDER BY rowid";
            let triggers: Vec<Trigger> = sql_query(all).load(inner)?;
            for trigger in &triggers {
                inner.batch_execute(&format!("DROP TRIGGER \"{}\"", trigger.name))?;
            }
            Ok(triggers.into_iter().map(|trigger| trigger.made_by).collect())
        }
    }
}

/// Opens the transaction that sees everything as if nothing else ran.
pub(super) fn begin(conn: &mut Conn) -> QueryResult<()> {
    match conn {
        Conn::Pg(inner) => AnsiTransactionManager::begin_transaction_sql(inner, "BEGIN ISOLATION LEVEL SERIALIZABLE"),
        Conn::Sqlite(inner) => AnsiTransactionManager::begin_transaction_sql(inner, "BEGIN IMMEDIATE"),
    }
}

/// Opens a read-only transaction, so that its queries see the same state.
pub(super) fn begin_reading(conn: &mut Conn) -> QueryResult<()> {
    match conn {
        Conn::Pg(inner) => {
            AnsiTransactionManager::begin_transaction_sql(inner, "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        }
        Conn::Sqlite(inner) => AnsiTransactionManager::begin_transaction_sql(inner, "BEGIN DEFERRED"),
    }
}

/// Takes (or releases) the shop's write lock on PostgreSQL, where several replicas write; SQLite has one writer.
///
/// It is a session lock, taken before `BEGIN`: inside the transaction the snapshot would be older than the lock, and
/// every waiter would then fail to serialise. While it is held, also between the lock and `BEGIN`, the server ends a
/// session that falls silent; an idle session without the lock may be silent.
pub(super) fn shop_lock(conn: &mut Conn, key: i64, take: bool) -> QueryResult<()> {
    match conn {
        Conn::Pg(inner) => {
            let statements = if take {
                format!("SET idle_session_timeout = '{SILENT_SECONDS}s'; SELECT pg_advisory_lock({key})")
            } else {
                format!("SELECT pg_advisory_unlock({key}); SET idle_session_timeout = 0")
            };
            inner.batch_execute(&statements)
        }
        Conn::Sqlite(_) => Ok(()),
    }
}

#[derive(QueryableByName)]
struct One {
    #[diesel(sql_type = diesel::sql_types::BigInt)]
    one: i64,
}

/// Checks that the engine answers, and that the transaction may change data: on a standby server, or a server in
/// read-only mode, it may not.
pub(super) fn ping(conn: &mut Conn) -> QueryResult<bool> {
    let question = match conn {
        Conn::Pg(_) => {
            "SELECT CASE WHEN current_setting('transaction_read_only') = 'on' THEN 0 ELSE 1 END::bigint AS one"
        }
        Conn::Sqlite(_) => "SELECT 1 AS one",
    };
    let answer: One = sql_query(question).get_result(conn)?;
    Ok(answer.one == 1)
}

/// Runs one body on whichever engine it is, for queries that diesel writes in the same way for both but not for their
/// enum (inserting several rows at once, say).
macro_rules! each_engine {
    ($conn:expr, $inner:ident => $body:expr) => {
        match $conn {
            $crate::platform::db::Conn::Pg($inner) => $body,
            $crate::platform::db::Conn::Sqlite($inner) => $body,
        }
    };
}
pub(crate) use each_engine;

/// Number of rows that one statement of `insert_rows` inserts; PostgreSQL limits how many values a statement may bind.
pub(crate) const ROWS_AT_ONCE: usize = 1000;

/// Inserts a vector of rows into a table. On PostgreSQL one statement takes all of them, because each statement is a trip to
/// the server. On SQLite each row has its own: diesel keeps that one prepared, but prepares one for several rows each time.
macro_rules! insert_rows {
    ($conn:expr, $table:expr, $rows:expr) => {
        match $conn {
            $crate::platform::db::Conn::Pg(inner) => {
                let (mut rows, mut stored) = ($rows, Ok(()));
                while stored.is_ok() && !rows.is_empty() {
                    let later = rows.split_off(rows.len().min($crate::platform::db::ROWS_AT_ONCE));
                    stored = diesel::insert_into($table).values(rows).execute(inner).map(drop);
                    rows = later;
                }
                stored
            }
            $crate::platform::db::Conn::Sqlite(inner) => {
                $rows.into_iter().try_for_each(|row| diesel::insert_into($table).values(row).execute(inner).map(drop))
            }
        }
    };
}
pub(crate) use insert_rows;
