//! Reason why a database is not opened, and what to do about it.

use std::path::{Path, PathBuf};

/// Reason why a database could not be opened or brought up to date.
#[derive(Debug, thiserror::Error)]
pub enum NotOpened {
    /// The address names no engine that the program supports.
    #[error("can't use a database address that starts with {0:?}: write sqlite:PATH or postgres://USER@HOST/NAME")]
    UnknownScheme(String),
    /// The engine refused to open it.
    #[error("can't open the database: {0}")]
    Engine(String),
    /// A folder can't be made.
    #[error("can't create the folder {} for the database: {why}; create it, or name another file with --database", .folder.display())]
    Folder {
        /// The folder.
        folder: PathBuf,
        /// Error of the system.
        why: std::io::Error,
    },
    /// The user who runs the program may not write to the database's folder.
    #[error(
        "can't write to {}: {why}; let the user who runs the program write there, or name another file with --database",
        .place.display()
    )]
    NotAllowed {
        /// The database's file, or its folder: SQLite keeps files of its own beside the database.
        place: PathBuf,
        /// Error of the system.
        why: std::io::Error,
    },
    /// A migration failed.
    #[error("can't bring the database up to date: {0}")]
    Migration(String),
    /// The database is newer than the program.
    #[error(
        "the database was made by a newer program (it has the migration {0}, which this one does not know): run that \
         program or a newer one, because this one would damage the data"
    )]
    Newer(String),
    /// The database is older than the program.
    #[error("the database is older than this program: run `baywright migrate` first")]
    Behind,
}

/// Whether the user who runs the program may read the file but not write it, or not write to its folder.
#[cfg(unix)]
pub fn is_only_readable(path: &Path) -> bool {
    use rustix::fs::{Access, access};
    access(path, Access::READ_OK).is_ok() && not_allowed(path).is_some()
}

/// Unknown on this system.
#[cfg(not(unix))]
pub fn is_only_readable(_: &Path) -> bool {
    false
}

/// The file or folder that can't be written, if that is why the database was not opened.
#[cfg(unix)]
pub(super) fn not_allowed(path: &Path) -> Option<NotOpened> {
    use rustix::fs::{Access, access};
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let folder = (folder, Access::WRITE_OK | Access::EXEC_OK);
    let file = path.exists().then_some((path, Access::READ_OK | Access::WRITE_OK));
    [Some(folder), file].into_iter().flatten().find_map(|(place, wanted)| {
        let why = access(place, wanted).err()?;
        Some(NotOpened::NotAllowed { place: place.to_owned(), why: why.into() })
    })
}

/// Unknown on this system.
#[cfg(not(unix))]
pub(super) fn not_allowed(_: &Path) -> Option<NotOpened> {
    None
}
