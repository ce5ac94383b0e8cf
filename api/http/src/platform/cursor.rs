//! Lists by cursor: a page says where the next one starts, and rows added or removed meanwhile are neither repeated nor
//! skipped.
//!
//! A cursor is the sort key and id of a row, the direction, and a code over them, the list's path and its filters
//! (HMAC-SHA-256), so that it can't be made up or carried to another list.

mod sort;

use std::cell::OnceCell;
use std::future::{Ready, ready};
use std::marker::PhantomData;

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::paging::{Mark, Paging, Place, Slice};
use baywright_core::platform::refusal::Refused;
use hmac::{Hmac, KeyInit, Mac};
use serde::de::DeserializeOwned;
use sha2::Sha256;

pub use sort::{ByStart, DatedParams, Kept, Newest, PageParams, Sort, StartParams};

use super::answer::Page;
use super::app::App;
use super::body::{bad_parameter, parse_query_beside};
use super::prefer;
use super::problem::Problem;
use super::wire::Instant;

const DEFAULT_LIMIT: i64 = 50;
const MAX_LIMIT: i64 = 200;

/// Address of a list, from which the links of its pages are made.
#[derive(Debug, Clone)]
pub struct Links {
    limit: i64,
    base: String,
    filters: String,
    /// The list's path and filters, which its cursors belong to.
    list: String,
    this: String,
    secret: Vec<u8>,
}

impl Links {
    /// A part of the list with the paths of the pages before and after it.
    pub fn page<T>(&self, found: Slice<T>) -> Page<T> {
        let next = found.next.map(|mark| self.link('a', &mark));
        let prev = found.prev.map(|mark| self.link('b', &mark));
        Page { next, prev, this: self.this.clone(), items: found.items, total: found.total }
    }

    fn link(&self, direction: char, mark: &Mark) -> String {
        let body = format!("{direction}\n{}\n{}", mark.key, mark.id);
        let mut bytes = code(&self.secret, &self.list, &body);
        bytes.extend_from_slice(body.as_bytes());
        let joint = if self.filters.is_empty() { "" } else { "&" };
        format!("{}?{}{joint}limit={}&cursor={}", self.base, self.filters, self.limit, URL_SAFE_NO_PAD.encode(bytes))
    }
}

const CODE_BYTES: usize = 16;

/// The keyed digest over a cursor's text and its list; `None` only if HMAC refused the key, which never happens, since it
/// takes keys of any length.
fn keyed(secret: &[u8], list: &str, body: &str) -> Option<Hmac<Sha256>> {
    let mut mac = Hmac::<Sha256>::new_from_slice(secret).ok()?;
    mac.update(b"cursor\n");
    mac.update(list.as_bytes());
    mac.update(b"\n");
    mac.update(body.as_bytes());
    Some(mac)
}

/// The code that a cursor carries; an empty code matches no cursor.
fn code(secret: &[u8], list: &str, body: &str) -> Vec<u8> {
    let whole = keyed(secret, list, body).map(|mac| mac.finalize().into_bytes());
    whole.map(|bytes| bytes.as_slice()[..CODE_BYTES].to_vec()).unwrap_or_default()
}

fn read(secret: &[u8], list: &str, cursor: &str) -> Option<Place> {
    let bytes = URL_SAFE_NO_PAD.decode(cursor).ok()?;
    let (given, body) = bytes.split_at_checked(CODE_BYTES)?;
    let body = std::str::from_utf8(body).ok()?;
    // Compares in constant time, so that the time of an answer doesn't show how much of an invented code was right.
    keyed(secret, list, body)?.verify_truncated_left(given).ok()?;
    let mut parts = body.splitn(3, '\n');
    let (direction, key, id) = (parts.next()?, parts.next()?, parts.next()?);
    let mark = Mark { key: key.to_owned(), id: id.to_owned() };
    Some(if direction == "a" { Place::After(mark) } else { Place::Before(mark) })
}

/// Parameters of a list: the feature's own filter, and those that say which page, of which order.
#[derive(Debug)]
pub struct List<F, S = Newest> {
    /// The feature's filter.
    pub filter: F,
    /// The requested part of the list.
    pub paging: Paging,
    /// Address of the list.
    pub links: Links,
    order: PhantomData<S>,
}

/// A list without filters.
#[derive(Debug, Clone, Copy, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NoFilter {}

impl<F: DeserializeOwned + 'static, S: Sort> FromRequest for List<F, S> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(extract(request))
    }
}

/// The query string of a list. It does not depend on the feature's filter, so that reading it is compiled once.
#[derive(Default)]
struct Asked {
    limit: Option<i64>,
    cursor: Option<String>,
    turned: Option<bool>,
    made_after: Option<UtcTime>,
    total: Option<OnceCell<i64>>,
    /// All parameters except the page, which a cursor belongs to.
    filters: String,
    /// All parameters except the page and the order, which the feature reads.
    own: String,
}

