//! Makes all files of the program private to the user who runs it.
//!
//! The process's mask (umask) does that, not a mode at each place that creates a file, because SQLite creates some of
//! them itself.

/// From now on every new file is made with mode 0600 and every new folder with 0700, whatever the shell's own mask is.
///
/// Database, write-ahead log, photographs, mails, backups and exports hold customers' names and addresses, and each is
/// made at another place, some by SQLite itself; the process's mask is the one place that covers all that is new. What was
/// there before keeps its mode, and SQLite gives the files beside a database that of the database. Whoever wants to give a
/// group a backup changes its mode afterwards.
#[cfg(unix)]
pub(super) fn keep() {
    rustix::process::umask(rustix::fs::Mode::from_raw_mode(0o077));
}

/// Here a file is its folder's owner's from the start.
#[cfg(not(unix))]
pub(super) fn keep() {}
