//! Checks whether the files of photographs match their rows.

use std::fmt;
use std::io;
use std::path::Path;

use baywright_domain::id::{PhotoId, ShopId};

use super::files;
use super::usecase::Photo;

/// Fault of a photograph's file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The photograph.
    pub photo: PhotoId,
    what: What,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum What {
    Missing,
    Damaged,
    Unreadable(String),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let what = match &self.what {
            What::Missing => "its file is missing",
            What::Damaged => "its file is damaged",
            What::Unreadable(why) => return write!(f, "photograph {}: its file can't be read: {why}", self.photo),
        };
        write!(f, "photograph {}: {what}", self.photo)
    }
}

/// Reads both files of a photograph and compares them with their digests. No transaction may be open.
pub fn check(data: &Path, shop: &ShopId, photo: &Photo) -> Option<Fault> {
    let wrong = |digest: &str| match files::read(data, shop, &photo.id, digest) {
        Ok(bytes) => (files::digest(&bytes) != digest).then_some(What::Damaged),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Some(What::Missing),
        Err(error) => Some(What::Unreadable(error.to_string())),
    };
    let what = wrong(&photo.full.digest).or_else(|| wrong(&photo.thumb.digest))?;
    Some(Fault { photo: photo.id.clone(), what })
}
