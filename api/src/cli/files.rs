//! Files of backups and exports: copied whole, and made to outlive a power cut.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use crate::documents::canonical::hex;

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

/// Makes the names in a folder outlive a power cut, where folders can be synced.
pub(super) fn settle(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

/// Every file under a folder, by its path from there; none where there is no such folder.
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

/// Copies the photographs below one folder to another; gives how many there are now. Those that are there already are
/// left, since a photograph's name is the digest of its bytes, and half-written ones stay behind. Every copy is checked
/// against its name.
pub(super) fn copy_photos(from: &Path, to: &Path) -> Result<usize, super::Trouble> {
    let mut count = 0;
    for path in under(from)? {
        if path.extension().is_none_or(|ending| ending != "jpg") {
            continue;
        }
        let (source, target) = (from.join(&path), to.join(&path));
        count += 1;
        if target.is_file() {
            continue;
        }
        let folder = target.parent().unwrap_or(to);
        fs::create_dir_all(folder)?;
        copy(&source, &target)?;
        settle(folder)?;
        if path.file_stem().is_none_or(|name| digest(&target).ok().as_deref() != name.to_str()) {
            return Err(format!(
                "the photograph {} is damaged: its bytes are not those it is named by",
                source.display()
            )
            .into());
        }
    }
    Ok(count)
}

/// Makes a folder that must be new or empty.
pub(super) fn new_folder(folder: &Path) -> Result<(), super::Trouble> {
    if fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(format!("{} is not empty; name a folder that is not there yet", folder.display()).into());
    }
    Ok(fs::create_dir_all(folder)?)
}
