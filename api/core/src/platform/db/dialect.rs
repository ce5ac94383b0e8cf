//! The few places where the engines differ.
//!
//! **Nothing waits on PostgreSQL without an end.** Statements and waits for locks have timeouts. If a session holds a
//! shop's lock and sends nothing for ten seconds, inside a transaction or not, the server ends it. So a replica that
//! stands still (stopped, swapped out, cut off from the network) gives its lock back: what it had not committed is
//! gone, and its next statement fails when it wakes up. `idle_session_timeout`, on which this rests, needs PostgreSQL
//! 14. A server that stands still itself is noticed by the request that waits for it: 25 seconds after it sent a
//! statement it answers 503, although its thread goes on waiting in libpq (`watch.rs`). Within one process only one
//! writer of a shop waits for the lock with a connection in hand, so a shop whose lock is stuck takes no connections
//! from other shops (`turns.rs`).

use diesel::connection::{AnsiTransactionManager, SimpleConnection};
use diesel::result::QueryResult;
use diesel::{PgConnection, QueryableByName, RunQueryDsl, SqliteConnection, sql_query};

use super::conn::Conn;

/// What a fresh SQLite connection is told. `FULL` makes a commit survive a power cut; `NORMAL` would lose the last ones.
pub(super) const SQLITE_PRAGMAS: &str = "PRAGMA busy_timeout = 10000; PRAGMA journal_mode = WAL; \
     PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA temp_store = MEMORY; \
     PRAGMA journal_size_limit = 16777216; PRAGMA cache_size = -8000;";

/// Sets up a fresh SQLite connection.
pub(super) fn prepare_sqlite(conn: &mut SqliteConnection) -> QueryResult<()> {
    conn.batch_execute(SQLITE_PRAGMAS)
}

/// Sets up a fresh SQLite connection to a file that stays as it is; the journal mode would be written into it.
pub(super) fn prepare_sqlite_reader(conn: &mut SqliteConnection) -> QueryResult<()> {
    conn.batch_execute("PRAGMA busy_timeout = 10000; PRAGMA temp_store = MEMORY; PRAGMA cache_size = -8000;")
}

/// Seconds that a statement waits for a lock of PostgreSQL, a shop's above all.
const LOCK_SECONDS: u32 = 5;
/// Seconds that a statement may run on PostgreSQL.
const STATEMENT_SECONDS: u32 = 20;
/// Seconds after which nobody waits for the answer to a statement: by then the server would have ended it itself, so it
/// stands still.
pub(super) const ANSWER_SECONDS: u32 = STATEMENT_SECONDS + 5;
/// Seconds that PostgreSQL waits for the next statement of a session that holds a shop's lock or has a transaction open.
/// A process that stands still (stopped, swapped out, its machine gone) is ended by the server then: its transaction is
/// rolled back and its lock is free, so that healthy replicas go on. Should it wake up, its next statement fails, so
/// nothing of it comes later.
pub(super) const SILENT_SECONDS: u32 = 10;
/// The same for sessions that only read: they hold nothing that others wait for, and may think for longer.
pub(super) const SILENT_READER_SECONDS: u32 = 60;

/// Sets up a fresh PostgreSQL connection, so that nothing is waited for without an end; `silent` is the seconds for which
/// it may be silent in a transaction.
pub(super) fn prepare_postgres(conn: &mut PgConnection, silent: u32) -> QueryResult<()> {
    conn.batch_execute(&format!(
        "SET lock_timeout = '{LOCK_SECONDS}s'; SET statement_timeout = '{STATEMENT_SECONDS}s'; \
         SET idle_in_transaction_session_timeout = '{silent}s'; \
         SET tcp_keepalives_idle = 5; SET tcp_keepalives_interval = 3; SET tcp_keepalives_count = 3"
    ))?;
    // What was sent to a client that takes nothing: a server on a system without this clock says no, and keeps the others.
    if let Err(error) = conn.batch_execute("SET tcp_user_timeout = '15s'") {
        tracing::debug!(%error, "the database server has no tcp_user_timeout");
    }
    Ok(())
}

/// What the client's side of a connection to PostgreSQL is told, unless the address says it: a server that is gone is
/// noticed by these.
pub(super) const POSTGRES_CLIENT: [(&str, &str); 5] = [
    ("connect_timeout", "5"),
    ("keepalives_idle", "5"),
    ("keepalives_interval", "3"),
    ("keepalives_count", "3"),
    ("tcp_user_timeout", "15000"),
];

/// Takes the limits of time off a PostgreSQL connection, or puts them back: migrations take as long as they need, and
/// whoever starts beside them waits for their end.
pub(super) fn unhurried(conn: &mut Conn, begin: bool) -> QueryResult<()> {
    let (lock, statement) = if begin { (0, 0) } else { (LOCK_SECONDS, STATEMENT_SECONDS) };
    match conn {
        Conn::Pg(inner) => {
            inner.batch_execute(&format!("SET lock_timeout = '{lock}s'; SET statement_timeout = '{statement}s'"))
        }
        Conn::Sqlite(_) => Ok(()),
    }
}

/// The same for the transaction that is open, until its end: what copies a whole database takes as long as it needs, and
/// is silent on one side while the other one works.
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

/// Lets the triggers of these tables step aside in the transaction that is open; gives the statements that bring them
/// back. They judge changes, and a copy is none: rows that an older program left would not pass them today.
pub(super) fn lower_guards(conn: &mut Conn, tables: &[&str]) -> QueryResult<Vec<String>> {
    match conn {
        Conn::Pg(inner) => {
            for table in tables {
                inner.batch_execute(&format!("ALTER TABLE \"{table}\" DISABLE TRIGGER USER"))?;
            }
            Ok(tables.iter().map(|table| format!("ALTER TABLE \"{table}\" ENABLE TRIGGER USER")).collect())
        }
        Conn::Sqlite(inner) => {
            // SQLite can't switch one off. All are dropped, and made again in the order in which they were made.
            let all = "SELECT name, sql AS made_by FROM sqlite_schema WHERE type = 'trigger' ORDER BY rowid";
            let triggers: Vec<Trigger> = sql_query(all).load(inner)?;
            for trigger in &triggers {
                inner.batch_execute(&format!("DROP TRIGGER \"{}\"", trigger.name))?;
            }
            Ok(triggers.into_iter().map(|trigger| trigger.made_by).collect())
        }
    }
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
/// every waiter would then fail to serialise. As long as it is held, also between the lock and `BEGIN`, the server ends
/// a session that falls silent; an idle session without the lock may be silent.
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

/// Asks the engine for a sign of life, and whether the transaction may change anything: on a server that follows another
/// one, or that was told to only read, it may not.
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
