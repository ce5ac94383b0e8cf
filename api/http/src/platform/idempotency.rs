//! Idempotency keys over HTTP: a creation or a change that is sent twice takes effect once.
//!
//! A request that creates a record, books or moves money must have a key; any other change may have one. Only changes
//! whose answer holds a secret (the address of a link, of a calendar feed or of an invite) take none, since the answer is
//! kept with the key and secrets are kept as digests alone; and the change of a password, since the digest of its body would
//! let whoever reads the database guess the password fast. A repeated change of a password is recognised by the password.
//!
//! How an answer is kept with its key, and for how long, is in [`baywright_core::platform::replay`]; a repeated request gets that
//! answer byte for byte, with `Idempotency-Replayed: true`.
//!
//! Every creation needs a key, not only those that move money: one rule is easier to remember than two, and a double
//! tap on "new customer" does harm as well. A client that sends a key with another change can tell a lost answer from a
//! conflict: without one, a repeated request gets 412 and looks like a failure although it succeeded.
//! [`Call`](super::call::Call) reads the key and the fingerprint of the body for both. A handler whose operation needs
//! a key only has [`IdempotencyKey`] in its signature; `tests/tidy/layers.rs` compares that with the API document.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpMessage, HttpRequest};
use baywright_core::platform::canonical::hex;
use baywright_core::platform::refusal::Refused;
use sha2::{Digest, Sha256};

use super::problem::Problem;

/// The client's key. A route that requires one has it in its signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IdempotencyKey(String);

impl IdempotencyKey {
    /// The request's key, or `None` if it has no such header.
    ///
    /// # Errors
    /// 400 if the header's value can't be a key, or if there are several.
    pub fn sent_with(request: &HttpRequest) -> Result<Option<Self>, Problem> {
        let mut lines = request.headers().get_all("idempotency-key");
        let Some(line) = lines.next() else { return Ok(None) };
        let key = line.to_str().ok().and_then(|line| key(line.trim())).filter(|_| lines.next().is_none());
        key.map(|key| Some(Self(key))).ok_or_else(|| {
            Problem::from(Refused::malformed(
                "An Idempotency-Key is 1 to 200 visible ASCII characters, such as a UUID, in quotes or without. Send one.",
            ))
        })
    }

    /// The key.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// The key in a header's value. In the IETF's draft it is a string in quotes (RFC 9651, section 3.3.3), but most clients send
/// it without them. The quotes are not part of the key, so both forms name the same key.
fn key(value: &str) -> Option<String> {
    let key = match value.strip_prefix('"') {
        Some(rest) => unescaped(rest.strip_suffix('"')?)?,
        None => value.to_owned(),
    };
    (is_key(&key) && (value.starts_with('"') || !key.contains('"'))).then_some(key)
}

/// Whether a text can be a key, of a header or of a form.
pub(super) fn is_key(text: &str) -> bool {
    (1..=200).contains(&text.len()) && text.chars().all(|c| c.is_ascii_graphic())
}

/// The text between the quotes of a string, in which a backslash stands before a quote or a backslash.
fn unescaped(text: &str) -> Option<String> {
    let mut chars = text.chars();
    let mut plain = String::with_capacity(text.len());
    while let Some(c) = chars.next() {
        plain.push(match c {
            '\\' => chars.next().filter(|escaped| matches!(escaped, '"' | '\\'))?,
            '"' => return None,
            other => other,
        });
    }
    Some(plain)
}

impl FromRequest for IdempotencyKey {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(Self::sent_with(request).and_then(|key| {
            key.ok_or_else(|| {
                Problem::new(
                    actix_web::http::StatusCode::BAD_REQUEST,
                    "idempotency-key-required",
                    "Send an Idempotency-Key header with a fresh UUID for each new request, so that a retry can't \
                        repeat it.",
                )
            })
        }))
    }
}

/// Digest of a request's method, path and body, by which a repeated request is recognised. The reader of the body, for JSON
/// or a file, stores it in the request's extensions.
#[derive(Debug, Clone, Default)]
pub struct Fingerprint(pub String);

impl Fingerprint {
    /// Stores it with the request. `target` is the request's path, with the query if that affects what is made.
    pub(super) fn leave(request: &HttpRequest, target: &str, body: &[u8]) {
        let mut digest = Sha256::new();
        digest.update(format!("{} {target}\n", request.method()).as_bytes());
        digest.update(body);
        request.extensions_mut().insert(Self(hex(&digest.finalize())));
    }

    /// The fingerprint of the request's body; empty if it had none.
    pub fn of(request: &HttpRequest) -> Self {
        request.extensions().get::<Self>().cloned().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use actix_web::test::TestRequest;

    use super::*;

    #[test]
    fn a_key_is_the_same_in_quotes_and_without() {
        for (value, named) in [
            ("abc", Some("abc")),
            ("\"abc\"", Some("abc")),
            (r"a\b", Some(r"a\b")),
            (r#""a\\b""#, Some(r"a\b")),
            (r#""a\"b""#, Some("a\"b")),
            (r#""a\b""#, None),
            (r#""abc\""#, None),
            ("\"abc", None),
            ("abc\"", None),
            ("\"", None),
            ("\"\"", None),
            ("", None),
            ("a b", None),
            ("\"abc\";a=1", None),
        ] {
            assert_eq!(key(value).as_deref(), named, "{value}");
        }
        assert!(key(&"x".repeat(200)).is_some() && key(&"x".repeat(201)).is_none());
    }

    #[test]
    fn a_request_has_one_key_or_none() {
        let sent = |keys: &[&'static str]| {
            let append = |request: TestRequest, key: &&'static str| request.append_header(("idempotency-key", *key));
            IdempotencyKey::sent_with(&keys.iter().fold(TestRequest::default(), append).to_http_request())
        };
        assert_eq!(sent(&[]).unwrap(), None);
        assert_eq!(sent(&["one"]).unwrap(), sent(&["\"one\""]).unwrap());
        assert!(sent(&["one", "two"]).is_err());
    }
}
