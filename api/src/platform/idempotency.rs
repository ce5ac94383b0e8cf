//! Idempotency keys: a creation or a change that is sent twice happens once.
//!
//! A request that creates a record, books or moves money must have a key; any other change may have one. Only changes
//! whose answer holds a secret (the address of a link, of a calendar feed or of an invite) take none, since the answer is
//! kept with the key and secrets are kept as digests alone.
//!
//! The key's row is written in the same transaction as the effect, with the answer; a repeated request gets that answer
//! to the byte, with `Idempotency-Replayed: true`. A key is remembered for [`KEEP_HOURS`] per shop and route. It belongs
//! to the account and the role that sent it first: what an answer says depends on who may see it.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpMessage, HttpRequest};
use diesel::prelude::*;
use sha2::{Digest, Sha256};

use super::canonical::{self, hex};
use super::fail::{DbError, Done, Stored};
use super::identity::Actor;
use super::problem::Problem;
use super::tx::Tx;
use crate::schema::idempotency;

/// How long a key is remembered, in hours.
pub const KEEP_HOURS: i64 = 24;

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
            Problem::malformed(
                "An Idempotency-Key is 1 to 200 visible ASCII characters, such as a UUID, in quotes or without. Send one.",
            )
        })
    }
}

/// The key that a header's value names. By the draft of the IETF it is a string in quotes (RFC 9651, section 3.3.3), and
/// most clients send it without: the quotes are no part of the key, so both ways name the same one.
fn key(value: &str) -> Option<String> {
    let key = match value.strip_prefix('"') {
        Some(rest) => unescaped(rest.strip_suffix('"')?)?,
        None => value.to_owned(),
    };
    let quoted = value.starts_with('"');
    let fine = |c: char| c.is_ascii_graphic() && (quoted || c != '"');
    ((1..=200).contains(&key.len()) && key.chars().all(fine)).then_some(key)
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

/// Digest of a request's method, path and body, by which a repeated request is known. Whoever reads the body, JSON or a
/// file, leaves it among the request's extensions.
#[derive(Debug, Clone, Default)]
pub struct Fingerprint(pub String);

impl Fingerprint {
    /// Leaves it with the request. `target` is the request's path, with the query where that says what is made.
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

/// An answer as it is kept with its key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Its status.
    pub status: u16,
    /// Its `Location`, or empty.
    pub location: String,
    /// Its `ETag`, or empty.
    pub etag: String,
    /// Its body.
    pub body: String,
    /// Whether it is said again.
    pub replayed: bool,
}

#[derive(Queryable, Selectable, Insertable)]
#[diesel(table_name = idempotency)]
struct Row {
    shop_id: String,
    route: String,
    key: String,
    print: String,
    status: i32,
    location: String,
    etag: String,
    body: String,
    created_at: i64,
}

/// Runs `f` unless the key was used before on this route; gives the answer, kept or new.
pub fn once(
    tx: &mut Tx<'_>,
    route: &str,
    key: &IdempotencyKey,
    print: &str,
    f: &mut dyn FnMut(&mut Tx<'_>) -> Done<Kept>,
) -> Done<Kept> {
    let of_request = print;
    let print = asked_by(&tx.actor, of_request);
    if let Some(row) = find(tx, route, &key.0)? {
        // Before keys belonged to an account, the request alone was kept: such a row counts until it is forgotten, so that
        // a request that is repeated across an update still happens once.
        if row.print != print && row.print != of_request {
            return Err(Problem::invalid(
                "idempotency-key-reused",
                "This Idempotency-Key was used for another request: with another body, or by another account or role. \
                 Use a new key for a new request.",
            )
            .into());
        }
        if row.status == BLANKED {
            let detail = "This request was done before, and its answer was erased at the customer's request. Use a new \
                          key for a new request.";
            return Err(Problem::conflict("answer-erased", detail).into());
        }
        let status = u16::try_from(row.status).unwrap_or(200);
        return Ok(Kept { status, location: row.location, etag: row.etag, body: row.body, replayed: true });
    }
    let kept = f(tx)?;
    let row = Row {
        shop_id: tx.studio.id.to_string(),
        route: route.to_owned(),
        key: key.0.clone(),
        print,
        status: i32::from(kept.status),
        location: kept.location.clone(),
        etag: kept.etag.clone(),
        body: kept.body.clone(),
        created_at: tx.now.ms(),
    };
    diesel::insert_into(idempotency::table).values(&row).execute(tx.conn).map_err(DbError::from)?;
    Ok(kept)
}

/// The fingerprint of a request together with who sends it, so that nobody is given an answer that was meant for another
/// account, or for a role that they no longer have.
fn asked_by(actor: &Actor, print: &str) -> String {
    let role = actor.role().map_or("", |role| role.as_str());
    canonical::digest(&format!("{}\n{}\n{role}\n{print}", actor.kind(), actor.id()))
}

/// Status of an answer that was blanked.
const BLANKED: i32 = 0;

/// Blanks the kept answers that say one of those texts, for a customer who is being erased. Their keys stay, so that no
/// repeated request makes anything twice.
pub fn forget_what_says(tx: &mut Tx<'_>, texts: &[String]) -> Done<()> {
    let rows: Vec<(String, String, String)> = idempotency::table
        .filter(idempotency::shop_id.eq(tx.studio.id.as_str()))
        .select((idempotency::route, idempotency::key, idempotency::body))
        .load(tx.conn)
        .map_err(DbError::from)?;
    let says = |body: &str| texts.iter().any(|text| body.contains(text.as_str()));
    for (route, key, _) in rows.into_iter().filter(|(route, _, body)| says(body) || says(route)) {
        let one = idempotency::table
            .filter(idempotency::shop_id.eq(tx.studio.id.as_str()))
            .filter(idempotency::route.eq(route))
            .filter(idempotency::key.eq(key));
        diesel::update(one)
            .set((
                idempotency::status.eq(BLANKED),
                idempotency::location.eq(""),
                idempotency::etag.eq(""),
                idempotency::body.eq(""),
            ))
            .execute(tx.conn)
            .map_err(DbError::from)?;
    }
    Ok(())
}

/// Whether the key was used before on this route.
pub fn is_known(tx: &mut Tx<'_>, route: &str, key: &IdempotencyKey) -> Done<bool> {
    Ok(find(tx, route, &key.0)?.is_some())
}

fn find(tx: &mut Tx<'_>, route: &str, key: &str) -> Stored<Option<Row>> {
    Ok(idempotency::table
        .filter(idempotency::shop_id.eq(tx.studio.id.as_str()))
        .filter(idempotency::route.eq(route))
        .filter(idempotency::key.eq(key))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?)
}

/// Forgets the shop's keys older than [`KEEP_HOURS`].
pub fn forget_old(tx: &mut Tx<'_>) -> Done<()> {
    let limit = tx.now.plus_minutes(-KEEP_HOURS * 60).ms();
    let old = idempotency::table
        .filter(idempotency::shop_id.eq(tx.studio.id.as_str()))
        .filter(idempotency::created_at.lt(limit));
    diesel::delete(old).execute(tx.conn).map_err(DbError::from)?;
    Ok(())
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
