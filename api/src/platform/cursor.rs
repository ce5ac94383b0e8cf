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
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hmac::{Hmac, KeyInit, Mac};
use serde::de::DeserializeOwned;
use sha2::Sha256;

pub use sort::{ByStart, DatedParams, Kept, Newest, PageParams, Sort, StartParams};

use super::answer::Page;
use super::body::{bad_parameter, parse_query_beside};
use super::clock::UtcTime;
use super::fail::Stored;
use super::prefer;
use super::problem::Problem;
use super::wire::Instant;
use crate::server::App;

const DEFAULT_LIMIT: i64 = 50;
const MAX_LIMIT: i64 = 200;

/// Where a row stands in its list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// What the list is sorted by, as text; empty where that is the id.
    pub key: String,
    /// The row's id, which settles ties.
    pub id: String,
}

impl Mark {
    /// The mark of a row in a list sorted by id.
    pub fn of_id(id: impl Into<String>) -> Self {
        Self { key: String::new(), id: id.into() }
    }

    /// The key as a number, for lists sorted by time or amount.
    pub fn number(&self) -> i64 {
        self.key.parse().unwrap_or(0)
    }
}

/// Which part of the list is wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// From the start.
    Start,
    /// What follows the row.
    After(Mark),
    /// What comes before the row; the store reads it backwards.
    Before(Mark),
}

/// One page's worth of a list.
#[derive(Debug, Clone)]
pub struct Paging {
    limit: i64,
    place: Place,
    /// Whether the list is wanted in the other order than its own.
    turned: bool,
    /// Only what was made after this moment is wanted.
    made_after: Option<UtcTime>,
    base: String,
    filters: String,
    /// The list's path and filters, which its cursors belong to.
    list: String,
    this: String,
    secret: Vec<u8>,
    /// Where the client asked for it: how many records the whole list has, once they are counted.
    total: Option<OnceCell<i64>>,
}

impl Paging {
    /// How many rows to read: one more than the page holds, which tells whether there is a next page.
    pub fn fetch(&self) -> i64 {
        self.limit + 1
    }

    /// The row that the page begins beside, on the side that [`Paging::against`] says; none at the list's start.
    pub fn mark(&self) -> Option<&Mark> {
        match &self.place {
            Place::Start => None,
            Place::After(mark) | Place::Before(mark) => Some(mark),
        }
    }

    /// Whether the store reads against the list's own order: because the client wants it turned, or because it goes to the
    /// page before. [`Paging::page`] turns the rows of the latter round again.
    pub fn against(&self) -> bool {
        self.turned != self.backwards()
    }

    /// The moment after which the rows must have been made, where the client says one.
    pub fn made_after(&self) -> Option<UtcTime> {
        self.made_after
    }

    fn backwards(&self) -> bool {
        matches!(self.place, Place::Before(_))
    }

    /// Takes in how many records the whole list has, if the client asked for that; `counted` is run only then, in the
    /// transaction that reads the page.
    ///
    /// # Errors
    /// Those of `counted`.
    pub fn count(&self, counted: impl FnOnce() -> Stored<i64>) -> Stored<()> {
        if let Some(total) = &self.total {
            // A second count could only say the same.
            let _ = total.set(counted()?);
        }
        Ok(())
    }

    /// Makes the page out of the rows read, in the order the store read them.
    pub fn page<T>(&self, mut rows: Vec<T>, mark: impl Fn(&T) -> Mark) -> Page<T> {
        let size = usize::try_from(self.limit).unwrap_or(usize::MAX);
        let more = rows.len() > size;
        rows.truncate(size);
        if self.backwards() {
            rows.reverse();
        }
        let (has_next, has_prev) = match self.place {
            Place::Start => (more, false),
            Place::After(_) => (more, true),
            Place::Before(_) => (true, more),
        };
        let next = rows.last().filter(|_| has_next).map(|row| self.link('a', &mark(row)));
        let prev = rows.first().filter(|_| has_prev).map(|row| self.link('b', &mark(row)));
        let total = self.total.as_ref().and_then(|total| total.get().copied());
        Page { next, prev, this: self.this.clone(), items: rows, total }
    }

