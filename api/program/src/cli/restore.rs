//! `baywright restore`: restores a backup.
//!
//! All of the backup is checked and copied beside the database before anything is swapped. In the swap, the live
//! database gets its second name by a hard link before the new one takes its place. So at no moment is there no
//! database: a service that starts just then would otherwise create an empty one.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use baywright_core::media::files::SET_ASIDE;
use baywright_core::platform::clock::Clock;
use baywright_core::platform::config::Store;
use baywright_core::platform::db::{embedded_file, snapshot};
use clap::Args;

use super::backup::{ABOUT, About, DATABASE, PHOTOS};
use super::progress::Progress;
use super::{Trouble, files};

/// Long help of the command, after the options.
const HELP: &str = "Stop the service first. The whole backup is checked before anything is changed: the database's \
    digest and structure, whether this program knows everything in it, and every photograph. Then it is copied beside \
    the existing database, and replaces it as the last step, so that a bad backup or a full disk changes nothing. With \
    --overwrite, the existing database is kept beside the new one under another name; photographs are added to the \
    existing ones.\n\nMails that were waiting when the backup was made are sent when the service starts. Those that \
    were sent since then are sent again, with the same Message-ID.";

#[derive(Debug, Args)]
#[command(after_long_help = HELP)]
pub(super) struct Arguments {
    /// Folder that `baywright backup` created
    folder: PathBuf,
    /// Replace the existing database with the backup
    #[arg(long)]
    overwrite: bool,
}

pub(super) fn run(store: &Store, arguments: &Arguments) -> Result<(), Trouble> {
    let file = embedded_file(&store.database).ok_or(
        "this is for the embedded database: restore a PostgreSQL database with pg_restore, see `baywright backup \
         --help`",
    )?;
    let existed = file.exists();
    if existed {
        if !arguments.overwrite {
            let told = "use --overwrite to replace it with the backup; it is then kept under another name";
            return Err(format!("there is already a database at {}: {told}", file.display()).into());
        }
        unused(&file)?;
    }
    let about = checked(&arguments.folder)?;
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let photos = files::copy_photos(&arguments.folder.join(PHOTOS), &store.data.join(PHOTOS))
        .and_then(files::Copied::all_good)
        .map_err(unchanged)?;
    // The copy has a name of its own until it is complete: a service that starts meanwhile finds all of it or nothing.
    let draft = folder.join(format!("{DATABASE}.part"));
    let copied = copy_checked(&arguments.folder.join(DATABASE), &draft, &about.database_sha256);
    let kept = copied.and_then(|()| {
        if file.exists() {
            unused(&file)?;
        }
        Ok(swap(&file, &draft)?)
    });
    let kept = kept.map_err(|trouble| {
        // The draft is of no use any more; the first error is the one to report.
        let _ = fs::remove_file(&draft);
        unchanged(trouble)
    })?;
    files::settle(folder)?;
    if let Some(kept) = kept {
        let what = if existed { "The earlier database" } else { "What was left of an earlier database" };
        println!("{what} is kept as {}.", kept.display());
    }
    println!(
        "Restored the database of {} and {photos} photographs. Check them with `baywright verify`.",
        about.made_at
    );
    Ok(())
}

/// Message when a restore fails after the checks.
fn unchanged(trouble: Trouble) -> Trouble {
    format!("{trouble}. Nothing was restored; an existing database was not changed").into()
}

/// Refuses the request while a service has the database open.
pub(super) fn unused(file: &Path) -> Result<(), Trouble> {
    if snapshot::is_in_use(file)? {
        return Err(format!("the database at {} is in use: stop the service first", file.display()).into());
    }
    Ok(())
}

/// Checks all of a backup before anything is touched.
fn checked(folder: &Path) -> Result<About, Trouble> {
    let text = fs::read_to_string(folder.join(ABOUT))
        .map_err(|_| format!("{} is not a finished backup: it has no file {ABOUT}", folder.display()))?;
    let about: About = serde_json::from_str(&text)?;
    let database = folder.join(DATABASE);
    if files::digest(&database)? != about.database_sha256 {
        return Err("the backup is damaged: its database is not the one that was copied. Use another backup".into());
    }
    snapshot::check(&database)?;
    check_photos(&folder.join(PHOTOS), &about, &snapshot::photos(&database)?)?;
    Ok(about)
}

