//! Forms of successful answers.

use actix_web::error::JsonPayloadError;
use actix_web::http::StatusCode;
use actix_web::http::header::{CONTENT_TYPE, ETAG, LINK, LOCATION};
use actix_web::{HttpResponse, HttpResponseBuilder};
use baywright_core::platform::fail::Done;
use baywright_core::platform::paging::Slice;
use baywright_core::platform::replay::StoredAnswer;
use baywright_core::platform::warning::Warning;
use serde::Serialize;
use utoipa::ToSchema;

use super::cursor::Links;
use super::etag::{IfNoneMatch, tag};
use super::prefer::{PREFERENCE_APPLIED, TOTAL_COUNT};
use super::problem::Problem;
use super::warned;

/// Result of a handler.
pub type Answer = Result<HttpResponse, Problem>;

/// A view of a record that has a version.
pub trait Versioned {
    /// The record's version, which its entity tag is made of.
    fn version(&self) -> i64;
}

/// Declares that views carry their version in a field of that name.
#[macro_export]
macro_rules! versioned {
    ($($view:ty),+ $(,)?) => {$(
        impl $crate::platform::answer::Versioned for $view {
            fn version(&self) -> i64 {
                self.version
            }
        }
    )+};
}

/// A record just made: 201, with its address.
#[derive(Debug)]
pub struct Created<V> {
    /// The path of the new record, such as `/v1/customers/…`.
    pub location: String,
    /// The record in its current state.
    pub view: V,
}

impl<V: Serialize + Versioned> Created<V> {
    /// The answer as it is stored for a repeated request.
    pub fn into_kept(self, warnings: &[Warning]) -> Done<StoredAnswer> {
        let body = warned::body(&self.view, warnings)?;
        Ok(StoredAnswer { status: 201, location: self.location, etag: tag(self.view.version()), body, replayed: false })
    }
}

/// 200 with the record and its tag; 304 if the client has that version already.
pub fn item<V: Serialize + Versioned>(view: &V, known: &IfNoneMatch) -> HttpResponse {
    let tag = tag(view.version());
    if known.holds(&tag) { unchanged(tag) } else { shown(tag, serde_json::to_string(view)) }
}

fn unchanged(tag: String) -> HttpResponse {
    HttpResponse::NotModified().insert_header((ETAG, tag)).finish()
}

fn shown(tag: String, view: serde_json::Result<String>) -> HttpResponse {
    json(HttpResponse::Ok().insert_header((ETAG, tag)), view)
}

/// The answer with the JSON text of a view. Its text alone depends on the view, so that all else is compiled once and not
/// once per view.
fn json(answer: &mut HttpResponseBuilder, view: serde_json::Result<String>) -> HttpResponse {
    match view {
        Ok(text) => answer.insert_header((CONTENT_TYPE, "application/json")).body(text),
        Err(error) => HttpResponse::from_error(JsonPayloadError::Serialize(error)),
    }
}

/// 200 with the record after a change and its new tag, as it is stored for a repeated request.
pub fn kept_change<V: Serialize + Versioned>(view: &V, warnings: &[Warning]) -> Done<StoredAnswer> {
    let body = warned::body(view, warnings)?;
    Ok(StoredAnswer { status: 200, location: String::new(), etag: tag(view.version()), body, replayed: false })
}

/// 200 with something that has no version, as it is stored for a repeated request.
pub fn kept_plain<V: Serialize>(view: &V, warnings: &[Warning]) -> Done<StoredAnswer> {
    let body = warned::body(view, warnings)?;
    Ok(StoredAnswer { status: 200, location: String::new(), etag: String::new(), body, replayed: false })
}

/// 204, as it is stored for a repeated request.
pub fn kept_nothing() -> StoredAnswer {
    StoredAnswer { status: 204, location: String::new(), etag: String::new(), body: String::new(), replayed: false }
}

/// The kept answer, sent byte for byte.
pub fn sent(kept: StoredAnswer) -> HttpResponse {
    let mut answer = HttpResponse::build(StatusCode::from_u16(kept.status).unwrap_or(StatusCode::OK));
    if !kept.body.is_empty() {
        answer.insert_header((CONTENT_TYPE, "application/json"));
    }
    if !kept.location.is_empty() {
        answer.insert_header((LOCATION, kept.location));
    }
    if !kept.etag.is_empty() {
        answer.insert_header((ETAG, kept.etag));
    }
    if kept.replayed {
        answer.insert_header(("Idempotency-Replayed", "true"));
    }
    if kept.body.is_empty() { answer.finish() } else { answer.body(kept.body) }
}

/// 200 with something that has no version.
pub fn plain<V: Serialize>(view: &V) -> HttpResponse {
    json(&mut HttpResponse::Ok(), serde_json::to_string(view))
}

/// 204.
pub fn nothing() -> HttpResponse {
    HttpResponse::NoContent().finish()
}

/// One page of a list.
#[derive(Debug, Serialize, ToSchema)]
pub struct Page<T> {
    /// Records of this page.
    #[schema(max_items = 200)]
    pub items: Vec<T>,
    /// Path of the next page; null on the last one.
    #[schema(max_length = 4000)]
    pub next: Option<String>,
    /// Path of the previous page; null on the first one.
    #[schema(max_length = 4000)]
    pub prev: Option<String>,
    /// Path of this page.
    #[serde(rename = "self")]
    #[schema(max_length = 4000)]
    pub this: String,
    /// Number of records of the whole list with these filters; null unless `Prefer: return=total-count` asks for it.
    /// Counted on the same state of the data as this page.
    #[schema(minimum = 0, maximum = 9_007_199_254_740_991_i64)]
    pub total: Option<i64>,
}

/// 200 with a page of a list, its links also as a `Link` header (RFC 8288) for clients that follow those.
pub fn page<T: Serialize>(links: &Links, found: Slice<T>) -> HttpResponse {
    let page = links.page(found);
    let text = serde_json::to_string(&page);
    linked([(page.next, "next"), (page.prev, "prev")], page.total.is_some(), text)
}

fn linked(links: [(Option<String>, &str); 2], counted: bool, page: serde_json::Result<String>) -> HttpResponse {
    let mut answer = HttpResponse::Ok();
    for (target, rel) in links {
        if let Some(target) = target {
            answer.append_header((LINK, format!("<{target}>; rel=\"{rel}\"")));
        }
    }
    if counted {
        answer.insert_header((PREFERENCE_APPLIED, TOTAL_COUNT));
    }
    json(&mut answer, page)
}
