//! Reads the bodies of requests to their end, under a limit of bytes and of time, and never decompresses them.
//!
//! A compressed body grows up to a thousand times while it is decoded, and the framework decodes a body before it looks
//! at its length: 245 KiB of gzip became 145 MiB. Therefore the guard refuses every content coding, and bodies are read
//! here from the connection's own payload. The framework's extractors would decode them, so `tests/tidy/layers.rs`
//! forbids them. No client of ours compresses what it sends.

use std::time::Duration;

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::http::header::{ACCEPT_ENCODING, CONTENT_ENCODING, CONTENT_LENGTH, HeaderMap, HeaderValue};
use actix_web::web::{Bytes, BytesMut};
use baywright_core::platform::refusal::Refused;
use futures_util::StreamExt;

use super::problem::Problem;

/// Limits of one kind of body.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    /// Name of the content for error messages: `body` or `file`.
    pub(super) what: &'static str,
    /// Maximum size, in bytes.
    pub(super) bytes: usize,
    /// Maximum time until it has arrived. A client that sends it byte by byte would otherwise keep a connection for
    /// ever.
    pub(super) patience: Duration,
}

impl Limits {
    /// The whole body.
    ///
    /// # Errors
    /// 413 if it is too large, 408 if it takes too long, 400 if it breaks off.
    pub(super) async fn read(self, payload: Payload) -> Result<Bytes, Problem> {
        let read = tokio::time::timeout(self.patience, self.collect(payload)).await;
        read.unwrap_or_else(|_| Err(self.too_slow()))
    }

    /// 408: it took too long to arrive.
    pub(super) fn too_slow(self) -> Problem {
        let detail = format!("The {} took too long to arrive. Send it again.", self.what);
        Problem::new(StatusCode::REQUEST_TIMEOUT, "too-slow", detail)
    }

    /// 413 if the headers announce a body that is too large, so that none of it needs to be read.
    pub(super) fn announced(self, headers: &HeaderMap) -> Result<(), Problem> {
        let length = headers.get(CONTENT_LENGTH).and_then(|length| length.to_str().ok());
        let length = length.and_then(|length| length.parse::<usize>().ok()).unwrap_or(0);
        if length > self.bytes { Err(self.too_large()) } else { Ok(()) }
    }

    async fn collect(self, mut payload: Payload) -> Result<Bytes, Problem> {
        let mut bytes = BytesMut::new();
        while let Some(chunk) = payload.next().await {
            let chunk = chunk.map_err(|_| {
                Problem::from(Refused::malformed(format!(
                    "The {} could not be read to its end. Send it again.",
                    self.what
                )))
            })?;
            if bytes.len() + chunk.len() > self.bytes {
                return Err(self.too_large());
            }
            bytes.extend_from_slice(&chunk);
        }
        Ok(bytes.freeze())
    }

    /// 413: it is larger than the limit.
    pub(super) fn too_large(self) -> Problem {
        let detail = format!("The {} is larger than {} KiB. Send a smaller one.", self.what, self.bytes / 1024);
        Problem::new(StatusCode::PAYLOAD_TOO_LARGE, "body-too-large", detail)
    }
}

/// 415 if the body is compressed or encoded in another way. `Accept-Encoding` of the answer says what is accepted (RFC
/// 9110, section 15.5.16).
pub(super) fn refuse_coded(headers: &HeaderMap) -> Option<Problem> {
    let plain = |coding: &str| coding.is_empty() || coding.eq_ignore_ascii_case("identity");
    let is_plain = |line: &HeaderValue| line.to_str().is_ok_and(|line| line.split(',').map(str::trim).all(plain));
    if headers.get_all(CONTENT_ENCODING).all(is_plain) {
        return None;
    }
    let detail = "Compressed bodies are not accepted. Send the body as it is, without Content-Encoding.";
    let refusal = Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "compressed-body", detail);
    Some(refusal.with_header(ACCEPT_ENCODING, HeaderValue::from_static("identity")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_content_coding_but_identity_is_refused() {
        let headers = |lines: &[&str]| {
            let mut headers = HeaderMap::new();
            for line in lines {
                headers.append(CONTENT_ENCODING, HeaderValue::from_str(line).unwrap());
            }
            headers
        };
        for plain in [&[][..], &["identity"], &["Identity"], &["identity, identity"], &[""]] {
            assert!(refuse_coded(&headers(plain)).is_none(), "{plain:?}");
        }
        for coded in [&["gzip"][..], &["GZIP"], &["br"], &["identity, gzip"], &["identity", "gzip"], &["made-up"]] {
            let refused = refuse_coded(&headers(coded)).unwrap();
            assert_eq!(refused.status(), StatusCode::UNSUPPORTED_MEDIA_TYPE, "{coded:?}");
        }
    }
}