/// Checks that every photograph is intact, that none was lost since the backup was made, and that all photographs which
/// the database names exist.
fn check_photos(folder: &Path, about: &About, named: &[snapshot::NamedPhoto]) -> Result<(), Trouble> {
    let all = files::photos(folder)?;
    if all.len() != about.photos {
        return Err(format!(
            "the backup is incomplete: it has {} files of photographs, but {} were copied. Use another backup",
            all.len(),
            about.photos
        )
        .into());
    }
    let shown = Progress::of("Checking photographs", all.len());
    for path in &all {
        if !files::is_whole(&folder.join(path)) {
            return Err(files::damaged(&folder.join(path)));
        }
        shown.done(1);
    }
    let there: BTreeSet<PathBuf> = all.into_iter().collect();
    let missing = files::missing(named, &there).len();
    if missing > about.missing {
        return Err(format!(
            "the backup is incomplete: it lacks {missing} photographs that its database names. Use another backup"
        )
        .into());
    }
    Ok(())
}

/// Copies the database and compares the copy with the digest of the original.
fn copy_checked(from: &Path, to: &Path, digest: &str) -> Result<(), Trouble> {
    let _shown = Progress::unknown("Copying the database");
    files::copy(from, to).map_err(|error| format!("can't write {}: {error}", to.display()))?;
    if files::digest(to)? == digest {
        Ok(())
    } else {
        Err("the copy of the database is damaged: check the disk".into())
    }
}

/// Suffixes of the files that SQLite keeps beside a database. A file that stayed would be taken for the new database's
/// and replayed into it.
const BESIDE: [&str; 3] = ["-wal", "-shm", "-journal"];

/// Puts the draft in the place of the database; returns the name under which the earlier one is kept. If anything
/// fails, everything is as it was before.
fn swap(file: &Path, draft: &Path) -> io::Result<Option<PathBuf>> {
    let now = Clock::system().now().to_string().replace([':', '.'], "-");
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let aside = |ending: &str| file.with_file_name(format!("{name}{SET_ASIDE}{now}{ending}"));
    let mut moved: Vec<(PathBuf, PathBuf)> = Vec::new();
    let mut linked = None;
    let swapped = (|| {
        for ending in BESIDE {
            let beside = file.with_file_name(format!("{name}{ending}"));
            if beside.exists() {
                fs::rename(&beside, aside(ending))?;
                moved.push((beside, aside(ending)));
            }
        }
        if file.exists() {
            let kept = aside("");
            // The second name comes first, so that there is always a database: without one, a service would create an
            // empty database.
            if fs::hard_link(file, &kept).is_err() {
                fs::rename(file, &kept)?;
                moved.push((file.to_owned(), kept.clone()));
            }
            linked = Some(kept);
        }
        fs::rename(draft, file)
    })();
    match swapped {
        Ok(()) => Ok(linked.or_else(|| moved.first().map(|(_, to)| to.clone()))),
        Err(error) => {
            for (from, to) in moved.iter().rev() {
                fs::rename(to, from)?;
            }
            if let Some(kept) = linked.filter(|kept| kept.exists()) {
                fs::remove_file(kept)?;
            }
            Err(error)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_swap_that_fails_leaves_all_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("shop.db");
        for (name, text) in [("shop.db", "live"), ("shop.db-wal", "log"), ("shop.db-shm", "index")] {
            fs::write(folder.path().join(name), text).unwrap();
        }
        let before = names(folder.path());
        assert!(swap(&file, &folder.path().join("no-such-draft")).is_err());
        assert_eq!(names(folder.path()), before);
        assert_eq!(fs::read_to_string(&file).unwrap(), "live");
        assert_eq!(fs::read_to_string(folder.path().join("shop.db-wal")).unwrap(), "log");
    }

    #[test]
    fn what_lay_beside_a_database_is_put_aside_with_it_and_also_without_it() {
        for main in [true, false] {
            let folder = tempfile::tempdir().unwrap();
            let (file, draft) = (folder.path().join("shop.db"), folder.path().join("draft"));
            fs::write(&draft, "new").unwrap();
            for ending in BESIDE {
                fs::write(folder.path().join(format!("shop.db{ending}")), ending).unwrap();
            }
            if main {
                fs::write(&file, "live").unwrap();
            }
            let kept = swap(&file, &draft).unwrap().unwrap();
            assert_eq!(fs::read_to_string(&file).unwrap(), "new");
            assert_eq!(names(folder.path()).len(), if main { 5 } else { 4 });
            assert!(names(folder.path()).iter().all(|name| name == "shop.db" || name.contains(SET_ASIDE)));
            assert_eq!(fs::read_to_string(kept).unwrap(), if main { "live" } else { "-wal" });
        }
    }
}
