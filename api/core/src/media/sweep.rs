//! Deletes files of photographs that no row names: those of a process that was killed between writing the file and its
//! row, and unfinished files.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::path::Path;

use baywright_domain::id::{PhotoId, ShopId};

use super::files::{self, Found, Name};
use super::usecase::{self, Photo};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::tx::Tx;

/// Minutes for which a complete file that no row names is left alone. An upload takes a minute; the week is for
/// somebody who tries an older copy of the database with the photographs of the newer one.
const KEEP_MINUTES: i64 = 7 * 24 * 60;

/// Minutes for which an unfinished file is left alone.
const KEEP_UNFINISHED_MINUTES: i64 = 24 * 60;

/// Deletes the files that no row names in the folder of one shop.
#[derive(Debug)]
pub struct Sweeper<'a> {
    data: &'a Path,
    shop: &'a ShopId,
    found: Vec<Found>,
}

impl<'a> Sweeper<'a> {
    /// Lists the files of a shop; `None` while a database that `baywright restore` replaced exists beside `database`,
    /// since its photographs may still be needed. Call it before the rows are read, so that a file that gets its row in
    /// the meantime counts as named.
    ///
    /// # Errors
    /// If a folder can't be read.
    pub fn look(data: &'a Path, shop: &'a ShopId, database: Option<&Path>) -> Done<Option<Self>> {
        if database.is_some_and(was_set_aside) {
            return Ok(None);
        }
        let found = files::all(data, shop).map_err(Fail::unexpected)?;
        Ok(Some(Self { data, shop, found }))
    }

    /// Names that the shop's rows contain.
    pub fn named(tx: &mut Tx<'_>) -> Done<Named> {
        Ok(Named::by(usecase::all(tx)?))
    }

    /// Deletes the files that no row names and that are old enough; returns their number.
    pub fn remove(&self, named: &Named, now: UtcTime) -> usize {
        let unnamed: Vec<String> = self
            .found
            .iter()
            .filter(|file| {
                let keep = if file.is_unfinished() { KEEP_UNFINISHED_MINUTES } else { KEEP_MINUTES };
                file.written_at.plus_minutes(keep) < now && !named.has(&file.path)
            })
            .map(|file| file.path.to_string_lossy().into_owned())
            .collect();
        usecase::sweep(self.data, self.shop, &unnamed);
        if !unnamed.is_empty() {
            tracing::info!(shop = %self.shop, files = unnamed.len(), "removed files that no photograph names");
        }
        unnamed.len()
    }
}

/// Whether a database that a restore has replaced exists beside the one in use.
fn was_set_aside(database: &Path) -> bool {
    let Some(name) = database.file_name() else { return false };
    let before = format!("{}{}", name.to_string_lossy(), files::SET_ASIDE);
    let folder = database.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let starts = |name: &OsStr| name.to_string_lossy().starts_with(&before);
    std::fs::read_dir(folder).is_ok_and(|entries| entries.flatten().any(|entry| starts(&entry.file_name())))
}

/// Files that the rows of a shop name.
#[derive(Debug, Default)]
pub struct Named {
    digests: BTreeSet<String>,
    photos: BTreeMap<PhotoId, [String; 2]>,
}

impl Named {
    fn by(photos: Vec<Photo>) -> Self {
        let mut named = Self::default();
        for Photo { id, full, thumb, .. } in photos {
            named.digests.extend([full.digest.clone(), thumb.digest.clone()]);
            named.photos.insert(id, [full.digest, thumb.digest]);
        }
        named
    }

    /// Whether a row names the file; a file whose name does not have the program's form counts as named.
    fn has(&self, path: &Path) -> bool {
        match Name::parse(path) {
            Some(Name::Own { photo, digest }) => self.photos.get(&photo).is_some_and(|of| of.contains(&digest)),
            Some(Name::Shared { digest }) => self.digests.contains(&digest),
            None => path.extension().is_none_or(|ending| ending != files::UNFINISHED),
        }
    }
}
