//! Merging records, and taking a merge back.

use baywright_domain::id::{CustomerId, VehicleId};
use baywright_domain::merge::RecordMove;
use serde::{Deserialize, Serialize};
use serde_json::json;

use crate::customer::usecase::merge::TakenOver;
use crate::customer::usecase::{self as customer};
use crate::payment;
use crate::platform::db::redirect::{self, Column, Rows, Turn};
use crate::platform::etag::IfMatch;
use crate::platform::fail::{Done, Fail};
use crate::platform::problem::Problem;
use crate::platform::record;
use crate::platform::tx::Tx;
use crate::vehicle::usecase::{self as vehicle};

/// Consents are settled by a rule of their own.
const CUSTOMER: Column = Column { name: "customer_id", but: Some("customer_consent") };
const VEHICLE: Column = Column { name: "vehicle_id", but: None };
const MERGED_INTO: Column = Column { name: "merged_into", but: None };

/// What the log says of a merge: ids, and names of fields.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Logged<T> {
    /// The record that goes on.
    into: String,
    /// The rows that name it from then on.
    moved: Rows,
    /// Records that had been merged into the one that was merged.
    followers: Rows,
    /// What the record that goes on took over.
    taken: T,
}

/// A merge that was made or taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merge {
    /// The record that the request was about: the one that goes on, or the one that stands by itself again.
    pub id: String,
    /// Its version.
    pub version: i64,
    /// The other record.
    pub other: String,
    /// The other record's version.
    pub other_version: i64,
    /// How many rows of each table moved.
    pub moved: Vec<(String, usize)>,
}

/// Merges the record of another customer into one.
///
/// # Errors
/// 404 if there is no such customer, 422 if the other one is none or the same, 409 if one of them was erased or merged
/// before, 412 if one of them has changed since it was read.
pub fn customers(tx: &mut Tx<'_>, id: &CustomerId, seen: IfMatch, other: &CustomerId, version: i64) -> Done<Merge> {
    let kept = customer::standing(tx, id)?;
    seen.check(kept.version)?;
    if id == other {
        return Err(same("customer"));
    }
    if customer::of_ids(tx, std::slice::from_ref(other))?.is_empty() {
        return Err(missing("customer"));
    }
    let gone = customer::standing(tx, other)?;
    IfMatch::version(version).check(gone.version)?;
    customer::merge::mark(tx, &gone, &kept)?;
    let shop = tx.studio.id.clone();
    let turn = Turn { shop: &shop, from: other.as_str(), to: id.as_str(), now: tx.now };
    let moved = redirect::all(tx.conn, CUSTOMER, turn)?;
    let followers = redirect::all(tx.conn, MERGED_INTO, turn)?;
    let (kept, taken) = customer::merge::take_over(tx, &kept, &gone)?;
    let told = tell(&moved);
    let logged = Logged { into: id.to_string(), moved, followers, taken };
    record::write(tx, "customer.merged", ("customer", other.as_str()), as_json(&logged)?)?;
    let gone = customer::show(tx, other)?;
    Ok(Merge {
        id: id.to_string(),
        version: kept.version,
        other: other.to_string(),
        other_version: gone.version,
        moved: told,
    })
}

/// Takes the merge of a customer's record back. What was built since on what had moved goes back with it.
///
/// # Errors
/// 404 if there is no such customer, 409 if the record was not merged or if something in between must be undone first,
/// 412 if it has changed since it was read.
pub fn undo_customer(tx: &mut Tx<'_>, id: &CustomerId, seen: IfMatch) -> Done<Merge> {
    let gone = customer::show(tx, id)?;
    seen.check(gone.version)?;
    gone.state().go(RecordMove::Separate)?;
    let into = gone.merged_into.clone().ok_or_else(|| Fail::unexpected("a merged customer names no other"))?;
    let kept = customer::standing(tx, &into)?;
    let logged: Logged<TakenOver> = of_log(tx, "customer.merged", ("customer", id.as_str()))?;
    direct(&logged, into.as_str())?;
    let shop = tx.studio.id.clone();
    let turn = Turn { shop: &shop, from: into.as_str(), to: id.as_str(), now: tx.now };
    let moved = redirect::back(tx.conn, CUSTOMER, turn, &logged.moved)?;
    if payment::usecase::is_across(tx, [&into, id])? {
        let detail = "A payment covers invoices of both records, so they can't be taken apart.";
        return Err(Problem::conflict("payment-across-customers", detail).into());
    }
    customer::merge::give_back(tx, &kept, &gone, &logged.taken)?;
    redirect::back(tx.conn, MERGED_INTO, turn, &logged.followers)?;
    customer::merge::index(tx, &kept)?;
    customer::merge::index(tx, &gone)?;
    let told = tell(&moved);
    record::write(
        tx,
        "customer.separated",
        ("customer", id.as_str()),
        json!({ "from": into.as_str(), "moved": moved }),
    )?;
    let (kept, gone) = (customer::show(tx, &into)?, customer::show(tx, id)?);
    Ok(Merge {
        id: id.to_string(),
        version: gone.version,
        other: into.to_string(),
        other_version: kept.version,
        moved: told,
    })
}

