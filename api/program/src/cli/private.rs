//! Makes all files of the program private to the user who runs it.
//!
//! The process's mask (umask) does that, not a mode at each place that creates a file, because SQLite creates some of
//! them itself.

/// From now on every new file gets mode 0600 and every new folder 0700, whatever the shell's own mask is.
///
/// Database, write-ahead log, photographs, mails, backups and exports contain customers' names and addresses, and each
/// is created in a different place, some by SQLite itself; the process's mask is the one place that covers all new
/// files. Existing files keep their mode, and SQLite gives the files beside a database the mode of the database. To
/// share a backup with a group, change its mode afterwards.
#[cfg(unix)]
pub(super) fn keep() {
    rustix::process::umask(rustix::fs::Mode::from_raw_mode(0o077));
}

/// On this system a new file belongs to its folder's owner from the start.
#[cfg(not(unix))]
pub(super) fn keep() {}
