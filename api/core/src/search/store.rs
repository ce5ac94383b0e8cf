//! Rows of the search index. A search is a range scan over the words' primary key.

use baywright_domain::search::{Words, end_of};
use diesel::prelude::*;

use super::usecase::{Hit, rules};
use crate::platform::db::{each_engine, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{search_subject, search_word};

pub(super) fn delete(tx: &mut Tx<'_>, id: &str) -> Stored<()> {
    let shop = tx.studio.id.as_str();
    diesel::delete(rows_of_shop!(search_word, id = shop).filter(search_word::subject_id.eq(id))).execute(tx.conn)?;
    diesel::delete(rows_of_shop!(search_subject, id = shop).filter(search_subject::id.eq(id))).execute(tx.conn)?;
    Ok(())
}

pub(super) fn insert(tx: &mut Tx<'_>, hit: &Hit, words: &Words) -> Stored<()> {
    let shop = tx.studio.id.as_str();
    diesel::insert_into(search_subject::table)
        .values((
            search_subject::id.eq(&hit.id),
            search_subject::shop_id.eq(shop),
            search_subject::kind.eq(&hit.kind),
            search_subject::title.eq(&hit.title),
            search_subject::detail.eq(&hit.detail),
            search_subject::rules.eq(rules(tx)),
        ))
        .execute(tx.conn)?;
    let rows: Vec<_> = words
        .iter()
        .map(|word| {
            (search_word::shop_id.eq(shop), search_word::word.eq(word), search_word::subject_id.eq(hit.id.as_str()))
        })
        .collect();
    if !rows.is_empty() {
        // One statement for all words: an import would otherwise wait for the database for each word.
        each_engine!(tx.conn, conn => diesel::insert_into(search_word::table).values(rows).execute(conn))?;
    }
    Ok(())
}

/// Records of which each prefix starts a word; newest first.
pub(super) fn ids(tx: &mut Tx<'_>, prefixes: &[String], limit: i64) -> Stored<Vec<String>> {
    let shop = tx.studio.id.as_str();
    let Some((first, others)) = prefixes.split_first() else {
        return Ok(Vec::new());
    };
    let mut query = rows_of_shop!(search_word, id = shop)
        .filter(search_word::word.ge(first.clone()))
        .filter(search_word::word.lt(end_of(first)))
        .select(search_word::subject_id)
        .distinct()
        .order(search_word::subject_id.desc())
        .limit(limit)
        .into_boxed();
    let other = diesel::alias!(search_word as other_word);
    for prefix in others {
        let having = other
            .filter(other.field(search_word::shop_id).eq(shop))
            .filter(other.field(search_word::word).ge(prefix.clone()))
            .filter(other.field(search_word::word).lt(end_of(prefix)))
            .select(other.field(search_word::subject_id));
        query = query.filter(search_word::subject_id.eq_any(having));
    }
    Ok(query.load(tx.conn)?)
}

/// Ids of some records of a kind that were indexed by other rules than those of now.
pub(super) fn outdated(tx: &mut Tx<'_>, kind: &str, limit: i64) -> Stored<Vec<String>> {
    // Two ranges, so that the index finds them without scanning the rows that are up to date.
    let now = rules(tx);
    let of_kind = || {
        rows_of_shop!(search_subject, id = tx.studio.id.to_string())
            .filter(search_subject::kind.eq(kind.to_owned()))
            .select(search_subject::id)
            .limit(limit)
    };
    let mut ids: Vec<String> = of_kind().filter(search_subject::rules.lt(now.clone())).load(tx.conn)?;
    if ids.is_empty() {
        ids = of_kind().filter(search_subject::rules.gt(now)).load(tx.conn)?;
    }
    Ok(ids)
}

pub(super) fn of_ids(tx: &mut Tx<'_>, ids: &[String]) -> Stored<Vec<Hit>> {
    let rows: Vec<(String, String, String, String)> = rows_of_shop!(search_subject, tx)
        .filter(search_subject::id.eq_any(ids.to_vec()))
        .select((search_subject::kind, search_subject::id, search_subject::title, search_subject::detail))
        .order(search_subject::id.desc())
        .load(tx.conn)?;
    Ok(rows.into_iter().map(|(kind, id, title, detail)| Hit { kind, id, title, detail }).collect())
}