/// Merges another record of a vehicle into one.
///
/// # Errors
/// 404 if there is no such vehicle, 422 if the other one is none, the same, or another customer's, 409 if one of them was
/// merged before, 412 if one of them has changed since it was read.
pub fn vehicles(tx: &mut Tx<'_>, id: &VehicleId, seen: IfMatch, other: &VehicleId, version: i64) -> Done<Merge> {
    let kept = vehicle::standing(tx, id)?;
    seen.check(kept.version)?;
    if id == other {
        return Err(same("vehicle"));
    }
    if vehicle::of_ids(tx, std::slice::from_ref(other))?.is_empty() {
        return Err(missing("vehicle"));
    }
    let gone = vehicle::standing(tx, other)?;
    IfMatch::version(version).check(gone.version)?;
    if kept.details.customer_id != gone.details.customer_id {
        let detail = "This vehicle is another customer's. If both are one customer, merge the customers first; if it \
                      was sold on, leave both records, since each owner's papers are theirs.";
        return Err(Problem::field("/other_id", "other_customer", detail).into());
    }
    customer::standing(tx, &kept.details.customer_id)?;
    vehicle::merge::mark(tx, &gone, &kept)?;
    let shop = tx.studio.id.clone();
    let turn = Turn { shop: &shop, from: other.as_str(), to: id.as_str(), now: tx.now };
    let moved = redirect::all(tx.conn, VEHICLE, turn)?;
    let followers = redirect::all(tx.conn, MERGED_INTO, turn)?;
    let (kept, taken) = vehicle::merge::take_over(tx, &kept, &gone)?;
    let told = tell(&moved);
    let logged = Logged { into: id.to_string(), moved, followers, taken };
    record::write(tx, "vehicle.merged", ("vehicle", other.as_str()), as_json(&logged)?)?;
    let gone = vehicle::show(tx, other)?;
    Ok(Merge {
        id: id.to_string(),
        version: kept.version,
        other: other.to_string(),
        other_version: gone.version,
        moved: told,
    })
}

/// Takes the merge of a vehicle's record back. What was built since on what had moved goes back with it.
///
/// # Errors
/// As [`undo_customer`].
pub fn undo_vehicle(tx: &mut Tx<'_>, id: &VehicleId, seen: IfMatch) -> Done<Merge> {
    let gone = vehicle::show(tx, id)?;
    seen.check(gone.version)?;
    gone.state().go(RecordMove::Separate)?;
    let into = gone.merged_into.clone().ok_or_else(|| Fail::unexpected("a merged vehicle names no other"))?;
    let kept = vehicle::standing(tx, &into)?;
    customer::standing(tx, &kept.details.customer_id)?;
    let logged: Logged<Vec<String>> = of_log(tx, "vehicle.merged", ("vehicle", id.as_str()))?;
    direct(&logged, into.as_str())?;
    let shop = tx.studio.id.clone();
    let turn = Turn { shop: &shop, from: into.as_str(), to: id.as_str(), now: tx.now };
    let moved = redirect::back(tx.conn, VEHICLE, turn, &logged.moved)?;
    vehicle::merge::give_back(tx, &kept, &gone, &logged.taken)?;
    redirect::back(tx.conn, MERGED_INTO, turn, &logged.followers)?;
    vehicle::merge::index(tx, &kept)?;
    vehicle::merge::index(tx, &gone)?;
    let told = tell(&moved);
    record::write(tx, "vehicle.separated", ("vehicle", id.as_str()), json!({ "from": into.as_str(), "moved": moved }))?;
    let (kept, gone) = (vehicle::show(tx, &into)?, vehicle::show(tx, id)?);
    Ok(Merge {
        id: id.to_string(),
        version: gone.version,
        other: into.to_string(),
        other_version: kept.version,
        moved: told,
    })
}

/// A merge is taken back from the record that it was made into, so later merges come first.
fn direct<T>(logged: &Logged<T>, into: &str) -> Done<()> {
    if logged.into == into {
        return Ok(());
    }
    let detail = format!(
        "The record {} was itself merged into another one since. Undo that merge first, then this one.",
        logged.into
    );
    Err(Problem::conflict("merged-again", detail).into())
}

fn of_log<T: for<'de> Deserialize<'de>>(tx: &mut Tx<'_>, action: &str, subject: (&str, &str)) -> Done<Logged<T>> {
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
    let detail = format!("This is the same {record}. Name the other record.");
    Problem::field("/other_id", "same", detail).into()
}

fn missing(record: &str) -> Fail {
    Problem::field("/other_id", "not_found", format!("There is no such {record}.")).into()
}
