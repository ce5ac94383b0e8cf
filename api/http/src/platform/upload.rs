//! Bodies that are files, such as photographs and tables. Each kind has its own media types and its own limit.
//!
//! A file is first written to the disk, into an unnamed file that disappears with the request. So a slow upload takes
//! hardly any memory and delays nobody; one that hardly advances is ended. Once a file is complete it needs one of a
//! few places in memory, which it keeps until it is answered, so that uploads can't fill the memory.

use std::fs::File;
use std::future::Future;
use std::io::{Read, Seek, SeekFrom, Write};
use std::marker::PhantomData;
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::time::Duration;

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::{Bytes, BytesMut, Data};
use actix_web::{FromRequest, HttpRequest};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::mapped;
use baywright_core::platform::places::{Place, Places};
use baywright_core::platform::refusal::Refused;
use futures_util::StreamExt;
use tokio::time::Instant;

use super::app::App;
use super::arriving::Limits;
use super::call::{blocking, claims};
use super::idempotency::Fingerprint;
use super::problem::Problem;

/// A kind of file that a route takes.
pub trait FileKind: 'static {
    /// The media types, lower case.
    const MEDIA_TYPES: &'static [&'static str];
    /// The largest file, in bytes.
    const BYTES: usize;
}

/// Maximum number of files that arrive at once, over all routes and workers: one shop may have as many as one address
/// has connections.
const ARRIVING: usize = 256;
static ARRIVALS: Places = Places::new(ARRIVING);

/// Maximum number of files in memory at once, over all routes and workers.
const AT_ONCE: usize = 6;
static PLACES: Places = Places::new(AT_ONCE);

/// Maximum number of bytes of an arriving file that are in memory; a smaller file never touches the disk.
const PIECE: usize = 64 << 10;

/// Maximum time that a file waits for a place.
const QUEUE: Duration = Duration::from_secs(15);

/// Maximum time until a file has arrived.
pub(super) const PATIENCE: Duration = Duration::from_mins(1);

/// Maximum time for which a file may arrive more slowly than [`PACE`]: shorter than others wait for its place.
const GRACE: Duration = Duration::from_secs(10);

/// Minimum number of bytes that arrive in a second, on average.
const PACE: usize = 4 << 10;

/// A complete body of the kind `K`.
#[derive(Debug)]
pub struct Upload<K> {
    /// The file.
    pub bytes: Bytes,
    /// Declared media type, one of the kind's.
    pub media_type: &'static str,
    /// The reserved place, which it keeps until it is dropped.
    _place: Place<'static>,
    kind: PhantomData<K>,
}

impl<K> Upload<K> {
    /// A file of that kind which came in a form, with the place in memory that it keeps.
    pub(super) fn of_form(bytes: Bytes, media_type: &'static str, place: Place<'static>) -> Self {
        Self { bytes, media_type, _place: place, kind: PhantomData }
    }
}

impl<K: FileKind> FromRequest for Upload<K> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let header = |name| request.headers().get(name).and_then(|h| h.to_str().ok()).unwrap_or_default();
        let declared = header(CONTENT_TYPE).split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
        let media_type = K::MEDIA_TYPES.iter().copied().find(|known| *known == declared);
        let limits = Limits { what: "file", bytes: K::BYTES, patience: PATIENCE };
        let announced = limits.announced(request.headers());
        let payload = payload.take();
        let data = request.app_data::<Data<App>>().map(|app| app.program.config.data.clone());
        // The sender is signed in; the route's `Call` checks who it is.
        let shop = claims(request).map(|claims| claims.shop);
        let request = request.clone();
        Box::pin(async move {
            let media_type = media_type.ok_or_else(|| wrong_type(K::MEDIA_TYPES))?;
            announced?;
            let (shop, data) = (shop?, data.ok_or_else(Problem::unexpected)?);
            let (bytes, place) = received(payload, limits, data, &shop).await?;
            Fingerprint::leave(&request, &target(&request), &bytes);
            Ok(Self { bytes, media_type, _place: place, kind: PhantomData })
        })
    }
}

/// A whole file with its place in memory. `shop` is the one that has the place.
pub(super) async fn received(
    payload: Payload,
    limits: Limits,
    data: PathBuf,
    shop: &str,
) -> Result<(Bytes, Place<'static>), Problem> {
    let arrival = place(&ARRIVALS, shop).await?;
    let arrived = tokio::time::timeout(limits.patience, whole(payload, limits, data)).await;
    let arrived = arrived.map_err(|_| limits.too_slow())??;
    let place = place(&PLACES, shop).await?;
    let bytes = arrived.into_bytes().await?;
    drop(arrival);
    Ok((bytes, place))
}

