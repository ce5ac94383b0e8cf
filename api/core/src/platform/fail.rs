//! How work inside a transaction fails.
//!
//! A use case returns [`Fail`]: either a [`Refused`] meant for the caller, or an error of our own (a database error, a stored
//! value that no rule would have made) that is logged and answered with 500. Every error of the domain's rules turns into a
//! `Fail` with `?`, because it implements [`Refusal`]. A store returns [`DbError`], so that `?` works on diesel's errors
//! there, and the `?` of a use case turns that into a `Fail`.

use baywright_domain::refusal::Refusal;
use diesel::result::{DatabaseErrorKind, Error as Diesel};

use super::refusal::{FieldFault, KnownRecord, Refused};

/// Result of a store function.
pub type Stored<T> = Result<T, DbError>;

/// Result of a use case.
pub type Done<T> = Result<T, Fail>;

/// Error of the database.
#[derive(Debug, thiserror::Error)]
pub enum DbError {
    /// The error of diesel or the engine.
    #[error("database: {0}")]
    Engine(#[from] Diesel),
    /// A row holds what the program can't have written.
    #[error("stored value: {0}")]
    Corrupt(String),
    /// Somebody else is changing the shop's records for longer than a write waits.
    #[error("the records are held by another change")]
    Busy,
    /// A newer program has changed the database since this one opened it.
    #[error("a newer program changed the database: it has the migration {0}, which this program does not know")]
    Newer(String),
    /// No connection was free in time.
    #[error("no database connection: {0}")]
    NoConnection(String),
}

impl DbError {
    /// Whether the same transaction may succeed when run again.
    pub fn is_retry(&self) -> bool {
        matches!(self, Self::Engine(Diesel::DatabaseError(DatabaseErrorKind::SerializationFailure, _)))
            || self.says(&CROSSED)
    }

    /// Whether a unique index or an exclusion constraint refused; a use case turns that into its own answer.
    pub fn is_taken(&self) -> bool {
        match self {
            Self::Engine(Diesel::DatabaseError(
                DatabaseErrorKind::UniqueViolation | DatabaseErrorKind::ExclusionViolation,
                _,
            )) => true,
            Self::Engine(Diesel::DatabaseError(_, info)) => info.message().contains("overlap"),
            _ => false,
        }
    }
}

/// PostgreSQL's messages, apart from a failed serialization, when transactions conflicted. Its shared memory records
/// what each of them has read, until all concurrent ones have ended.
const CROSSED: [&str; 2] = ["deadlock detected", "out of shared memory"];

/// The engines' messages if there is no space, or no permission, to write.
const UNWRITABLE: [&str; 5] =
    ["disk is full", "No space left", "disk I/O error", "readonly database", "could not extend file"];

/// Messages of PostgreSQL and its client if a running statement is ended, or its connection breaks.
const CUT_OFF: [&str; 5] = [
    "terminating connection",
    "server closed the connection",
    "could not receive data from server",
    "due to statement timeout",
    "due to lock timeout",
];

/// Their messages if the server can't be reached at all, and SQLite's if other programs keep the file locked.
const AWAY: [&str; 6] = [
    "the database system is",
    "no connection to the server",
    "could not send data to server",
    "connection to server",
    "database is locked",
    // The file could be opened before, so now the program has as many files open as it may.
    "unable to open database file",
];

impl DbError {
    /// Whether the database can't be written just now; often it can still be read. A full disk is one reason, a limit on
    /// the size of files another.
    pub fn is_unwritable(&self) -> bool {
        self.says(&UNWRITABLE)
    }

    /// Whether the server ended the statement or the connection, because of a time limit or because it stops. Whether a
    /// commit succeeded is then unknown.
    pub fn is_cut_off(&self) -> bool {
        let closed = matches!(self, Self::Engine(Diesel::DatabaseError(DatabaseErrorKind::ClosedConnection, _)));
        closed || self.says(&CUT_OFF)
    }

    /// Whether the database can't be reached; the same request may work in a moment.
    pub fn is_away(&self) -> bool {
        let broken = matches!(self, Self::NoConnection(_) | Self::Engine(Diesel::BrokenTransactionManager));
        broken || self.says(&AWAY)
    }

