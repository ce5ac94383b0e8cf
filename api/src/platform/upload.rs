//! Bodies that are files: a photograph, a table. Each kind has its own media types and its own limit, and only a few are
//! in hand at once, from their first byte to their answer, so that uploads can't fill the memory.

use std::future::Future;
use std::marker::PhantomData;
use std::pin::Pin;
use std::time::Duration;

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpRequest};
use sha2::{Digest, Sha256};

use super::arriving::Limits;
use super::call::claims;
use super::places::{Place, Places};
use super::problem::Problem;
use crate::documents::canonical::hex;

/// A kind of file that a route takes.
pub trait FileKind: 'static {
    /// The media types, lower case.
    const MEDIA_TYPES: &'static [&'static str];
    /// The largest file, in bytes.
    const BYTES: usize;
}

/// How many files are in hand at once, over all routes and workers.
const AT_ONCE: usize = 6;
static PLACES: Places = Places::new(AT_ONCE);

/// How long a file waits for a place, of which nothing is read meanwhile.
const QUEUE: Duration = Duration::from_secs(15);

/// How long a file may take to arrive.
const PATIENCE: Duration = Duration::from_mins(1);

/// A body of the kind `K`, whole.
#[derive(Debug)]
pub struct Upload<K> {
    /// The file.
    pub bytes: Bytes,
    /// Its media type as declared, one of the kind's.
    pub media_type: &'static str,
    /// Digest of method, address and bytes, by which a repeated request is known.
    pub print: String,
    /// Its place, which it has as long as it is in hand.
    _place: Place<'static>,
    kind: PhantomData<K>,
}

impl<K: FileKind> FromRequest for Upload<K> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let head = format!("{} {}\n", request.method(), request.uri());
        let header = |name| request.headers().get(name).and_then(|h| h.to_str().ok()).unwrap_or_default();
        let declared = header(CONTENT_TYPE).split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
        let media_type = K::MEDIA_TYPES.iter().copied().find(|known| *known == declared);
        let limits = Limits { what: "file", bytes: K::BYTES, patience: PATIENCE };
        let announced = limits.announced(request.headers());
        let payload = payload.take();
        // Whoever sends a file is signed in; the route's `Call` checks who they are.
        let shop = claims(request).map(|claims| claims.shop);
        Box::pin(async move {
            let media_type = media_type.ok_or_else(|| wrong_type(K::MEDIA_TYPES))?;
            announced?;
            let queued = tokio::time::timeout(QUEUE, PLACES.take(&shop?)).await;
            let place = queued.ok().flatten().ok_or_else(|| {
                Problem::unavailable("Several files are arriving just now. Send this one again in a moment.")
            })?;
            let bytes = limits.read(payload).await?;
            if bytes.is_empty() {
                return Err(Problem::malformed("The body is empty. Send the file as the body."));
            }
            let mut digest = Sha256::new();
            digest.update(head.as_bytes());
            digest.update(&bytes);
            Ok(Self { bytes, media_type, print: hex(&digest.finalize()), _place: place, kind: PhantomData })
        })
    }
}

fn wrong_type(known: &[&str]) -> Problem {
    let detail = format!("Send the file itself as the body, with Content-Type: {}.", known.join(" or "));
    Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "unsupported-media-type", detail)
}
