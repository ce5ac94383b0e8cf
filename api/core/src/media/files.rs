//! Photographs on the disk, in a folder of the shop under `--data`.
//!
//! Each photograph has files of its own, named by the digest of their bytes and the photograph's id. Two photographs
//! with the same picture share no file, so deleting one can never delete the other's, whichever process does it and
//! however late. Files that an earlier version of the program wrote are named by the digest alone and may be shared;
//! they are still read, and are deleted with the last row that names them.
//!
//! Files shared by content would need a count that is right at every moment over all processes; a name that no other
//! row can ever have needs none. An upload checks its idempotency key first, then writes its files, then the row. If
//! the process is killed in between, a file is left that no row names, and the sweep (`api/core/src/media/sweep.rs`)
//! deletes it after a week.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use baywright_domain::id::{PhotoId, ShopId};
use sha2::{Digest, Sha256};

use crate::platform::canonical::hex;
use crate::platform::clock::UtcTime;
use crate::platform::{ids, mapped};

/// The folder under `--data` that holds every shop's photographs.
pub const FOLDER: &str = "photos";

/// Suffix of the name of a complete photograph's file.
const ENDING: &str = "jpg";

/// Suffix of the name of a file while it is written.
pub const UNFINISHED: &str = "part";

/// Text in the name of a database that `baywright restore` has replaced, between its name and the time.
pub const SET_ASIDE: &str = ".before-";

/// SHA-256 of the bytes in lower-case hex.
pub fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Folder of a shop's photographs.
pub fn folder(data: &Path, shop: &ShopId) -> PathBuf {
    data.join(FOLDER).join(shop.as_str())
}

/// A file below the folder of a shop's photographs.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Name {
    /// The file of one photograph.
    Own {
        /// The photograph.
        photo: PhotoId,
        /// SHA-256 of the bytes.
        digest: String,
    },
    /// A file of an earlier version of the program, for all photographs with these bytes.
    Shared {
        /// SHA-256 of the bytes.
        digest: String,
    },
}

impl Name {
    /// The meaning of a path below the shop's folder; `None` if no complete photograph has such a name.
    pub fn parse(path: &Path) -> Option<Self> {
        if path.extension()? != ENDING {
            return None;
        }
        let stem = path.file_stem()?.to_str()?;
        let (digest, photo) = stem.split_once('.').map_or((stem, None), |(digest, photo)| (digest, Some(photo)));
        let digest = digest.to_owned();
        Some(match photo {
            Some(photo) => Self::Own { photo: PhotoId::new(photo), digest },
            None => Self::Shared { digest },
        })
    }

    /// SHA-256 of the bytes that the file should hold.
    pub fn digest(&self) -> &str {
        match self {
            Self::Own { digest, .. } | Self::Shared { digest } => digest,
        }
    }

    /// Path below the folder of the shop's photographs.
    pub fn path(&self) -> PathBuf {
        let start: String = self.digest().chars().take(2).collect();
        let name = match self {
            Self::Own { photo, digest } => format!("{digest}.{photo}.{ENDING}"),
            Self::Shared { digest } => format!("{digest}.{ENDING}"),
        };
        Path::new(&start).join(name)
    }
}

/// Writes a file of a photograph; returns the digest of its bytes. When it returns, file and folders survive a power
/// cut.
///
/// # Errors
/// If the disk refuses it.
pub fn keep(data: &Path, shop: &ShopId, photo: &PhotoId, bytes: &[u8]) -> io::Result<String> {
    let name = Name::Own { photo: photo.clone(), digest: digest(bytes) };
    let file = folder(data, shop).join(name.path());
    let folder = file.parent().unwrap_or(data).to_owned();
    make_folder(&folder)?;
    // The file has a name of its own until it is complete: nobody ever reads half a file.
    let draft = folder.join(format!("{}.{UNFINISHED}", ids::new::<String>()));
    let written = (|| {
        let mut out = File::create_new(&draft)?;
        out.write_all(bytes)?;
        out.sync_all()?;
        fs::rename(&draft, &file)?;
        settle(&folder)
    })();
    if written.is_err() {
        // The remains of a draft are of no use; the first error is the one to report.
        let _ = fs::remove_file(&draft);
    }
    written.map(|()| name.digest().to_owned())
}

/// Path of the file of a photograph: its own, or the shared one of an earlier version; `None` if neither exists.
pub fn find(data: &Path, shop: &ShopId, photo: &PhotoId, digest: &str) -> Option<PathBuf> {
    let digest = digest.to_owned();
    [Name::Own { photo: photo.clone(), digest: digest.clone() }, Name::Shared { digest }]
        .iter()
        .map(|name| folder(data, shop).join(name.path()))
        .find(|path| path.is_file())
}

