//! Merging records, and undoing a merge.

mod kind;

use baywright_domain::merge::RecordMove;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::json;

pub use self::kind::Mergeable;
use crate::platform::db::redirect::{self, Column, Rows, Turn};
use crate::platform::fail::{Done, Fail};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// The column in which merged records name the record that replaces them.
const MERGED_INTO: Column = Column { name: "merged_into", but: None };

/// The log entry of a merge: ids, and names of fields.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Logged<T> {
    /// The remaining record.
    into: String,
    /// The rows that refer to it from then on.
    moved: Rows,
    /// Records that had been merged into the one that was merged.
    followers: Rows,
    /// Values that the remaining record took over.
    taken: T,
}

/// A merge that was made or undone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merge {
    /// The record of the request: the remaining one, or the one that is separate again.
    pub id: String,
    /// Its version.
    pub version: i64,
    /// The other record.
    pub other: String,
    /// The other record's version.
    pub other_version: i64,
    /// Number of rows of each table moved.
    pub moved: Vec<(String, usize)>,
}

/// Merges another record into one.
///
/// # Errors
/// `NotFound` if there is no such record, `Invalid` if the other one does not exist, is the same, or is a vehicle of
/// another customer, `Conflict` if one of them was erased or merged before, `Conflict`, to be confirmed, if they have
/// nothing in common, `ChangedMeanwhile` if one of them has changed since it was read.
pub fn merge<R: Mergeable>(tx: &mut Tx<'_>, id: &R::Id, seen: Seen, other: &R::Id, version: i64) -> Done<Merge> {
    let kept = R::standing(tx, id)?;
    seen.check(kept.version())?;
    if id == other {
        return Err(same(R::KIND));
    }
    if R::find(tx, other)?.is_none() {
        return Err(missing(R::KIND));
    }
    let gone = R::standing(tx, other)?;
    Seen(version).check(gone.version())?;
    R::mark(tx, &gone, &kept)?;
    if !kept.has_in_common(tx, &gone) {
        tx.must_confirm("nothing-in-common", R::NOTHING_IN_COMMON)?;
    }
    let (from, to): (&str, &str) = (other.as_ref(), id.as_ref());
    let shop = tx.studio.id.clone();
    let turn = Turn { shop: &shop, from, to, now: tx.now };
    let moved = redirect::all(tx.conn, R::COLUMN, turn)?;
    let followers = redirect::all(tx.conn, MERGED_INTO, turn)?;
    let (kept, taken) = R::take_over(tx, &kept, &gone)?;
    let told = tell(&moved);
    let logged = Logged { into: to.to_owned(), moved, followers, taken };
    record::write(tx, &merged::<R>(), (R::KIND, from), as_json(&logged)?)?;
    let gone = show::<R>(tx, other)?;
    Ok(Merge {
        id: to.to_owned(),
        version: kept.version(),
        other: from.to_owned(),
        other_version: gone.version(),
        moved: told,
    })
}

/// Undoes the merge of a record. Records that were made since for what had moved go back with it.
///
/// # Errors
/// `NotFound` if there is no such record, `Conflict` if the record was not merged or if something in between must be
/// undone first, `ChangedMeanwhile` if it has changed since it was read.
pub fn undo<R: Mergeable>(tx: &mut Tx<'_>, id: &R::Id, seen: Seen) -> Done<Merge> {
    let gone = show::<R>(tx, id)?;
    seen.check(gone.version())?;
    gone.record_state().go(RecordMove::Separate)?;
    let into = gone.merged_into();
    let into = into.ok_or_else(|| Fail::unexpected(format!("a merged {} names no other", R::KIND)))?;
    let kept = R::standing(tx, into)?;
    R::check_separable(tx, &kept)?;
    let (from, to): (&str, &str) = (into.as_ref(), id.as_ref());
    let logged: Logged<R::TakenOver> = of_log(tx, &merged::<R>(), (R::KIND, to))?;
    direct(&logged, from)?;
    let shop = tx.studio.id.clone();
    let turn = Turn { shop: &shop, from, to, now: tx.now };
    let moved = redirect::back(tx.conn, R::COLUMN, turn, &logged.moved)?;
    R::give_back(tx, &kept, &gone, &logged.taken)?;
    redirect::back(tx.conn, MERGED_INTO, turn, &logged.followers)?;
    kept.index(tx)?;
    gone.index(tx)?;
    let told = tell(&moved);
    let separated = format!("{}.separated", R::KIND);
    record::write(tx, &separated, (R::KIND, to), json!({ "from": from, "moved": moved }))?;
    let (kept, gone) = (show::<R>(tx, into)?, show::<R>(tx, id)?);
    Ok(Merge {
        id: to.to_owned(),
        version: gone.version(),
        other: from.to_owned(),
        other_version: kept.version(),
        moved: told,
    })
}

fn show<R: Mergeable>(tx: &mut Tx<'_>, id: &R::Id) -> Done<R> {
    Ok(R::find(tx, id)?.ok_or_else(|| Refused::not_found(R::KIND))?)
}

/// Name of the log entry for a merge of records of this kind.
fn merged<R: Mergeable>() -> String {
    format!("{}.merged", R::KIND)
}

/// A merge is undone in reverse order, so later merges into the same record come first.
fn direct<T>(logged: &Logged<T>, into: &str) -> Done<()> {
    if logged.into == into {
        return Ok(());
    }
    let detail = format!(
        "Record {} was itself merged into another one since. Undo that merge first, then this one.",
        logged.into
    );
    Err(Refused::conflict("merged-again", detail).into())
}

fn of_log<T: DeserializeOwned>(tx: &mut Tx<'_>, action: &str, subject: (&str, &str)) -> Done<Logged<T>> {
    let row = record::last_of(tx, action, subject)?;
    let row = row.ok_or_else(|| Fail::unexpected(format!("the log has no {action} of {}", subject.1)))?;
    serde_json::from_str(&row.detail).map_err(Fail::unexpected)
}

fn as_json<T: Serialize>(logged: &Logged<T>) -> Done<serde_json::Value> {
    serde_json::to_value(logged).map_err(Fail::unexpected)
}

fn tell(moved: &Rows) -> Vec<(String, usize)> {
    moved.iter().map(|(table, ids)| (table.clone(), ids.len())).collect()
}

fn same(record: &str) -> Fail {
    let detail = format!("A {record} can't be merged into itself. Give the id of the other record.");
    Refused::field("/other_id", "same", detail).into()
}

fn missing(record: &str) -> Fail {
    Refused::field("/other_id", "not_found", format!("There is no such {record}.")).into()
}
