//! Lists by cursor: a page says where the next one starts, and rows added or removed meanwhile are neither repeated nor
//! skipped.
//!
//! A cursor is the sort key and id of a row, the direction, and a code over them and the list's filters (HMAC-SHA-256),
//! so that it can't be made up or carried to another list.

use std::cell::OnceCell;
use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hmac::{Hmac, KeyInit, Mac};
use serde::de::DeserializeOwned;
use sha2::Sha256;

use super::answer::Page;
use super::body::parse_query;
use super::fail::Stored;
use super::prefer;
use super::problem::Problem;
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
    /// Which part of the list is wanted.
    pub place: Place,
    base: String,
    filters: String,
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

    /// Whether the store reads backwards; [`Paging::page`] turns the rows round again.
    pub fn backwards(&self) -> bool {
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
        let rows: Vec<T> = match &self.place {
            Place::Start => all.into_iter().take(fetch).collect(),
            Place::After(last) => {
                let last = (last.key.clone(), last.id.clone());
                all.into_iter().filter(|item| place(item) > last).take(fetch).collect()
            }
            Place::Before(first) => {
                let first = (first.key.clone(), first.id.clone());
                let before: Vec<T> = all.into_iter().filter(|item| place(item) < first).collect();
                before.into_iter().rev().take(fetch).collect()
            }
        };
        self.page(rows, mark)
    }

    fn link(&self, direction: char, mark: &Mark) -> String {
        let body = format!("{direction}\n{}\n{}", mark.key, mark.id);
        let mut bytes = code(&self.secret, &self.filters, &body);
        bytes.extend_from_slice(body.as_bytes());
        let joint = if self.filters.is_empty() { "" } else { "&" };
        format!("{}?{}{joint}limit={}&cursor={}", self.base, self.filters, self.limit, URL_SAFE_NO_PAD.encode(bytes))
    }
}

const CODE_BYTES: usize = 16;

fn code(secret: &[u8], filters: &str, body: &str) -> Vec<u8> {
    // HMAC takes keys of any length, so this can't fail; an empty code would match no cursor.
    let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(secret) else {
        return Vec::new();
    };
    mac.update(b"cursor\n");
    mac.update(filters.as_bytes());
    mac.update(b"\n");
    mac.update(body.as_bytes());
    mac.finalize().into_bytes().as_slice()[..CODE_BYTES].to_vec()
}

fn read(secret: &[u8], filters: &str, cursor: &str) -> Option<Place> {
    let bytes = URL_SAFE_NO_PAD.decode(cursor).ok()?;
    let (given, body) = bytes.split_at_checked(CODE_BYTES)?;
    let body = std::str::from_utf8(body).ok()?;
    if code(secret, filters, body) != given {
        return None;
    }
    let mut parts = body.splitn(3, '\n');
    let (direction, key, id) = (parts.next()?, parts.next()?, parts.next()?);
    let mark = Mark { key: key.to_owned(), id: id.to_owned() };
    Some(if direction == "a" { Place::After(mark) } else { Place::Before(mark) })
}

/// Parameters of a list: the feature's own filter, and `limit` and `cursor`.
#[derive(Debug)]
pub struct List<F> {
    /// The feature's filter.
    pub filter: F,
    /// Which part of the list.
    pub paging: Paging,
}

/// The parameters of every list, for the API document.
#[derive(Debug, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
pub struct PageParams {
    /// How many records a page holds at most; 50 where not said, and never more than 200.
    #[param(minimum = 1, maximum = 2_147_483_647, nullable = false)]
    pub limit: Option<i32>,
    /// Where the page starts: as `next` and `prev` give it.
    #[param(max_length = 2000, pattern = "^[A-Za-z0-9_-]*$", nullable = false)]
    pub cursor: Option<String>,
}

/// A list without filters.
#[derive(Debug, Clone, Copy, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NoFilter {}

impl<F: DeserializeOwned + 'static> FromRequest for List<F> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(extract(request))
    }
}

fn extract<F: DeserializeOwned>(request: &HttpRequest) -> Result<List<F>, Problem> {
    let app = request.app_data::<Data<App>>().ok_or_else(Problem::unexpected)?;
    let mut limit = DEFAULT_LIMIT;
    let mut cursor = None;
    let mut seen = (false, false);
    let mut rest = url::form_urlencoded::Serializer::new(String::new());
    for (name, value) in url::form_urlencoded::parse(request.query_string().as_bytes()) {
        match name.as_ref() {
            "limit" if seen.0 => return Err(Problem::malformed("The query parameter \"limit\" is given twice.")),
            "cursor" if seen.1 => return Err(Problem::malformed("The query parameter \"cursor\" is given twice.")),
            "limit" => {
                seen.0 = true;
                let number = value.parse::<i32>().ok().filter(|n| *n >= 1);
                let number = number.ok_or_else(|| Problem::malformed("limit must be a whole number of 1 or more."))?;
                limit = i64::from(number).min(MAX_LIMIT);
            }
            "cursor" => {
                seen.1 = true;
                cursor = Some(value.into_owned());
            }
            _ => {
                rest.append_pair(&name, &value);
            }
        }
    }
    let total = prefer::wants_total(request.headers())?.then(OnceCell::new);
    let filters = rest.finish();
    let filter = parse_query(&filters)?;
    let secret = app.keys.cursor_secret();
    let base = format!("{}{}", app.config.public_url, request.path());
    let this = match request.query_string() {
        "" => base.clone(),
        query => format!("{base}?{query}"),
    };
    let place = match cursor {
        None => Place::Start,
        Some(text) => read(&secret, &filters, &text).ok_or_else(|| {
            Problem::malformed(
                "This cursor is not of this list. Start again without it, or follow next and prev as given.",
            )
        })?,
    };
    Ok(List { filter, paging: Paging { limit, place, base, filters, this, secret, total } })
}

/// Loads the wanted page of a boxed query over ids, newest first, and counts the query's rows where the client asked.
#[macro_export]
macro_rules! newest_first {
    ($query:expr, $id:expr, $paging:expr, $conn:expr) => {{
        let query = $query;
        $paging.count(|| $crate::platform::db::count(&query, $conn))?;
        match &$paging.place {
            $crate::platform::cursor::Place::Start => query.order($id.desc()),
            $crate::platform::cursor::Place::After(mark) => query.filter($id.lt(mark.id.clone())).order($id.desc()),
            $crate::platform::cursor::Place::Before(mark) => query.filter($id.gt(mark.id.clone())).order($id.asc()),
        }
        .limit($paging.fetch())
        .load($conn)?
    }};
}
