//! Forms of the studio's pages that may bring a file: by `multipart/form-data` if the browser sends one, else as every other
//! form.
//!
//! The file arrives like one of the API, under the same limits. The sign-in is read before, so that the shop's share of the
//! places is known, but the form is read to its end even if it has ended, so that nothing typed is lost.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpRequest};
use baywright_core::platform::canonical::hex;
use baywright_core::platform::identity::{Audience, shop_on_pages};
use baywright_core::platform::refusal::Refused;
use sha2::{Digest, Sha256};

use super::app::App;
use super::arriving::Limits;
use super::body::Form;
use super::call::blocking;
use super::multipart::{FIELD_BYTES, boundary, parts};
use super::page::{PageWrite, own_site};
use super::problem::Problem;
use super::sign_in::digest_of_cookie;
use super::upload::{FileKind, PATIENCE, Upload, received};

/// A form that was sent from a page of ours by someone in the audience `A`, with a file of the kind `K` if one was chosen.
pub struct PageFile<A, K> {
    /// The form without the file.
    pub page: PageWrite<A>,
    /// The file, or why it can't be taken.
    pub file: Option<Result<Upload<K>, Refused>>,
}

impl<A: Audience, K: FileKind> FromRequest for PageFile<A, K> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let said = request.headers().get(CONTENT_TYPE).and_then(|header| header.to_str().ok()).unwrap_or_default();
        let Some(boundary) = boundary(said) else {
            let form = Form::from_request(request, payload);
            let request = request.clone();
            return Box::pin(async move {
                let page = PageWrite::of(&request, form.await?.0, String::new())?;
                Ok(Self { page, file: None })
            });
        };
        let limits = Limits { what: "file", bytes: K::BYTES + FIELD_BYTES, patience: PATIENCE };
        let (announced, own) = (limits.announced(request.headers()), own_site(request));
        let payload = payload.take();
        let request = request.clone();
        Box::pin(async move {
            own?;
            announced?;
            let shop = shop_of(&request).await?;
            let data = App::of(&request)?.program.config.data.clone();
            let (body, place) = received(payload, limits, data, &shop).await?;
            let read = parts(&body, &boundary).ok_or_else(|| {
                Problem::from(Refused::malformed(
                    "The form could not be read. Open its page again and send it from there.",
                ))
            })?;
            let form = url::form_urlencoded::Serializer::new(String::new()).extend_pairs(&read.fields).finish();
            let digest = read.file.as_ref().map(|file| hex(&Sha256::digest(&file.bytes))).unwrap_or_default();
            let page = PageWrite::of(&request, Bytes::from(form), digest)?;
            let file = read.file.map(|file| {
                let known = K::MEDIA_TYPES.iter().copied().find(|known| *known == file.media_type);
                let media_type = known.ok_or_else(|| {
                    let kinds = K::MEDIA_TYPES.join(", ");
                    Refused::invalid("unsupported-media-type", format!("Choose a file of one of these types: {kinds}."))
                })?;
                if file.bytes.len() > K::BYTES {
                    let detail = format!("The file is larger than {} MiB. Choose a smaller one.", K::BYTES >> 20);
                    return Err(Refused::invalid("body-too-large", detail));
                }
                Ok(Upload::of_form(file.bytes, media_type, place))
            });
            Ok(Self { page, file })
        })
    }
}

/// Id of the shop of the request's sign-in; empty if it has ended, so that all of those share one share of the places.
async fn shop_of(request: &HttpRequest) -> Result<String, Problem> {
    let app = App::of(request)?;
    let Some(digest) = digest_of_cookie(request, &app.program.config) else { return Ok(String::new()) };
    let program = app.program.clone();
    match blocking(move || program.db.read(|conn| shop_on_pages(conn, &digest))).await {
        Ok(shop) => Ok(shop.to_string()),
        Err(problem) if problem.status() == StatusCode::UNAUTHORIZED => Ok(String::new()),
        Err(problem) => Err(problem),
    }
}
