//! What is done with photographs.

use std::path::Path;

use baywright_domain::id::{PhotoId, ShopId};
use serde_json::json;

use super::files;
use super::picture::Picture;
use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::personal::{Held, Holder, Left, Of};
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::{inspection, job};

/// Which of a photograph's files.
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
    /// When it was taken in.
    pub created_at: UtcTime,
}

impl Photo {
    /// The file of a size.
    pub fn of(&self, size: Size) -> &Stored {
        match size {
            Size::Full => &self.full,
            Size::Thumb => &self.thumb,
        }
    }
}

/// Writes both files of a picture to the disk; gives what a row says of them. No transaction may be open: files come
/// before the row that names them.
pub fn keep(data: &Path, shop: &ShopId, picture: &Picture) -> Done<(Stored, Stored)> {
    let keep = |jpeg: &super::picture::Jpeg| -> Done<Stored> {
        let digest = files::keep(data, shop, &jpeg.bytes).map_err(not_written)?;
        let fit = |side: u32| i32::try_from(side).map_err(Fail::unexpected);
        let bytes = i64::try_from(jpeg.bytes.len()).map_err(Fail::unexpected)?;
        Ok(Stored { digest, bytes, width: fit(jpeg.width)?, height: fit(jpeg.height)? })
    };
    Ok((keep(&picture.full)?, keep(&picture.thumb)?))
}

fn not_written(error: std::io::Error) -> Fail {
    tracing::error!(%error, "a photograph could not be written");
    match error.kind() {
        std::io::ErrorKind::StorageFull => Problem::unavailable(
            "The disk is full, so the photograph can't be kept. Whoever is signed in can still read. Make room on it.",
        )
        .into(),
        _ => Fail::unexpected(error),
    }
}

/// Adds the photograph whose files were kept.
pub fn add(tx: &mut Tx<'_>, full: &Stored, thumb: &Stored) -> Done<Photo> {
    let photo = Photo { id: ids::new(), full: full.clone(), thumb: thumb.clone(), created_at: tx.now };
    store::insert(tx, &photo)?;
    record::write(tx, "photo.added", ("photo", photo.id.as_str()), json!({ "digest": full.digest }))?;
    Ok(photo)
}

/// The photograph of that id.
pub fn show(tx: &mut Tx<'_>, id: &PhotoId) -> Done<Photo> {
    Ok(store::of_ids(tx, std::slice::from_ref(id))?.pop().ok_or_else(|| Problem::not_found("photograph"))?)
}

/// The photographs of those ids that there are, in no order.
pub fn of_ids(tx: &mut Tx<'_>, ids: &[PhotoId]) -> Done<Vec<Photo>> {
    Ok(store::of_ids(tx, ids)?)
}

/// The bytes of one of a photograph's files, always a JPEG. No transaction may be open.
pub fn bytes(data: &Path, shop: &ShopId, photo: &Photo, size: Size) -> Done<Vec<u8>> {
    files::read(data, shop, &photo.of(size).digest).map_err(|error| {
        tracing::error!(photo = %photo.id, %error, "a photograph's file can't be read");
        Fail::unexpected(error)
    })
}

/// Takes photographs out of the shop; gives the digests whose files nothing names any more. Remove those with
/// [`sweep`] once the transaction has ended.
pub fn forget(tx: &mut Tx<'_>, photos: &[PhotoId]) -> Done<Vec<String>> {
    let gone = store::of_ids(tx, photos)?;
    for photo in &gone {
        store::delete(tx, &photo.id)?;
        record::write(tx, "photo.removed", ("photo", photo.id.as_str()), json!({ "digest": photo.full.digest }))?;
    }
    let mut digests: Vec<String> = gone.into_iter().flat_map(|photo| [photo.full.digest, photo.thumb.digest]).collect();
    digests.sort_unstable();
    digests.dedup();
    let mut free = Vec::new();
    for digest in digests {
        if !store::is_named(tx, &digest)? {
            free.push(digest);
        }
    }
    Ok(free)
}

/// Removes files that nothing names any more; what can't be removed is logged.
pub fn sweep(data: &Path, shop: &ShopId, digests: &[String]) {
    for digest in digests {
        if let Err(error) = files::remove(data, shop, digest) {
            tracing::error!(digest, %error, "a photograph's file can't be removed");
        }
    }
}

/// What this feature holds on a customer: photographs of inspections and of the work, after whose rows it comes.
pub const HOLDER: Holder = Holder {
    feature: "media",
    held: &[
        Held { table: "photo", column: "id", of: Of::Named("inspection_photo", "photo_id") },
        Held { table: "photo", column: "id", of: Of::Named("job_note", "photos") },
    ],
    forget: |tx, leaving| {
        // The customer's own inspections and notes show none any more; what is left is another customer's as well.
        let ids = leaving.ids("photo");
        let mut others = inspection::usecase::shown(tx, &ids)?;
        others.extend(job::usecase::shown(tx, &ids)?);
        let photos: Vec<PhotoId> = ids.into_iter().filter(|id| !others.contains(id)).map(PhotoId::new).collect();
        Ok(Left { files: forget(tx, &photos)?, ..Left::default() })
    },
};