    /// Cuts the page out of a short list that was read whole, in the order of its marks.
    pub fn cut<T>(&self, all: Vec<T>, mark: impl Fn(&T) -> Mark) -> Page<T> {
        let place = |item: &T| {
            let mark = mark(item);
            (mark.key, mark.id)
        };
        if let Some(total) = &self.total {
            let _ = total.set(i64::try_from(all.len()).unwrap_or(i64::MAX));
        }
        let fetch = usize::try_from(self.fetch()).unwrap_or(usize::MAX);
        let beside = self.mark().map(|mark| (mark.key.clone(), mark.id.clone()));
        let rows: Vec<T> = if self.against() {
            let before = all.into_iter().rev().filter(|item| beside.as_ref().is_none_or(|first| place(item) < *first));
            before.take(fetch).collect()
        } else {
            let after = all.into_iter().filter(|item| beside.as_ref().is_none_or(|last| place(item) > *last));
            after.take(fetch).collect()
        };
        self.page(rows, mark)
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

/// The keyed digest over a cursor's text and its list; `None` only if HMAC refused the key, which it does for no length.
fn keyed(secret: &[u8], list: &str, body: &str) -> Option<Hmac<Sha256>> {
    let mut mac = Hmac::<Sha256>::new_from_slice(secret).ok()?;
    mac.update(b"cursor\n");
    mac.update(list.as_bytes());
    mac.update(b"\n");
    mac.update(body.as_bytes());
    Some(mac)
}

/// The code that a cursor carries; an empty one would fit no cursor.
fn code(secret: &[u8], list: &str, body: &str) -> Vec<u8> {
    let whole = keyed(secret, list, body).map(|mac| mac.finalize().into_bytes());
    whole.map(|bytes| bytes.as_slice()[..CODE_BYTES].to_vec()).unwrap_or_default()
}

fn read(secret: &[u8], list: &str, cursor: &str) -> Option<Place> {
    let bytes = URL_SAFE_NO_PAD.decode(cursor).ok()?;
    let (given, body) = bytes.split_at_checked(CODE_BYTES)?;
    let body = std::str::from_utf8(body).ok()?;
    // Compares in constant time: how long it takes tells nobody how much of a made-up code was right.
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
    /// Which part of the list.
    pub paging: Paging,
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

/// What of a query string says which page of a list is wanted; the rest is the feature's.
#[derive(Default)]
struct Asked {
    limit: Option<i64>,
    cursor: Option<String>,
    turned: Option<bool>,
    made_after: Option<UtcTime>,
}

impl Asked {
    /// Takes a parameter in, where it is one of a list sorted so.
    fn take<S: Sort>(&mut self, name: &str, value: &str) -> Result<bool, Problem> {
        let twice = match name {
            "limit" => self.limit.replace(limit(value)?).is_some(),
            "cursor" => self.cursor.replace(value.to_owned()).is_some(),
            "sort" | "created_after" => match S::WORDS {
                Some(words) if name == "sort" => self.turned.replace(sort::turned(words, value)?).is_some(),
                Some(_) => self.made_after.replace(moment(value)?).is_some(),
                None => return Ok(false),
            },
            _ => return Ok(false),
        };
        if twice {
            return Err(Problem::malformed(format!("The query parameter {name:?} is given twice.")));
        }
        Ok(true)
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
    let app = request.app_data::<Data<App>>().ok_or_else(Problem::unexpected)?;
    let mut asked = Asked::default();
    // What the cursor belongs to is all but the page; what the feature reads is all but that and the order.
    let (mut filters, mut own) = (serializer(), serializer());
    for (name, value) in url::form_urlencoded::parse(request.query_string().as_bytes()) {
        let taken = asked.take::<S>(&name, &value)?;
        if !taken {
            own.append_pair(&name, &value);
        }
        if !matches!(name.as_ref(), "limit" | "cursor") {
            filters.append_pair(&name, &value);
        }
    }
    let total = prefer::wants_total(request.headers())?.then(OnceCell::new);
    let filters = filters.finish();
    let others: &[&str] = match S::WORDS {
        Some(_) => &["limit", "cursor", "sort", "created_after"],
        None => &["limit", "cursor"],
    };
    let filter = parse_query_beside(&own.finish(), others)?;
    let secret = app.keys.cursor_secret();
    let base = format!("{}{}", app.config.public_url, request.path());
    let this = match request.query_string() {
        "" => base.clone(),
        query => format!("{base}?{query}"),
    };
    let list = format!("{}?{filters}", request.path());
    let place = match asked.cursor {
        None => Place::Start,
        Some(text) => read(&secret, &list, &text).ok_or_else(|| {
            let detail = "This cursor belongs to another list. Start again without it, or follow next and prev as \
                          given.";
            bad_parameter("cursor", detail)
        })?,
    };
    let (limit, turned) = (asked.limit.unwrap_or(DEFAULT_LIMIT), asked.turned.unwrap_or_default());
    let made_after = asked.made_after;
    let paging = Paging { limit, place, turned, made_after, base, filters, list, this, secret, total };
    Ok(List { filter, paging, order: PhantomData })
}

fn serializer() -> url::form_urlencoded::Serializer<'static, String> {
    url::form_urlencoded::Serializer::new(String::new())
}

/// Loads the wanted page of a boxed query by ids, newest first where the client doesn't want it turned, of rows made when
/// the client says, and counts the query's rows where the client asked.
#[macro_export]
macro_rules! newest_first {
    ($query:expr, $id:expr, $made:expr, $paging:expr, $conn:expr) => {{
        let query = match $paging.made_after() {
            Some(moment) => $query.filter($made.gt(moment.ms())),
            None => $query,
        };
        $paging.count(|| $crate::platform::db::count(&query, $conn))?;
        match ($paging.mark(), $paging.against()) {
            (None, false) => query.order($id.desc()),
            (None, true) => query.order($id.asc()),
            (Some(mark), false) => query.filter($id.lt(mark.id.clone())).order($id.desc()),
            (Some(mark), true) => query.filter($id.gt(mark.id.clone())).order($id.asc()),
        }
        .limit($paging.fetch())
        .load($conn)?
    }};
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
