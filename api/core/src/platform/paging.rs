//! Pages of a list: the requested part and its records.

use std::cell::OnceCell;

use super::clock::UtcTime;
use super::fail::Stored;

/// Position of a row in its list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Value that the list is sorted by, as text; empty if that is the id.
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

/// The requested part of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// From the start.
    Start,
    /// The records after the row.
    After(Mark),
    /// The records before the row; the store reads them backwards.
    Before(Mark),
}

/// Request for one page of a list.
#[derive(Debug, Clone)]
pub struct Paging {
    /// Maximum number of records that the page holds.
    pub limit: i64,
    /// The requested part of the list.
    pub place: Place,
    /// Whether the list is wanted in reverse order.
    pub turned: bool,
    /// Only records made after this moment are wanted.
    pub made_after: Option<UtcTime>,
    /// Number of records of the whole list, if it is asked for and once it is counted.
    pub total: Option<OnceCell<i64>>,
}

impl Paging {
    /// The first records of a list in its own order, at most `limit`.
    pub fn first(limit: i64) -> Self {
        Self { limit, place: Place::Start, turned: false, made_after: None, total: None }
    }

    /// Number of rows to read: one more than the page holds, which tells whether there is a next page.
    pub fn fetch(&self) -> i64 {
        self.limit + 1
    }

    /// The row next to which the page begins, on the side that [`Paging::against`] says; `None` at the list's start.
    pub fn mark(&self) -> Option<&Mark> {
        match &self.place {
            Place::Start => None,
            Place::After(mark) | Place::Before(mark) => Some(mark),
        }
    }

    /// Whether the store reads against the list's own order: either because the list is wanted in reverse, or because the
    /// page before is wanted. In the latter case [`Paging::page`] reverses the rows again.
    pub fn against(&self) -> bool {
        self.turned != self.backwards()
    }

    fn backwards(&self) -> bool {
        matches!(self.place, Place::Before(_))
    }

    /// Sets the number of records of the whole list, if it was asked for. `counted` runs only then, in the transaction that
    /// reads the page.
    ///
    /// # Errors
    /// Those of `counted`.
    pub fn count(&self, counted: impl FnOnce() -> Stored<i64>) -> Stored<()> {
        if let Some(total) = &self.total {
            // A second count would return the same number.
            let _ = total.set(counted()?);
        }
        Ok(())
    }

    /// Makes the page from the rows, which are in the order in which the store read them.
    pub fn page<T>(&self, mut rows: Vec<T>, mark: impl Fn(&T) -> Mark) -> Slice<T> {
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
        let next = rows.last().filter(|_| has_next).map(&mark);
        let prev = rows.first().filter(|_| has_prev).map(&mark);
        let total = self.total.as_ref().and_then(|total| total.get().copied());
        Slice { next, prev, items: rows, total }
    }

    /// Cuts the page from a short list that was read completely, in the order of its marks.
    pub fn cut<T>(&self, all: Vec<T>, mark: impl Fn(&T) -> Mark) -> Slice<T> {
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
}

/// Part of a list, with the positions of the parts before and after it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slice<T> {
    /// The records of this part.
    pub items: Vec<T>,
    /// Mark of the last record, if more records follow it.
    pub next: Option<Mark>,
    /// Mark of the first record, if there are records before it.
    pub prev: Option<Mark>,
    /// Number of records the whole list has, if that was asked for.
    pub total: Option<i64>,
}

impl<T> Slice<T> {
    /// The same part with each record converted.
    pub fn map<V>(self, turn: impl FnMut(T) -> V) -> Slice<V> {
        Slice { items: self.items.into_iter().map(turn).collect(), next: self.next, prev: self.prev, total: self.total }
    }

    /// The same part with each record converted, unless one of them can't be.
    ///
    /// # Errors
    /// The first error of a conversion.
    pub fn try_map<V, E>(self, turn: impl FnMut(T) -> Result<V, E>) -> Result<Slice<V>, E> {
        let items = self.items.into_iter().map(turn).collect::<Result<_, E>>()?;
        Ok(Slice { items, next: self.next, prev: self.prev, total: self.total })
    }
}

/// Loads the wanted page of a boxed query in the order of ids: newest first, or oldest first if the client asks for that, and
/// only rows that were made after `created_after`. Counts all rows of the query if the client asks for it.
#[macro_export]
macro_rules! newest_first {
    ($query:expr, $id:expr, $made:expr, $paging:expr, $conn:expr) => {{
        let query = match $paging.made_after {
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