/// Path and query of a request, the path as the router reads it.
fn target(request: &HttpRequest) -> String {
    let (path, query) = (request.match_info().as_str(), request.query_string());
    if query.is_empty() { path.to_owned() } else { format!("{path}?{query}") }
}

async fn place(places: &'static Places, shop: &str) -> Result<Place<'static>, Problem> {
    let queued = tokio::time::timeout(QUEUE, places.take(shop)).await;
    queued.ok().flatten().ok_or_else(|| {
        Problem::from(Refused::unavailable(
            "Several other files are arriving right now. Send this one again in a moment.",
        ))
    })
}

/// A file that has arrived.
struct Arrived {
    /// All but the last piece, if there is more than one.
    spool: Option<File>,
    last: BytesMut,
    /// Bytes of all pieces.
    length: usize,
}

impl Arrived {
    /// The whole file in memory.
    async fn into_bytes(self) -> Result<Bytes, Problem> {
        let Some(mut spool) = self.spool else { return Ok(self.last.freeze()) };
        blocking(move || {
            let mut bytes = mapped::room(self.length);
            let read = spool.seek(SeekFrom::Start(0)).and_then(|_| spool.read_to_end(&mut bytes));
            read.map_err(|error| Fail::of_file(&error, "file"))?;
            bytes.extend_from_slice(&self.last);
            Ok(Bytes::from(bytes))
        })
        .await
    }
}

async fn whole(mut payload: Payload, limits: Limits, data: PathBuf) -> Result<Arrived, Problem> {
    let mut arrived = Arrived { spool: None, last: BytesMut::new(), length: 0 };
    let begun = Instant::now();
    loop {
        // The bytes so far are fast enough until that time.
        let due = begun + GRACE + Duration::from_secs((arrived.length / PACE) as u64);
        let next = tokio::time::timeout_at(due, payload.next()).await;
        let Some(chunk) = next.map_err(|_| limits.too_slow())? else { break };
        let chunk = chunk
            .map_err(|_| Problem::from(Refused::malformed("The file could not be read to its end. Send it again.")))?;
        arrived.length += chunk.len();
        if arrived.length > limits.bytes {
            return Err(limits.too_large());
        }
        arrived.last.extend_from_slice(&chunk);
        if arrived.last.len() >= PIECE {
            let (spool, piece, data) = (arrived.spool.take(), arrived.last.split(), data.clone());
            arrived.spool = Some(blocking(move || spooled(spool, &piece, &data)).await?);
        }
    }
    if arrived.length == 0 {
        return Err(Problem::from(Refused::malformed("The body is empty. Send the file as the body.")));
    }
    Ok(arrived)
}

/// The unnamed file with one more piece in it, made if there is none yet.
fn spooled(spool: Option<File>, piece: &[u8], data: &Path) -> Done<File> {
    let made = spool.map_or_else(|| std::fs::create_dir_all(data).and_then(|()| tempfile::tempfile_in(data)), Ok);
    let written = made.and_then(|mut spool| spool.write_all(piece).map(|()| spool));
    written.map_err(|error| Fail::of_file(&error, "file"))
}

fn wrong_type(known: &[&str]) -> Problem {
    let detail = format!("Send the file itself as the body, with Content-Type: {}.", known.join(" or "));
    Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "unsupported-media-type", detail)
}

#[cfg(test)]
mod tests {
    use futures_util::stream::{iter, pending, repeat_with};

    use super::*;

    const LIMITS: Limits = Limits { what: "file", bytes: 1 << 20, patience: PATIENCE };

    /// The clock of these tests moves by itself when all tasks wait.
    #[tokio::test(start_paused = true)]
    async fn a_file_that_hardly_moves_is_ended_before_others_give_up_waiting_for_its_place() {
        let dripping = repeat_with(|| Ok(Bytes::from_static(b"drip"))).then(|drop| async {
            tokio::time::sleep(Duration::from_secs(1)).await;
            drop
        });
        for stream in [dripping.boxed_local(), pending().boxed_local()] {
            let began = Instant::now();
            let refused = whole(Payload::Stream { payload: stream }, LIMITS, PathBuf::new()).await.err().unwrap();
            assert_eq!(refused.status(), StatusCode::REQUEST_TIMEOUT);
            assert!(began.elapsed() < QUEUE, "{:?}", began.elapsed());
        }
    }

    #[tokio::test(start_paused = true)]
    async fn a_file_that_comes_slowly_and_steadily_arrives() {
        let steady = iter((0..15).map(|_| Ok(Bytes::from(vec![7; PACE])))).then(|chunk| async {
            tokio::time::sleep(Duration::from_secs(1)).await;
            chunk
        });
        let arrived = whole(Payload::Stream { payload: steady.boxed_local() }, LIMITS, PathBuf::new()).await;
        assert_eq!(arrived.map(|arrived| arrived.last.len()).unwrap_or_default(), 15 * PACE);
    }
}
