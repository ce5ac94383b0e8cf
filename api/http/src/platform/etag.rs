//! Entity tags (RFC 9110, 8.8.3): a record's version, quoted, so that nobody overwrites what they have not seen.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::http::header::{IF_MATCH, IF_NONE_MATCH};
use actix_web::{FromRequest, HttpRequest};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::version::Seen;

use super::problem::Problem;

/// The tag of a version.
pub fn tag(version: i64) -> String {
    format!("\"{version}\"")
}

/// The version that the client read last; a route that changes a record requires it in its signature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct IfMatch(pub Seen);

impl FromRequest for IfMatch {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let Some(header) = request.headers().get(IF_MATCH) else {
            return ready(Err(Problem::new(
                StatusCode::PRECONDITION_REQUIRED,
                "if-match-required",
                "Send the ETag that you read last as If-Match, so that nobody's change is overwritten unseen.",
            )));
        };
        let version = header
            .to_str()
            .ok()
            .and_then(|text| text.trim().strip_prefix('"')?.strip_suffix('"')?.parse::<i64>().ok())
            .filter(|version| *version >= 0);
        ready(version.map(|version| Self(Seen(version))).ok_or_else(|| {
            Problem::from(Refused::malformed("If-Match must be one ETag as it was answered, in quotes, such as \"3\"."))
        }))
    }
}

/// The longest list of tags that is read, in characters.
pub const MOST_TAGS: usize = 200;

/// The versions that a client already has. Anything that is not a tag of ours matches nothing (RFC 9110, section
/// 13.1.2).
#[derive(Debug, Clone, Default)]
pub struct IfNoneMatch(Option<String>);

impl IfNoneMatch {
    /// Whether the reader's copy is still current.
    pub fn holds(&self, tag: &str) -> bool {
        self.0.as_deref().is_some_and(|list| {
            list.split(',').map(|t| t.trim().trim_start_matches("W/")).any(|t| t == "*" || t == tag)
        })
    }
}

impl FromRequest for IfNoneMatch {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let list = request.headers().get(IF_NONE_MATCH).map(|h| String::from_utf8_lossy(h.as_bytes()).into_owned());
        if list.as_ref().is_some_and(|list| list.chars().count() > MOST_TAGS) {
            return ready(Err(Problem::from(Refused::malformed(format!(
                "If-None-Match has more than {MOST_TAGS} characters. Send the ETag that you read last, or leave it out."
            )))));
        }
        ready(Ok(Self(list)))
    }
}