/// The bytes of a photograph's file.
///
/// # Errors
/// If the file is missing or can't be read.
pub fn read(data: &Path, shop: &ShopId, photo: &PhotoId, digest: &str) -> io::Result<Vec<u8>> {
    let mut file = File::open(find(data, shop, photo, digest).ok_or(io::ErrorKind::NotFound)?)?;
    let length = usize::try_from(file.metadata()?.len()).unwrap_or(0);
    let mut bytes = mapped::room(length);
    file.read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Deletes a file below the folder of the shop's photographs; a file that is already gone is no error.
///
/// # Errors
/// If the disk refuses to delete it.
pub fn remove(data: &Path, shop: &ShopId, path: &Path) -> io::Result<()> {
    match fs::remove_file(folder(data, shop).join(path)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

/// A file below the folder of a shop's photographs.
#[derive(Debug, Clone)]
pub struct Found {
    /// Path below that folder.
    pub path: PathBuf,
    /// Time when it was last written.
    pub written_at: UtcTime,
}

impl Found {
    /// Whether it is an unfinished file that a killed process left.
    pub fn is_unfinished(&self) -> bool {
        self.path.extension().is_some_and(|ending| ending == UNFINISHED)
    }
}

/// All files below the folder of a shop's photographs.
///
/// # Errors
/// If a folder can't be read.
pub fn all(data: &Path, shop: &ShopId) -> io::Result<Vec<Found>> {
    let top = folder(data, shop);
    let mut found = Vec::new();
    let mut open = vec![PathBuf::new()];
    while let Some(inside) = open.pop() {
        let entries = match fs::read_dir(top.join(&inside)) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
            entries => entries?,
        };
        for entry in entries {
            let entry = entry?;
            let path = inside.join(entry.file_name());
            if entry.file_type()?.is_dir() {
                open.push(path);
                continue;
            }
            match entry.metadata().and_then(|about| about.modified()) {
                Ok(at) => found.push(Found { path, written_at: chrono::DateTime::<chrono::Utc>::from(at).into() }),
                // The file was deleted since the folder was read.
                Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                Err(error) => return Err(error),
            }
        }
    }
    Ok(found)
}

/// Creates a folder and its missing parents. Each new one survives a power cut: its name is an entry of its parent,
/// which has to be synced for that.
///
/// # Errors
/// If one can't be created.
pub fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.as_os_str().is_empty() || folder.is_dir() {
        return Ok(());
    }
    let parent = folder.parent().unwrap_or(Path::new(""));
    make_folder(parent)?;
    match fs::create_dir(folder) {
        // Another upload created it at the same moment, and may not have synced it yet.
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(error),
        _ => {}
    }
    settle(if parent.as_os_str().is_empty() { Path::new(".") } else { parent })
}

/// Syncs the names in a folder, so that they survive a power cut.
#[cfg(unix)]
pub fn settle(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Folders can't be synced on this system.
#[cfg(not(unix))]
pub fn settle(_: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_files_name_says_which_photograph_it_is_of_and_what_it_should_hold() {
        let own = Name::Own { photo: PhotoId::new("0198c0de-0000-7000-8000-000000000001"), digest: digest(b"a") };
        let shared = Name::Shared { digest: digest(b"a") };
        for name in [own, shared] {
            assert_eq!(Name::parse(&name.path()), Some(name.clone()));
            assert!(name.path().starts_with(&digest(b"a")[..2]));
        }
        assert_eq!(Name::parse(Path::new("ab/0198c0de.part")), None);
    }

    #[test]
    fn the_file_of_an_earlier_program_is_found_and_the_photographs_own_comes_first() {
        let data = tempfile::tempdir().unwrap();
        let (shop, photo) = (ShopId::new("shop"), PhotoId::new("photo"));
        let sum = digest(b"picture");
        assert_eq!(find(data.path(), &shop, &photo, &sum), None);
        let shared = folder(data.path(), &shop).join(Name::Shared { digest: sum.clone() }.path());
        make_folder(shared.parent().unwrap()).unwrap();
        fs::write(&shared, b"picture").unwrap();
        assert_eq!(find(data.path(), &shop, &photo, &sum), Some(shared));
        assert_eq!(keep(data.path(), &shop, &photo, b"picture").unwrap(), sum);
        let own = folder(data.path(), &shop).join(Name::Own { photo: photo.clone(), digest: sum.clone() }.path());
        assert_eq!(find(data.path(), &shop, &photo, &sum), Some(own));
        assert_eq!(all(data.path(), &shop).unwrap().len(), 2);
    }
}
