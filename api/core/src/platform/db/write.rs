//! Runs transactions: nothing else in the program opens one.
//!
//! **One write of a shop at a time, on PostgreSQL too.** Every write takes an advisory lock of the shop. Writes of one
//! shop depend on each other anyway, because each adds an entry to the chained log; without the lock, SERIALIZABLE
//! would fail most of them and they would be retried. The lock is taken before `BEGIN`, because inside the transaction
//! the snapshot would be older than the lock. A studio of five people never notices.
//!
//! **Reads are transactions too,** so that a list and its details show one state. SQLite's readers are also set to
//! `query_only`.
//!
//! SQLite keeps a transaction open if its COMMIT fails, as on a full disk; it is rolled back here.

use baywright_domain::id::ShopId;
use diesel::connection::{Connection, TransactionManager};
use sha2::{Digest, Sha256};

use super::conn::Conn;
use super::{dialect, migrate};
use crate::platform::fail::{DbError, Fail};

/// The records that a write touches, so that writes of one shop queue instead of failing each other.
#[derive(Debug, Clone, Copy)]
pub enum Scope<'a> {
    /// One shop's records.
    Shop(&'a ShopId),
    /// Records of no shop, or of several.
    Program,
}

impl Scope<'_> {
    /// The lock's number: the first eight bytes of a digest of the shop's id.
    pub(super) fn key(self) -> i64 {
        let name = match self {
            Self::Shop(id) => id.as_str(),
            Self::Program => "program",
        };
        let digest = Sha256::digest(name.as_bytes());
        digest.iter().take(8).fold(0_i64, |sum, byte| (sum << 8) | i64::from(*byte))
    }
}

/// Number of retries of a transaction that the engine could not serialise.
const RETRIES: u32 = 3;

type Manager = <Conn as Connection>::TransactionManager;

/// Runs `f` in a transaction: its `Ok` is committed, its `Err` leaves nothing behind. `f` may run several times, so it
/// has no effect outside the database.
pub(super) fn write(
    conn: &mut Conn,
    scope: Scope<'_>,
    f: &mut dyn FnMut(&mut Conn) -> Result<(), Fail>,
) -> Result<(), Fail> {
    let key = scope.key();
    dialect::shop_lock(conn, key, true).map_err(|error| match DbError::from(error) {
        closed if closed.is_cut_off() => closed,
        other => {
            tracing::warn!(error = %other, "a shop's lock could not be had");
            DbError::Busy
        }
    })?;
    let mut tries = 0;
    let result = loop {
        match attempt(conn, f) {
            Err(fail) if fail.is_retry() && tries < RETRIES => tries += 1,
            result => break result,
        }
    };
    let unlocked = dialect::shop_lock(conn, key, false).map_err(DbError::from);
    match result {
        // A commit that happened is reported even if the lock could not be released: the pool drops a broken connection,
        // and the lock with it.
        Ok(()) => Ok(()),
        Err(fail) => {
            if let Err(error) = unlocked {
                tracing::warn!(%error, "could not give back a shop's lock");
            }
            Err(fail)
        }
    }
}

/// Opens a transaction that could write, and rolls it back; false if the server accepts no changes.
///
/// # Errors
/// [`DbError::Newer`] if only a newer program may write, else the engine's error.
pub(super) fn try_to_write(conn: &mut Conn) -> Result<bool, DbError> {
    dialect::begin(conn)?;
    // The first failure is the cause. After it PostgreSQL refuses every other question of the transaction, and the rollback
    // of a connection that broke fails too.
    let tried = dialect::ping(conn).map_err(DbError::from);
    let tried = tried.and_then(|takes_changes| migrate::none_newer(conn).map(|()| takes_changes));
    let ended = Manager::rollback_transaction(conn);
    let takes_changes = tried?;
    ended?;
    Ok(takes_changes)
}

/// Runs `f` in a transaction that only reads, so that all its queries see the same state.
pub(super) fn read(conn: &mut Conn, f: &mut dyn FnMut(&mut Conn) -> Result<(), Fail>) -> Result<(), Fail> {
    dialect::begin_reading(conn).map_err(DbError::from)?;
    let result = f(conn);
    Manager::rollback_transaction(conn).map_err(DbError::from)?;
    result
}

/// Opens a part of the transaction that can be rolled back alone (a savepoint).
pub(in crate::platform) fn begin_part(conn: &mut Conn) -> Result<(), Fail> {
    Ok(Manager::begin_transaction(conn).map_err(DbError::from)?)
}

/// Keeps the part that was opened last, or rolls it back.
pub(in crate::platform) fn end_part(conn: &mut Conn, keep: bool) -> Result<(), Fail> {
    let ended = if keep { Manager::commit_transaction(conn) } else { Manager::rollback_transaction(conn) };
    Ok(ended.map_err(DbError::from)?)
}

fn attempt(conn: &mut Conn, f: &mut dyn FnMut(&mut Conn) -> Result<(), Fail>) -> Result<(), Fail> {
    dialect::begin(conn).map_err(DbError::from)?;
    match migrate::none_newer(conn).map_err(Fail::from).and_then(|()| f(conn)) {
        Ok(()) => match Manager::commit_transaction(conn) {
            Ok(()) => Ok(()),
            Err(error) => {
                // SQLite keeps the transaction open when a commit fails (a full disk, say).
                let _ = Manager::rollback_transaction(conn);
                Err(DbError::from(error).into())
            }
        },
        Err(fail) => {
            if let Err(error) = Manager::rollback_transaction(conn) {
                tracing::warn!(%error, "rollback failed; the connection will be dropped");
            }
            Err(fail)
        }
    }
}