impl Asked {
    /// Reads the query string of a list that can be sorted by `words`.
    fn of(request: &HttpRequest, words: Option<[&str; 2]>) -> Result<Self, Problem> {
        let mut asked = Self::default();
        let (mut filters, mut own) = (serializer(), serializer());
        for (name, value) in url::form_urlencoded::parse(request.query_string().as_bytes()) {
            let taken = asked.take(words, &name, &value)?;
            if !taken {
                own.append_pair(&name, &value);
            }
            if !matches!(name.as_ref(), "limit" | "cursor") {
                filters.append_pair(&name, &value);
            }
        }
        asked.total = prefer::wants_total(request.headers())?.then(OnceCell::new);
        (asked.filters, asked.own) = (filters.finish(), own.finish());
        Ok(asked)
    }

    /// Stores a parameter of the query, if lists in this order accept it; returns whether it was accepted.
    fn take(&mut self, words: Option<[&str; 2]>, name: &str, value: &str) -> Result<bool, Problem> {
        let twice = match name {
            "limit" => self.limit.replace(limit(value)?).is_some(),
            "cursor" => self.cursor.replace(value.to_owned()).is_some(),
            "sort" | "created_after" => match words {
                Some(words) if name == "sort" => self.turned.replace(sort::turned(words, value)?).is_some(),
                Some(_) => self.made_after.replace(moment(value)?).is_some(),
                None => return Ok(false),
            },
            _ => return Ok(false),
        };
        if twice {
            return Err(Problem::from(Refused::malformed(format!("The query parameter {name:?} is given twice."))));
        }
        Ok(true)
    }

    /// The requested part of the list, and the list's address.
    fn placed(self, request: &HttpRequest) -> Result<(Paging, Links), Problem> {
        let app = App::of(request)?;
        let secret = app.program.keys.cursor_secret();
        let base = format!("{}{}", app.program.config.public_url, request.path());
        let this = match request.query_string() {
            "" => base.clone(),
            query => format!("{base}?{query}"),
        };
        let list = format!("{}?{}", request.path(), self.filters);
        let place = match self.cursor {
            None => Place::Start,
            Some(text) => read(&secret, &list, &text).ok_or_else(|| {
                let detail = "This cursor belongs to another list. Start again without it, or follow next and prev as \
                              given.";
                bad_parameter("cursor", detail)
            })?,
        };
        let (limit, turned) = (self.limit.unwrap_or(DEFAULT_LIMIT), self.turned.unwrap_or_default());
        let paging = Paging { limit, place, turned, made_after: self.made_after, total: self.total };
        Ok((paging, Links { limit, base, filters: self.filters, list, this, secret }))
    }
}

fn limit(value: &str) -> Result<i64, Problem> {
    let number = value.parse::<i64>().ok().filter(|number| (1..=MAX_LIMIT).contains(number));
    number.ok_or_else(|| {
        let detail = format!("limit: write a whole number from 1 to {MAX_LIMIT}, and follow next for more records.");
        bad_parameter("limit", detail)
    })
}

fn moment(value: &str) -> Result<UtcTime, Problem> {
    let parsed = Instant::parse(value);
    parsed.map(|moment| moment.0).map_err(|why| bad_parameter("created_after", format!("created_after: {why}.")))
}

fn extract<F: DeserializeOwned, S: Sort>(request: &HttpRequest) -> Result<List<F, S>, Problem> {
    let asked = Asked::of(request, S::WORDS)?;
    let others: &[&str] = match S::WORDS {
        Some(_) => &["limit", "cursor", "sort", "created_after"],
        None => &["limit", "cursor"],
    };
    let filter = parse_query_beside(&asked.own, others)?;
    let (paging, links) = asked.placed(request)?;
    Ok(List { filter, paging, links, order: PhantomData })
}

fn serializer() -> url::form_urlencoded::Serializer<'static, String> {
    url::form_urlencoded::Serializer::new(String::new())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cursor_is_read_only_with_its_own_code_and_on_its_own_list() {
        let made = |filters: &str, body: &str| {
            let mut bytes = code(b"secret", filters, body);
            bytes.extend_from_slice(body.as_bytes());
            bytes
        };
        let read = |secret: &[u8], filters: &str, bytes: &[u8]| read(secret, filters, &URL_SAFE_NO_PAD.encode(bytes));
        let good = made("state=OPEN", "a\n17\nid");
        let mark = Mark { key: "17".to_owned(), id: "id".to_owned() };
        assert_eq!(read(b"secret", "state=OPEN", &good), Some(Place::After(mark)));
        assert_eq!(read(b"secret", "state=PAID", &good), None);
        assert_eq!(read(b"another", "state=OPEN", &good), None);
        for at in 0..good.len() {
            let mut changed = good.clone();
            changed[at] ^= 1;
            assert_eq!(read(b"secret", "state=OPEN", &changed), None, "{at}");
        }
        assert_eq!(read(b"secret", "state=OPEN", &good[..CODE_BYTES - 1]), None);
    }
}
