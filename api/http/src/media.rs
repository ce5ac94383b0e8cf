//! Photographs over HTTP.

use std::path::PathBuf;
use std::time::Duration;

use actix_web::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE, ETAG};
use actix_web::web::Path;
use actix_web::{HttpResponse, get, post};
use baywright_core::media::picture;
use baywright_core::media::usecase::{self, Files, Photo, Size};
use baywright_core::platform::identity::{Audience, Crew};
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::{PhotoId, ShopId};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Created, item};
use crate::platform::call::{Call, blocking};
use crate::platform::etag::IfNoneMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::page::PageWrite;
use crate::platform::problem::Problem;
use crate::platform::turn::HeavyWork;
use crate::platform::upload::{FileKind, Upload};
use crate::platform::wire::{Instant, Reference};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(create).service(show).service(thumbnail).service(details);
}

/// An uploaded photograph.
#[derive(Debug)]
pub struct Incoming;

impl FileKind for Incoming {
    const MEDIA_TYPES: &'static [&'static str] = &["image/jpeg", "image/png", "image/webp"];
    const BYTES: usize = picture::MAX_BYTES;
}

/// Decoding takes much memory for a moment, so only one is decoded at a time, and always on the same thread.
static DECODING: HeavyWork = HeavyWork::one_at_a_time(
    Duration::from_secs(30),
    "Several other photographs are being opened right now. Send this one again in a moment.",
);

/// Details of a photograph.
#[derive(Debug, Serialize, ToSchema)]
pub struct PhotoView {
    /// Id of the photograph.
    id: Reference,
    /// Version of the photograph; always 1, because a photograph never changes.
    #[schema(minimum = 1)]
    version: i64,
    /// SHA-256 of the stored file, in lower-case hex.
    #[schema(max_length = 64)]
    digest: String,
    /// Size of the stored file, in bytes.
    #[schema(minimum = 1, maximum = 100_000_000)]
    bytes: i64,
    /// Width in pixels.
    #[schema(minimum = 1, maximum = 12_000)]
    width: i32,
    /// Height in pixels.
    #[schema(minimum = 1, maximum = 12_000)]
    height: i32,
    /// Size of the thumbnail, in bytes.
    #[schema(minimum = 1, maximum = 25_000)]
    thumbnail_bytes: i64,
    /// Width of the thumbnail, in pixels.
    #[schema(minimum = 1, maximum = 320)]
    thumbnail_width: i32,
    /// Height of the thumbnail, in pixels.
    #[schema(minimum = 1, maximum = 320)]
    thumbnail_height: i32,
    /// Time when the photograph was uploaded, RFC 3339 in UTC.
    created_at: Instant,
}

crate::versioned!(PhotoView);

impl From<Photo> for PhotoView {
    fn from(photo: Photo) -> Self {
        Self {
            id: Reference::from(&photo.id),
            version: 1,
            digest: photo.full.digest,
            bytes: photo.full.bytes,
            width: photo.full.width,
            height: photo.full.height,
            thumbnail_bytes: photo.thumb.bytes,
            thumbnail_width: photo.thumb.width,
            thumbnail_height: photo.thumb.height,
            created_at: Instant(photo.created_at),
        }
    }
}

/// Content of a file.
#[derive(Debug, ToSchema)]
#[schema(value_type = String, format = Binary)]
pub struct Bytes(#[allow(dead_code, reason = "only described, never made")] Vec<u8>);

/// Upload a photograph.
///
/// The body is the file itself, up to 12 MiB, 12,000 pixels a side and 40 million pixels. A progressive JPEG, a PNG with 16
/// bits per colour and a lossless or animated WebP take more memory to open, so they may have fewer pixels. The picture is
/// turned upright and encoded again as JPEG, so that only the picture is stored, without the place where it was taken or
/// the name of the camera. A picture of noise loses detail if that makes it larger than 6 MiB and than twice the file.
#[utoipa::path(tag = "media",
    request_body(description = "Picture file, as it comes from the camera.",
        content((Bytes = "image/jpeg"), (Bytes = "image/png"), (Bytes = "image/webp"))),
    extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new photograph.", body = PhotoView),
        (status = 408, description = "The file took too long to arrive.")))]
#[post("/v1/photos")]
async fn create(call: Call<Crew>, _: IdempotencyKey, file: Upload<Incoming>) -> Answer {
    if call.is_known().await? {
        // Nothing is written for a request that was answered before: its photograph may have been erased since.
        let forgotten = || Refused::unavailable("The photograph could not be saved. Send it again.");
        return call.create::<PhotoView>(move |_| Err(forgotten().into())).await;
    }
    let shop = call.read(|tx| Ok(tx.studio.id.clone())).await?;
    let (data, of_shop) = (call.program().config.data.clone(), shop.clone());
    let kept = on_the_disk(data, of_shop, file).await?;
    let files = kept.clone();
    let made = call
        .create(move |tx| {
            let photo = usecase::add(tx, &kept)?;
            Ok(Created { location: format!("/v1/photos/{}", photo.id), view: PhotoView::from(photo) })
        })
        .await;
    if !made.as_ref().is_ok_and(is_new) {
        let id = files.id.clone();
        let is_there = call.read(move |tx| usecase::is_there(tx, &id)).await;
        discard(is_there, call.program().config.data.clone(), shop, files).await;
    }
    made
}

