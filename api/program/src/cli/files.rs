//! Files of backups and exports: copied completely, and synced so that they survive a power cut.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use baywright_core::media::files::{Name, make_folder};
use baywright_core::platform::canonical::hex;
use baywright_core::platform::db::snapshot::NamedPhoto;
use baywright_domain::id::PhotoId;
use sha2::{Digest, Sha256};

use super::Trouble;
use super::progress::Progress;

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

/// Copies a file's bytes but, unlike `fs::copy`, not its permissions: files made here are private. When it returns,
/// they survive a power cut.
pub(super) fn copy(from: &Path, to: &Path) -> io::Result<()> {
    let mut out = File::create(to)?;
    io::copy(&mut File::open(from)?, &mut out)?;
    out.sync_all()
}

/// Syncs the names in a folder, so that they survive a power cut, on systems that can sync folders.
pub(super) fn settle(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

/// Every file under a folder, by its path relative to it; empty if there is no such folder.
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

/// The complete photographs below a folder, by their relative paths; unfinished files are left out.
pub(super) fn photos(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = under(folder)?;
    found.retain(|path| Name::parse(path).is_some());
    Ok(found)
}

/// Whether a photograph's bytes match the digest in its name.
pub(super) fn is_whole(file: &Path) -> bool {
    Name::parse(file).is_some_and(|name| digest(file).is_ok_and(|found| found == name.digest()))
}

/// Message about a damaged photograph.
pub(super) fn damaged(file: &Path) -> Trouble {
    format!("the photograph {} is damaged: its content does not match its name", file.display()).into()
}

/// The photographs that a database names but that are missing among the files, which are given by their paths below the
/// folder of all shops' photographs.
pub(super) fn missing<'n>(named: &'n [NamedPhoto], there: &BTreeSet<PathBuf>) -> Vec<&'n NamedPhoto> {
    let has = |photo: &NamedPhoto, digest: &String| {
        let own = Name::Own { photo: PhotoId::new(&photo.id), digest: digest.clone() };
        let shared = Name::Shared { digest: digest.clone() };
        [own, shared].iter().any(|name| there.contains(&Path::new(&photo.shop_id).join(name.path())))
    };
    named.iter().filter(|photo| !has(photo, &photo.digest) || !has(photo, &photo.thumb_digest)).collect()
}

/// Result of copying photographs.
#[derive(Debug, Default)]
pub(super) struct Copied {
    /// Number of photographs that are whole where they were copied to.
    pub(super) good: usize,
    /// Originals that are damaged; they were not copied.
    pub(super) bad: Vec<PathBuf>,
}

impl Copied {
    /// Number of photographs, if none was damaged.
    pub(super) fn all_good(self) -> Result<usize, Trouble> {
        self.bad.first().map_or(Ok(self.good), |file| Err(damaged(file)))
    }
}

/// Copies the photographs below one folder to another. One that is already there is skipped; one that has disappeared
/// when its turn comes was erased, which is no fault. Every copy is checked against its name before it gets that name.
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

/// Whether a photograph was intact and is copied now; `None` if it has disappeared.
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
        // The remains of a draft are of no use; the first error is the one to report.
        let _ = fs::remove_file(&draft);
    }
    match copied {
        Err(error) if error.kind() == io::ErrorKind::NotFound && !source.exists() => Ok(None),
        whole => whole.map(Some),
    }
}

/// Creates a folder that must be new or empty.
pub(super) fn new_folder(folder: &Path) -> Result<(), Trouble> {
    if fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(format!("{} is not empty; name a new folder", folder.display()).into());
    }
    Ok(fs::create_dir_all(folder)?)
}
