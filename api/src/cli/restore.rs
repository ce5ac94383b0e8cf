//! `baywright restore`: puts a backup back.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;

use super::backup::{ABOUT, About, DATABASE, PHOTOS};
use super::{Trouble, files};
use crate::platform::clock::Clock;
use crate::platform::config::Store;
use crate::platform::db::{embedded_file, snapshot};

/// What `--help` teaches beside the options.
const HELP: &str = "The backup is checked first: its digest, the soundness of the database, and whether this program knows all \
    that is in it. Stop the service before. With --overwrite the database that is there is kept beside the new \
    one under another name; photographs are added to those that are there.\n\n\
    Mails that waited when the backup was made go out once the service starts; those that went out since go out \
    again, with the Message-ID they had.";

#[derive(Debug, Args)]
#[command(after_long_help = HELP)]
pub(super) struct Arguments {
    /// The folder that `baywright backup` made
    folder: PathBuf,
    /// Put the backup in the place of the database that is there
    #[arg(long)]
    overwrite: bool,
}

pub(super) fn run(store: &Store, arguments: &Arguments) -> Result<(), Trouble> {
    let file = embedded_file(&store.database).ok_or(
        "this is for the embedded database: put a PostgreSQL database back with pg_restore, see `baywright backup --help`",
    )?;
    let about = checked(&arguments.folder)?;
    if file.exists() {
        if !arguments.overwrite {
            let told = "say --overwrite to put the backup in its place; it is then kept under another name";
            return Err(format!("there is a database at {} already: {told}", file.display()).into());
        }
        let kept = put_aside(&file)?;
        println!("The database that was there is kept as {}.", kept.display());
    }
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let photos = files::copy_photos(&arguments.folder.join(PHOTOS), &store.data.join(PHOTOS))?;
    // Under a name of its own until it is whole: a service that starts meanwhile finds all of it or nothing.
    let draft = folder.join(format!("{DATABASE}.part"));
    files::copy(&arguments.folder.join(DATABASE), &draft)?;
    fs::rename(&draft, &file)?;
    files::settle(folder)?;
    println!(
        "Put back the database of {} and {photos} photographs. Check them with `baywright verify`.",
        about.made_at
    );
    Ok(())
}

fn checked(folder: &Path) -> Result<About, Trouble> {
    let text = fs::read_to_string(folder.join(ABOUT))
        .map_err(|_| format!("{} is no finished backup: it has no file {ABOUT}", folder.display()))?;
    let about: About = serde_json::from_str(&text)?;
    let database = folder.join(DATABASE);
    if files::digest(&database)? != about.database_sha256 {
        return Err("the backup is damaged: its database is not the one that was copied. Take another backup".into());
    }
    snapshot::check(&database)?;
    Ok(about)
}

/// Renames the database that is there, if no service has it open.
fn put_aside(file: &Path) -> Result<PathBuf, Trouble> {
    if snapshot::is_in_use(file)? {
        return Err(format!("the database at {} is in use: stop the service first", file.display()).into());
    }
    let now = Clock::system().now().to_string().replace([':', '.'], "-");
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let kept = file.with_file_name(format!("{name}.before-{now}"));
    fs::rename(file, &kept)?;
    // What waited in the log of writes is in the file by now; a log that stayed would be taken for the new file's.
    for ending in ["-wal", "-shm"] {
        let beside = file.with_file_name(format!("{name}{ending}"));
        if beside.exists() {
            fs::rename(&beside, kept.with_file_name(format!("{name}.before-{now}{ending}")))?;
        }
    }
    Ok(kept)
}