/// Opens a photograph when it is its turn, and writes its files.
async fn on_the_disk(data: PathBuf, shop: ShopId, file: Upload<Incoming>) -> Result<Files, Problem> {
    let of = shop.clone();
    DECODING
        .on_its_thread(of.as_str(), move || {
            // The file keeps its place as long as the decoder works, even if the client has disconnected. So the whole
            // upload is moved into the closure: a closure would capture only the fields that it names and leave the
            // place behind.
            let whole = file;
            let picture = picture::read(&whole.bytes, whole.media_type)?;
            usecase::keep(&data, &shop, &picture)
        })
        .await
}

/// Adds a photograph that came with a form of a page; gives its id. Call it only for a form that was not taken before.
///
/// # Errors
/// Those of an upload.
pub async fn add_from_page<A: Audience>(page: &PageWrite<A>, file: Upload<Incoming>) -> Result<PhotoId, Problem> {
    let shop = page.read(|tx| Ok(tx.studio.id.clone())).await?;
    let data = page.app().program.config.data.clone();
    let kept = on_the_disk(data.clone(), shop.clone(), file).await?;
    let files = kept.clone();
    let made = page.write(move |tx| Ok(usecase::add(tx, &kept)?.id)).await;
    if made.is_err() {
        let id = files.id.clone();
        let is_there = page.read(move |tx| usecase::is_there(tx, &id)).await;
        discard(is_there, data, shop, files).await;
    }
    made
}

/// Whether the answer is the request's own, and not one that was stored for its key.
fn is_new(answer: &HttpResponse) -> bool {
    !answer.headers().contains_key("idempotency-replayed")
}

/// Deletes the files of a photograph that was not added. A commit whose answer was lost may have added it all the same;
/// if that can't be determined now, the sweep does it later.
async fn discard(is_there: Result<bool, Problem>, data: PathBuf, shop: ShopId, files: Files) {
    if !matches!(is_there, Ok(false)) {
        return;
    }
    let removed = blocking(move || {
        usecase::sweep(&data, &shop, &files.paths());
        Ok(())
    });
    if let Err(problem) = removed.await {
        tracing::error!(%problem, "the files of a photograph that was not added are left to the sweep");
    }
}

/// Read the details of a photograph.
#[utoipa::path(tag = "media", params(("id" = Reference, Path, description = "Id of the photograph.")),
    responses((status = 200, description = "Details of the photograph.", body = PhotoView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/photos/{id}/details")]
async fn details(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = PhotoId::new(id.into_inner());
    let photo = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&PhotoView::from(photo), &known))
}

/// Read a photograph.
///
/// Returns the picture itself, as JPEG.
#[utoipa::path(tag = "media", params(("id" = Reference, Path, description = "Id of the photograph.")),
    responses((status = 200, description = "Picture as JPEG.", content_type = "image/jpeg", body = Bytes),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/photos/{id}")]
async fn show(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    serve(call, id.into_inner(), known, Size::Full).await
}

/// Read a photograph's thumbnail.
///
/// Returns a JPEG of at most 320 pixels a side and 25 kB.
#[utoipa::path(tag = "media", params(("id" = Reference, Path, description = "Id of the photograph.")),
    responses((status = 200, description = "Thumbnail as JPEG.", content_type = "image/jpeg", body = Bytes),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/photos/{id}/thumbnail")]
async fn thumbnail(call: Call<Crew>, id: Path<String>, known: IfNoneMatch) -> Answer {
    serve(call, id.into_inner(), known, Size::Thumb).await
}

async fn serve(call: Call<Crew>, id: String, known: IfNoneMatch, size: Size) -> Answer {
    let id = PhotoId::new(id);
    let (photo, shop) = call.read(move |tx| Ok((usecase::show(tx, &id)?, tx.studio.id.clone()))).await?;
    if let Some(unchanged) = unchanged(&photo, size, &known) {
        return Ok(unchanged);
    }
    let data = call.program().config.data.clone();
    let (photo, bytes) = blocking(move || {
        let bytes = usecase::bytes(&data, &shop, &photo, size)?;
        Ok((photo, bytes))
    })
    .await?;
    Ok(served(&photo, size, bytes))
}

fn tag(photo: &Photo, size: Size) -> String {
    format!("\"{}\"", photo.of(size).digest)
}

fn unchanged(photo: &Photo, size: Size, known: &IfNoneMatch) -> Option<HttpResponse> {
    let tag = tag(photo, size);
    known.holds(&tag).then(|| HttpResponse::NotModified().insert_header((ETAG, tag)).finish())
}

/// A photograph's file in an answer: a JPEG that no browser mistakes for another type, even when opened directly.
pub fn served(photo: &Photo, size: Size, bytes: Vec<u8>) -> HttpResponse {
    let name = match size {
        Size::Full => format!("inline; filename=\"photo-{}.jpg\"", photo.id),
        Size::Thumb => format!("inline; filename=\"photo-{}-small.jpg\"", photo.id),
    };
    HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "image/jpeg"))
        .insert_header((ETAG, tag(photo, size)))
        .insert_header((CONTENT_DISPOSITION, name))
        .insert_header((CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox; frame-ancestors 'none'"))
        .insert_header((CACHE_CONTROL, "private, max-age=31536000, immutable"))
        .body(bytes)
}