    fn says(&self, any: &[&str]) -> bool {
        let Self::Engine(Diesel::DatabaseError(_, info)) = self else { return false };
        any.iter().any(|words| info.message().contains(words))
    }
}

/// Error numbers of Unix if the machine, or the program, has as many files open as allowed (ENFILE, EMFILE).
const TOO_MANY_OPEN: [i32; 2] = [23, 24];

/// Reason why a use case did not do what was requested.
#[derive(Debug)]
pub enum Fail {
    /// A refusal for the caller. Boxed, because success is the common case.
    Refused(Box<Refused>),
    /// Error of the database.
    Db(DbError),
    /// Anything else that is our fault.
    Unexpected(String),
}

impl Fail {
    /// An error that is not the caller's fault, in words for the log.
    pub fn unexpected(what: impl std::fmt::Display) -> Self {
        Self::Unexpected(what.to_string())
    }

    /// An error with a file. It is answered as unavailable if the disk is full, naming what was not saved, or if the
    /// program has as many files open as allowed, because some of them will be closed in a moment.
    pub fn of_file(error: &std::io::Error, what: &str) -> Self {
        if error.kind() == std::io::ErrorKind::StorageFull {
            let detail = format!(
                "The disk is full, so the {what} can't be saved. Free some space on the disk, then send it again."
            );
            return Refused::unavailable(detail).into();
        }
        if error.raw_os_error().is_some_and(|code| TOO_MANY_OPEN.contains(&code)) {
            tracing::error!(%error, "no more files can be opened; raise the limit on open files");
            let detail =
                format!("Too many files are open right now to read or save the {what}. Try again in a moment.");
            return Refused::unavailable(detail).into();
        }
        Self::unexpected(error)
    }

    /// Whether the same transaction may succeed when run again.
    pub fn is_retry(&self) -> bool {
        matches!(self, Self::Db(error) if error.is_retry())
    }

    /// The same, with the moment that a rule named written in the shop's local time.
    #[must_use]
    pub fn on_the_wall(self, zone: &str) -> Self {
        match self {
            Self::Refused(problem) => problem.on_the_wall(zone).into(),
            other => other,
        }
    }

    /// The same, naming the existing records.
    #[must_use]
    pub fn naming_known(self, known: Vec<KnownRecord>) -> Self {
        match self {
            Self::Refused(problem) => problem.with_known(known).into(),
            other => other,
        }
    }

    /// The same with each pointer changed, for a body whose fields have other names than the rule's.
    #[must_use]
    pub fn repointed(self, change: impl Fn(&str) -> String) -> Self {
        let Self::Refused(problem) = self else { return self };
        let change = |fault: &FieldFault| FieldFault { pointer: change(&fault.pointer), ..fault.clone() };
        let faults = problem.errors().iter().map(change).collect();
        problem.with_faults(faults).into()
    }
}

impl From<DbError> for Fail {
    fn from(error: DbError) -> Self {
        Self::Db(error)
    }
}

impl From<Refused> for Fail {
    fn from(problem: Refused) -> Self {
        Self::Refused(Box::new(problem))
    }
}

impl<R: Refusal> From<R> for Fail {
    fn from(refusal: R) -> Self {
        Refused::of(&refusal).into()
    }
}

#[cfg(test)]
mod tests {
    use std::io::Error;

    use super::*;
    use crate::platform::refusal::Why;

    #[test]
    fn a_file_that_can_not_be_opened_or_written_just_now_is_no_fault_of_the_program() {
        let refused = |error: Error| match Fail::of_file(&error, "photograph") {
            Fail::Refused(refused) => Some(refused.why()),
            _ => None,
        };
        for code in TOO_MANY_OPEN {
            assert_eq!(refused(Error::from_raw_os_error(code)), Some(Why::Unavailable), "{code}");
        }
        assert_eq!(refused(std::io::ErrorKind::StorageFull.into()), Some(Why::Unavailable));
        assert_eq!(refused(std::io::ErrorKind::PermissionDenied.into()), None);
    }
}
