//! What is kept for searching, and searching.

use baywright_domain::search::{Words, asked};

use super::store;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;

/// The most that one search answers.
pub const MOST: i64 = 50;

/// A record that can be found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    /// The kind of record, as the log names it, such as `customer`.
    pub kind: String,
    /// Its id.
    pub id: String,
    /// What it is called; cut to 200 characters.
    pub title: String,
    /// What tells it from others of that name; cut to 300 characters.
    pub detail: String,
}

impl AsRef<str> for Hit {
    fn as_ref(&self) -> &str {
        &self.id
    }
}

/// Keeps a record under its words, in place of those it was kept under before.
pub fn index(tx: &mut Tx<'_>, hit: Hit, words: &Words) -> Done<()> {
    store::delete(tx, &hit.id)?;
    let cut = |text: &str, most| text.chars().take(most).collect();
    let hit = Hit { title: cut(&hit.title, 200), detail: cut(&hit.detail, 300), ..hit };
    store::insert(tx, &hit, words)?;
    Ok(())
}

/// Takes a record out of what is found.
pub fn forget(tx: &mut Tx<'_>, id: &str) -> Done<()> {
    Ok(store::delete(tx, id)?)
}

/// What is found under the words typed, newest first, and whether there is more.
pub fn search(tx: &mut Tx<'_>, typed: &str, limit: i64) -> Done<(Vec<Hit>, bool)> {
    let Some(asked) = asked(typed) else {
        return Ok((Vec::new(), false));
    };
    let most = limit.clamp(1, MOST);
    let mut ids = store::ids(tx, &asked.words, most + 1)?;
    if let Some(joined) = asked.joined {
        ids.extend(store::ids(tx, &[joined], most + 1)?);
        ids.sort_unstable_by(|a, b| b.cmp(a));
        ids.dedup();
    }
    let size = usize::try_from(most).unwrap_or(usize::MAX);
    let more = ids.len() > size;
    ids.truncate(size);
    Ok((store::of_ids(tx, &ids)?, more))
}
