//! Compresses each answer as a whole before any of it is sent.
//!
//! The framework's own compression keeps some 300 KiB for each answer until its last byte has left, so clients that ask
//! and never read would fill the memory. Here only a few answers at a time take that much, for a moment, and only the
//! compressed answer waits for its reader.

use std::io::Write;

use actix_web::body::{BodySize, BoxBody, MessageBody};
use actix_web::http::header::{AcceptEncoding, CONTENT_ENCODING, CONTENT_TYPE, Encoding, HeaderMap, HeaderValue, VARY};
use actix_web::{HttpMessage, HttpResponse};
use baywright_core::platform::fail::Fail;
use flate2::Compression;
use flate2::write::GzEncoder;

use super::turn::HeavyWork;

/// Minimum size of a body that is worth compressing, in bytes.
const FEWEST: u64 = 1024;

/// Maximum number of answers that are compressed at once.
const AT_ONCE: usize = 4;
static COMPRESSING: HeavyWork = HeavyWork::at_once(AT_ONCE);

/// The line for [`COMPRESSING`]: each turn is so short that answers of all shops stand in one.
const ONE_LINE: &str = "";

/// Whether the client can read gzip and prefers it to the plain answer (RFC 9110, section 12.5.3).
pub(super) fn is_wanted(request: &impl HttpMessage) -> bool {
    let accepted = request.get_header::<AcceptEncoding>();
    let best = accepted.and_then(|accepted| accepted.negotiate([Encoding::gzip(), Encoding::identity()].iter()));
    best == Some(Encoding::gzip())
}

/// The answer, compressed if it is successful and compresses well; a problem stays as it is, because browsers get it as
/// a page.
pub(super) async fn compressed(answer: HttpResponse) -> HttpResponse {
    let worth_it = matches!(answer.body().size(), BodySize::Sized(length) if length >= FEWEST);
    if !worth_it || !answer.status().is_success() || !is_compressible(answer.headers()) {
        return answer;
    }
    let (mut answer, body) = answer.into_parts();
    let plain = match body.try_into_bytes() {
        Ok(plain) => plain,
        Err(body) => return answer.set_body(body),
    };
    let all = plain.clone();
    let packed = COMPRESSING.blocking(ONE_LINE, move || {
        let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
        encoder.write_all(&all).and_then(|()| encoder.finish()).map_err(Fail::unexpected)
    });
    let Ok(packed) = packed.await else { return answer.set_body(BoxBody::new(plain)) };
    let headers = answer.headers_mut();
    headers.insert(CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    headers.append(VARY, HeaderValue::from_static("accept-encoding"));
    answer.set_body(BoxBody::new(packed))
}

/// Whether a body with those headers becomes smaller: it is not compressed yet, and not a photograph.
fn is_compressible(headers: &HeaderMap) -> bool {
    let kind = headers.get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    let picture = kind.starts_with("image/") && !kind.starts_with("image/svg");
    !picture && !headers.contains_key(CONTENT_ENCODING)
}

#[cfg(test)]
mod tests {
    use actix_web::test::TestRequest;
    use futures_util::FutureExt;

    use super::*;

    #[tokio::test]
    async fn an_answer_that_nobody_waits_for_has_its_turn_until_it_is_compressed() {
        // Compressing 64 MiB takes long enough to observe the turns.
        let large = HttpResponse::Ok().content_type("application/json").body(vec![b'7'; 64 << 20]);
        let mut given_up = Box::pin(compressed(large));
        assert!((&mut given_up).now_or_never().is_none());
        drop(given_up);
        assert_eq!(COMPRESSING.free(), AT_ONCE - 1);
    }

    #[test]
    fn gzip_is_sent_to_whoever_names_it_and_does_not_like_the_plain_answer_better() {
        let wanted = |accepted: Option<&str>| {
            let request = TestRequest::default();
            let request = match accepted {
                Some(accepted) => request.insert_header(("accept-encoding", accepted)),
                None => request,
            };
            is_wanted(&request.to_http_request())
        };
        for (accepted, gzip) in [
            (Some("gzip"), true),
            (Some("gzip, deflate, br"), true),
            (Some("br;q=1.0, gzip;q=0.5"), true),
            (Some("identity"), false),
            (Some("br"), false),
            (Some("gzip;q=0"), false),
            (Some(""), false),
            (None, false),
        ] {
            assert_eq!(wanted(accepted), gzip, "{accepted:?}");
        }
    }

    #[test]
    fn photographs_and_what_is_compressed_already_are_left_alone() {
        for (kind, coding, compressible) in [
            ("application/json", None, true),
            ("image/svg+xml", None, true),
            ("image/jpeg", None, false),
            ("text/javascript", Some("gzip"), false),
        ] {
            let mut headers = HeaderMap::new();
            headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
            if let Some(coding) = coding {
                headers.insert(CONTENT_ENCODING, HeaderValue::from_static(coding));
            }
            assert_eq!(is_compressible(&headers), compressible, "{kind} {coding:?}");
        }
    }
}
