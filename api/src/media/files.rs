//! Photographs on the disk: one file for each digest, in a folder of the shop under `--data`.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use baywright_domain::id::ShopId;
use sha2::{Digest, Sha256};

use crate::documents::canonical::hex;
use crate::platform::ids;

/// The digest that a file is kept under: SHA-256 in lower-case hex.
pub fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Where the file of a digest is.
fn path(data: &Path, shop: &ShopId, digest: &str) -> PathBuf {
    let start: String = digest.chars().take(2).collect();
    data.join("photos").join(shop.as_str()).join(start).join(format!("{digest}.jpg"))
}

/// Keeps the bytes; gives their digest. When it returns, they outlive a power cut.
///
/// # Errors
/// Where the disk does not take them.
pub fn keep(data: &Path, shop: &ShopId, bytes: &[u8]) -> io::Result<String> {
    let digest = digest(bytes);
    let file = path(data, shop, &digest);
    let folder = file.parent().unwrap_or(data).to_owned();
    if fs::metadata(&file).is_ok_and(|known| known.len() == bytes.len() as u64) {
        return Ok(digest);
    }
    fs::create_dir_all(&folder)?;
    // Under a name of its own until it is whole: nobody ever reads half a file.
    let draft = folder.join(format!("{}.part", ids::new::<String>()));
    let written = (|| {
        let mut out = File::create_new(&draft)?;
        out.write_all(bytes)?;
        out.sync_all()?;
        fs::rename(&draft, &file)?;
        settle(&folder)
    })();
    if written.is_err() {
        // What is left of a draft is of no use; the error that counts is the first.
        let _ = fs::remove_file(&draft);
    }
    written.map(|()| digest)
}

/// The bytes of a digest.
///
/// # Errors
/// Where the file is missing or can't be read.
pub fn read(data: &Path, shop: &ShopId, digest: &str) -> io::Result<Vec<u8>> {
    fs::read(path(data, shop, digest))
}

/// Removes the file of a digest; one that is gone already is fine.
///
/// # Errors
/// Where the disk does not let it go.
pub fn remove(data: &Path, shop: &ShopId, digest: &str) -> io::Result<()> {
    match fs::remove_file(path(data, shop, digest)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

/// Makes the names in a folder outlive a power cut.
#[cfg(unix)]
fn settle(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Folders can't be synced here; the file itself is.
#[cfg(not(unix))]
fn settle(_: &Path) -> io::Result<()> {
    Ok(())
}
