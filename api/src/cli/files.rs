//! Files of backups and exports: copied whole, and made to outlive a power cut.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use baywright_domain::id::PhotoId;
use sha2::{Digest, Sha256};

use super::Trouble;
use super::progress::Progress;
use crate::media::files::{Name, make_folder};
use crate::platform::canonical::hex;
use crate::platform::db::snapshot::NamedPhoto;

/// SHA-256 of a file in lower-case hex.
pub(super) fn digest(file: &Path) -> io::Result<String> {
    let mut sum = Sha256::new();
    let mut input = File::open(file)?;
    let mut piece = vec![0; 1 << 16];
    loop {
        match io::Read::read(&mut input, &mut piece)? {
            0 => return Ok(hex(&sum.finalize())),
            count => sum.update(&piece[..count]),
        }
    }
}

/// Copies a file's bytes, and not who may read it as `fs::copy` would: what is made here is private. When it returns, they
/// outlive a power cut.
pub(super) fn copy(from: &Path, to: &Path) -> io::Result<()> {
    let mut out = File::create(to)?;
    io::copy(&mut File::open(from)?, &mut out)?;
    out.sync_all()
}

/// Makes the names in a folder outlive a power cut, if folders can be synced.
pub(super) fn settle(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

/// Every file under a folder, by its path from there; none if there is no such folder.
pub(super) fn under(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    let mut left = vec![PathBuf::new()];
    while let Some(inside) = left.pop() {
        let entries = match fs::read_dir(folder.join(&inside)) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
            entries => entries?,
        };
        for entry in entries {
            let entry = entry?;
            let path = inside.join(entry.file_name());
            if entry.file_type()?.is_dir() { left.push(path) } else { found.push(path) }
        }
    }
    found.sort_unstable();
    Ok(found)
}

/// The finished photographs below a folder, by their paths from there; half-written ones are left out.
pub(super) fn photos(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = under(folder)?;
    found.retain(|path| Name::parse(path).is_some());
    Ok(found)
}

/// Whether a photograph's bytes are those that it is named by.
pub(super) fn is_whole(file: &Path) -> bool {
    Name::parse(file).is_some_and(|name| digest(file).is_ok_and(|found| found == name.digest()))
}

/// What is said of a photograph that is not whole.
pub(super) fn damaged(file: &Path) -> Trouble {
    format!("the photograph {} is damaged: its content does not match its name", file.display()).into()
}

/// The photographs that a database names and that are not among the files, given by their paths below the folder of all
/// shops' photographs.
pub(super) fn missing<'n>(named: &'n [NamedPhoto], there: &BTreeSet<PathBuf>) -> Vec<&'n NamedPhoto> {
    let has = |photo: &NamedPhoto, digest: &String| {
        let own = Name::Own { photo: PhotoId::new(&photo.id), digest: digest.clone() };
        let shared = Name::Shared { digest: digest.clone() };
        [own, shared].iter().any(|name| there.contains(&Path::new(&photo.shop_id).join(name.path())))
    };
    named.iter().filter(|photo| !has(photo, &photo.digest) || !has(photo, &photo.thumb_digest)).collect()
}

/// What came of copying photographs.
#[derive(Debug, Default)]
pub(super) struct Copied {
    /// Number of photographs that are whole where they were copied to.
    pub(super) good: usize,
    /// Originals that are damaged; they were not copied.
    pub(super) bad: Vec<PathBuf>,
}

impl Copied {
    /// How many there are, if none was damaged.
    pub(super) fn all_good(self) -> Result<usize, Trouble> {
        self.bad.first().map_or(Ok(self.good), |file| Err(damaged(file)))
    }
}

/// Copies the photographs below one folder to another. One that is whole there already is left; one that is gone when its
/// turn comes was erased, and is no fault. Every copy is checked against its name before it gets it.
pub(super) fn copy_photos(from: &Path, to: &Path) -> Result<Copied, Trouble> {
    let all = photos(from)?;
    let shown = Progress::of("Copying photographs", all.len());
    let mut copied = Copied::default();
    for path in all {
        let (source, target) = (from.join(&path), to.join(&path));
        match copy_photo(&source, &target).map_err(|error| format!("can't copy {}: {error}", source.display()))? {
            Some(true) => copied.good += 1,
            Some(false) => copied.bad.push(source),
            None => {}
        }
        shown.done(1);
    }
    Ok(copied)
}

/// Whether a photograph was whole and is copied now; `None` if it is gone.
fn copy_photo(source: &Path, target: &Path) -> io::Result<Option<bool>> {
    if is_whole(target) {
        return Ok(Some(true));
    }
    if !source.exists() {
        return Ok(None);
    }
    let folder = target.parent().unwrap_or(Path::new("."));
    make_folder(folder)?;
    let draft = target.with_extension("part");
    let copied = copy(source, &draft).and_then(|()| {
        let name = Name::parse(target);
        let whole = name.is_some_and(|name| digest(&draft).is_ok_and(|found| found == name.digest()));
        if whole {
            fs::rename(&draft, target)?;
            settle(folder)?;
        }
        Ok(whole)
    });
    if !matches!(copied, Ok(true)) {
        // What is left of a draft is of no use; the error that counts is the first.
        let _ = fs::remove_file(&draft);
    }
    match copied {
        Err(error) if error.kind() == io::ErrorKind::NotFound && !source.exists() => Ok(None),
        whole => whole.map(Some),
    }
}

/// Makes a folder that must be new or empty.
pub(super) fn new_folder(folder: &Path) -> Result<(), Trouble> {
    if fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(format!("{} is not empty; name a new folder", folder.display()).into());
    }
    Ok(fs::create_dir_all(folder)?)
}
