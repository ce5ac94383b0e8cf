//! `baywright backup`: copies the embedded database and the photographs into a folder.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use baywright_core::platform::clock::Clock;
use baywright_core::platform::config::Store;
use baywright_core::platform::db::{embedded_file, snapshot};
use clap::Args;
use serde::{Deserialize, Serialize};

use super::progress::Progress;
use super::{Trouble, files};

/// File name of the database in a backup.
pub(super) const DATABASE: &str = "baywright.db";
pub(super) const PHOTOS: &str = "photos";
pub(super) const ABOUT: &str = "backup.json";

/// Description of a backup, stored beside it.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct About {
    /// Time when it was begun.
    pub(super) made_at: String,
    /// Version of the program that made it.
    pub(super) program: String,
    /// SHA-256 of the database.
    pub(super) database_sha256: String,
    /// Number of files of photographs it has, thumbnails included.
    pub(super) photos: usize,
    /// Number of photographs that the database names, but whose files were missing or damaged when it was made.
    #[serde(default)]
    pub(super) missing: usize,
}

/// Long help of the command, after the options.
const HELP: &str = "Keep backups on another machine, and test from time to time that one can be restored. The service \
    can keep running: the database is copied as it is at one moment, and photographs are copied before and after it, \
    so that none is missing.\n\nThis is for the embedded database. Copy a PostgreSQL database with its own \
    tools:\n\n\x20 pg_dump --format=custom --file=baywright.dump \"$BAYWRIGHT_DATABASE\"\n\n\x20 pg_restore --clean \
    --if-exists --no-owner --dbname=\"$BAYWRIGHT_DATABASE\" baywright.dump\n\nAfter the database, also copy the folder \
    photos under --data.";

#[derive(Debug, Args)]
#[command(after_long_help = HELP)]
pub(super) struct Arguments {
    /// The folder to create, such as /backups/2026-03-28; it must be new or empty
    #[arg(long)]
    to: PathBuf,
}

pub(super) fn run(store: &Store, arguments: &Arguments) -> Result<(), Trouble> {
    let file = embedded_file(&store.database).ok_or(
        "this is for the embedded database: copy a PostgreSQL database with pg_dump, see `baywright backup --help`",
    )?;
    if !file.is_file() {
        return Err(format!("there is no database at {}", file.display()).into());
    }
    files::new_folder(&arguments.to)?;
    let about = copy(&file, &store.data, &arguments.to)?;
    println!("Copied the database and {} photographs to {}.", about.photos, arguments.to.display());
    if about.missing > 0 {
        let lost = about.missing;
        return Err(format!(
            "the backup can be used, but photographs were already missing or damaged ({lost}): `baywright verify` \
             lists them; look for them in an older backup"
        )
        .into());
    }
    Ok(())
}

fn copy(file: &Path, data: &Path, to: &Path) -> Result<About, Trouble> {
    let made_at = Clock::system().now().to_string();
    let database = to.join(DATABASE);
    // Photographs are copied before the database, so that those of a customer who is erased meanwhile are included; and
    // again after it, for new ones: a photograph's file exists before the row that names it.
    files::copy_photos(&data.join(PHOTOS), &to.join(PHOTOS))?;
    {
        let _shown = Progress::unknown("Copying the database");
        snapshot::copy(file, &database)?;
        fs::File::open(&database)?.sync_all()?;
        snapshot::check(&database)?;
    }
    files::copy_photos(&data.join(PHOTOS), &to.join(PHOTOS))?;
    let there: BTreeSet<PathBuf> = files::photos(&to.join(PHOTOS))?.into_iter().collect();
    let missing = files::missing(&snapshot::photos(&database)?, &there).len();
    let program = format!("baywright {}", env!("CARGO_PKG_VERSION"));
    let about = About { made_at, program, database_sha256: files::digest(&database)?, photos: there.len(), missing };
    // It is written last: a backup without it is incomplete.
    let draft = to.join("backup.json.part");
    fs::write(&draft, serde_json::to_string_pretty(&about)? + "\n")?;
    fs::File::open(&draft)?.sync_all()?;
    fs::rename(&draft, to.join(ABOUT))?;
    files::settle(to)?;
    Ok(about)
}
