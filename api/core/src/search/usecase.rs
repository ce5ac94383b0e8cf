//! The search index, and searching.

use baywright_domain::search::{RULES, Words, asked};

use super::store;
use crate::platform::fail::Done;
use crate::platform::phone;
use crate::platform::tx::Tx;

/// Maximum number of results.
pub const MOST: i64 = 50;

/// A record that can be found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    /// The kind of record, as the log names it, such as `customer`.
    pub kind: String,
    /// Its id.
    pub id: String,
    /// Name of the record; cut to 200 characters.
    pub title: String,
    /// Detail that distinguishes the record from others of that name; cut to 300 characters.
    pub detail: String,
}

impl AsRef<str> for Hit {
    fn as_ref(&self) -> &str {
        &self.id
    }
}

/// Indexes a record under its words, replacing earlier ones.
pub fn index(tx: &mut Tx<'_>, hit: Hit, words: &Words) -> Done<()> {
    store::delete(tx, &hit.id)?;
    let cut = |text: &str, most| text.chars().take(most).collect();
    let hit = Hit { title: cut(&hit.title, 200), detail: cut(&hit.detail, 300), ..hit };
    store::insert(tx, &hit, words)?;
    Ok(())
}

/// Version of the rules by which words are made now: those of words, those of telephone numbers, and the country in
/// which numbers without a country's code are.
pub(super) fn rules(tx: &Tx<'_>) -> String {
    let country = tx.studio.country.map_or_else(|| "-".to_owned(), |country| country.to_string());
    format!("{RULES}.{}.{country}", phone::RULES)
}

/// Number of records that are indexed again in one transaction.
const AT_ONCE: i64 = 500;

/// Ids of some records of a kind whose words were made by earlier rules. Their feature indexes them again.
pub fn outdated(tx: &mut Tx<'_>, kind: &str) -> Done<Vec<String>> {
    Ok(store::outdated(tx, kind, AT_ONCE)?)
}

/// Removes a record from the index.
pub fn forget(tx: &mut Tx<'_>, id: &str) -> Done<()> {
    Ok(store::delete(tx, id)?)
}

/// The records that match the typed words, newest first, and whether there are more.
pub fn search(tx: &mut Tx<'_>, typed: &str, limit: i64) -> Done<(Vec<Hit>, bool)> {
    let number = phone::parse(typed, tx.studio.country);
    let Some(asked) = asked(typed, number.as_ref()) else {
        return Ok((Vec::new(), false));
    };
    let most = limit.clamp(1, MOST);
    let mut ids = store::ids(tx, &asked.words, most + 1)?;
    for whole in asked.joined.into_iter().chain(asked.number) {
        ids.extend(store::ids(tx, &[whole], most + 1)?);
    }
    ids.sort_unstable_by(|a, b| b.cmp(a));
    ids.dedup();
    let size = usize::try_from(most).unwrap_or(usize::MAX);
    let more = ids.len() > size;
    ids.truncate(size);
    Ok((store::of_ids(tx, &ids)?, more))
}
