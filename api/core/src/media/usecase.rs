//! Use cases of photographs.

use std::path::Path;

use baywright_domain::id::{PhotoId, ShopId};
use serde_json::json;

use super::files::{self, Name};
use super::picture::Picture;
use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::personal::{Held, Holder, Left, Of};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// Kind of a photograph's file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// The photograph itself.
    Full,
    /// The thumbnail.
    Thumb,
}

/// A file of a photograph as its row names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stored {
    /// SHA-256 of the file.
    pub digest: String,
    /// Its size in bytes.
    pub bytes: i64,
    /// Its width in pixels.
    pub width: i32,
    /// Its height in pixels.
    pub height: i32,
}

/// A photograph.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photo {
    /// The photograph's id.
    pub id: PhotoId,
    /// The photograph.
    pub full: Stored,
    /// The thumbnail.
    pub thumb: Stored,
    /// Time when it was uploaded.
    pub created_at: UtcTime,
}

impl Photo {
    /// The file of that kind.
    pub fn of(&self, size: Size) -> &Stored {
        match size {
            Size::Full => &self.full,
            Size::Thumb => &self.thumb,
        }
    }
}

/// Both files of a new photograph, which are written before the row that names them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Files {
    /// Id that the photograph will have.
    pub id: PhotoId,
    /// The photograph.
    pub full: Stored,
    /// The thumbnail.
    pub thumb: Stored,
}

impl Files {
    /// Paths of both files below the folder of the shop's photographs.
    pub fn paths(&self) -> Vec<String> {
        paths(&self.id, [&self.full, &self.thumb])
    }
}

fn paths(photo: &PhotoId, of: [&Stored; 2]) -> Vec<String> {
    of.map(|file| path(&Name::Own { photo: photo.clone(), digest: file.digest.clone() })).to_vec()
}

fn path(name: &Name) -> String {
    name.path().to_string_lossy().into_owned()
}

/// Writes both files of a new photograph. No transaction may be open: files are written before the row that names them.
/// If no row follows, give their paths to [`sweep`].
pub fn keep(data: &Path, shop: &ShopId, picture: &Picture) -> Done<Files> {
    let id: PhotoId = ids::new();
    let keep = |jpeg: &super::picture::Jpeg| -> Done<Stored> {
        let digest = files::keep(data, shop, &id, &jpeg.bytes).map_err(not_written)?;
        let fit = |side: u32| i32::try_from(side).map_err(Fail::unexpected);
        let bytes = i64::try_from(jpeg.bytes.len()).map_err(Fail::unexpected)?;
        Ok(Stored { digest, bytes, width: fit(jpeg.width)?, height: fit(jpeg.height)? })
    };
    let full = keep(&picture.full)?;
    match keep(&picture.thumb) {
        Ok(thumb) => Ok(Files { id, full, thumb }),
        Err(fail) => {
            sweep(data, shop, &paths(&id, [&full, &full]));
            Err(fail)
        }
    }
}

fn not_written(error: std::io::Error) -> Fail {
    tracing::error!(%error, "a photograph could not be written");
    Fail::of_file(&error, "photograph")
}

/// Adds the photograph whose files were kept.
///
/// # Errors
/// `Unavailable` if its files are gone: the sweep may have deleted them while the process was suspended for days.
pub fn add(tx: &mut Tx<'_>, kept: &Files) -> Done<Photo> {
    let there = |file: &Stored| files::find(&tx.config.data, &tx.studio.id, &kept.id, &file.digest).is_some();
    if !there(&kept.full) || !there(&kept.thumb) {
        return Err(Refused::unavailable(
            "The photograph's file was removed in the meantime. Send the photograph again.",
        )
        .into());
    }
    let Files { id, full, thumb } = kept.clone();
    let photo = Photo { id, full, thumb, created_at: tx.now };
    store::insert(tx, &photo)?;
    record::write(tx, "photo.added", ("photo", photo.id.as_str()), json!({ "digest": photo.full.digest }))?;
    Ok(photo)
}

/// The photograph with that id.
pub fn show(tx: &mut Tx<'_>, id: &PhotoId) -> Done<Photo> {
    Ok(store::of_ids(tx, std::slice::from_ref(id))?.pop().ok_or_else(|| Refused::not_found("photograph"))?)
}

/// Whether the shop has a photograph of that id.
pub fn is_there(tx: &mut Tx<'_>, id: &PhotoId) -> Done<bool> {
    Ok(!store::of_ids(tx, std::slice::from_ref(id))?.is_empty())
}

/// All photographs of the shop, oldest first.
pub fn all(tx: &mut Tx<'_>) -> Done<Vec<Photo>> {
    Ok(store::all(tx)?)
}

/// The photographs with those ids, in no order; unknown ids are left out.
pub fn of_ids(tx: &mut Tx<'_>, ids: &[PhotoId]) -> Done<Vec<Photo>> {
    Ok(store::of_ids(tx, ids)?)
}

/// The bytes of one of a photograph's files, always a JPEG. No transaction may be open.
pub fn bytes(data: &Path, shop: &ShopId, photo: &Photo, size: Size) -> Done<Vec<u8>> {
    files::read(data, shop, &photo.id, &photo.of(size).digest).map_err(|error| {
        tracing::error!(photo = %photo.id, %error, "a photograph's file can't be read");
        Fail::of_file(&error, "photograph")
    })
}

/// Deletes photographs of the shop; returns the paths of their files. Delete those with [`sweep`] after the transaction
/// has ended.
pub fn forget(tx: &mut Tx<'_>, photos: &[PhotoId]) -> Done<Vec<String>> {
    let gone = store::of_ids(tx, photos)?;
    for photo in &gone {
        store::delete(tx, &photo.id)?;
        record::write(tx, "photo.removed", ("photo", photo.id.as_str()), json!({ "digest": photo.full.digest }))?;
    }
    let mut free: Vec<String> = gone.iter().flat_map(|photo| paths(&photo.id, [&photo.full, &photo.thumb])).collect();
    for digest in gone.into_iter().flat_map(|photo| [photo.full.digest, photo.thumb.digest]) {
        // A shared file of an earlier version: the program writes no more of them, so no new row can name it.
        if !store::is_named(tx, &digest)? {
            free.push(path(&Name::Shared { digest }));
        }
    }
    free.sort_unstable();
    free.dedup();
    Ok(free)
}

/// Deletes files, by their paths below the folder of the shop's photographs; a file that can't be deleted is logged.
pub fn sweep(data: &Path, shop: &ShopId, paths: &[String]) {
    for path in paths {
        if let Err(error) = files::remove(data, shop, Path::new(path)) {
            tracing::error!(path, %error, "a photograph's file can't be removed");
        }
    }
}

/// Data that this feature holds about a customer: photographs of inspections and of the work, whose rows are erased
/// before.
pub const HOLDER: Holder = Holder {
    feature: "media",
    held: &[
        Held { table: "photo", column: "id", of: Of::Named("inspection_photo", "photo_id") },
        Held { table: "photo", column: "id", of: Of::Named("job_note", "photos") },
    ],
    forget: |tx, leaving| {
        // The customer's own inspections and notes no longer show any; the remaining photographs are shown for another
        // customer as well.
        let ids = leaving.ids("photo");
        let mut others: Vec<String> = Vec::new();
        for shown in &leaving.photos_shown_by {
            others.extend(shown(tx, &ids)?);
        }
        let photos: Vec<PhotoId> = ids.into_iter().filter(|id| !others.contains(id)).map(PhotoId::new).collect();
        Ok(Left { files: forget(tx, &photos)?, ..Left::default() })
    },
};
