//! The shop's log: each change with the person and the time, written in the change's own transaction.
//!
//! Each record contains the digest of the one before, so that anyone who has the export can find a removed or altered
//! record: digest = SHA-256 over the canonical JSON (RFC 8785) of the record with the previous digest in it.

use baywright_domain::id::{RecordId, ShopId};
use diesel::prelude::*;
use serde_json::{Value, json};

use super::clock::UtcTime;
use super::db::{Conn, RowId, rows_of_shop};
use super::fail::{DbError, Done, Fail, Stored};
use super::ids;
use super::personal::{Held, Holder, Left, Of};
use super::tx::Tx;
use crate::platform::canonical;
use crate::schema::record;

/// The digest before the first record.
pub const START: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// One record of the log.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = record)]
pub struct Row {
    /// The record's id.
    pub id: String,
    /// The shop whose log it is in.
    pub shop_id: String,
    /// Position in the log, from 1 without gaps.
    pub seq: i64,
    /// Time of the change, in milliseconds since the epoch.
    pub at: i64,
    /// The kind of actor.
    pub actor_kind: String,
    /// The actor's id, or empty.
    pub actor_id: String,
    /// Action, such as `quote.sent`.
    pub action: String,
    /// Kind of the changed record.
    pub subject_kind: String,
    /// Its id.
    pub subject_id: String,
    /// Details of the change, as canonical JSON; ids and names of fields, no personal data.
    pub detail: String,
    /// The digest of the record before.
    pub previous: String,
    /// The digest of this one.
    pub digest: String,
}

impl Row {
    /// The digest that this record must have.
    pub fn expected_digest(&self) -> Result<String, Fail> {
        let body = json!({
            "action": self.action, "actor_id": self.actor_id, "actor_kind": self.actor_kind,
            "at": UtcTime::from_ms(self.at).to_string(), "detail": self.detail, "id": self.id,
            "previous": self.previous, "seq": self.seq.to_string(), "shop_id": self.shop_id,
            "subject_id": self.subject_id, "subject_kind": self.subject_kind,
        });
        let text = canonical::canonical(&body).map_err(Fail::unexpected)?;
        Ok(canonical::digest(&text))
    }
}

/// Writes that `action` was done to the record with that kind and id. `detail` contains ids, states and names of
/// fields, never personal data, because it stays after an erasure.
pub fn write(tx: &mut Tx<'_>, action: &str, subject: (&str, &str), detail: Value) -> Done<()> {
    let (seq, previous) = last(tx.conn, &tx.studio.id)?.unwrap_or((0, START.to_owned()));
    let mut row = Row {
        id: ids::new::<RecordId>().to_string(),
        shop_id: tx.studio.id.to_string(),
        seq: seq + 1,
        at: tx.now.ms(),
        actor_kind: tx.actor.kind().to_owned(),
        actor_id: tx.actor.id().to_owned(),
        action: action.to_owned(),
        subject_kind: subject.0.to_owned(),
        subject_id: subject.1.to_owned(),
        detail: canonical::canonical(&detail).map_err(Fail::unexpected)?,
        previous,
        digest: String::new(),
    };
    row.digest = row.expected_digest()?;
    diesel::insert_into(record::table).values(&row).execute(tx.conn).map_err(DbError::from)?;
    Ok(())
}

/// Time of the last change to the record of that id, from the log.
pub fn moment(tx: &mut Tx<'_>, action: &str, subject: &str) -> Stored<Option<UtcTime>> {
    let at: Option<i64> = rows_of_shop!(record, tx)
        .filter(record::subject_id.eq(subject))
        .filter(record::action.eq(action))
        .order(record::seq.desc())
        .select(record::at)
        .first(tx.conn)
        .optional()?;
    RowId::of("record", subject).read("at", at)
}

/// Position and digest of the shop's last record.
fn last(conn: &mut Conn, shop: &ShopId) -> Stored<Option<(i64, String)>> {
    Ok(rows_of_shop!(record, id = shop.as_str())
        .order(record::seq.desc())
        .select((record::seq, record::digest))
        .first(conn)
        .optional()?)
}

/// The shop's last record of an action on the record with that kind and id.
pub fn last_of(tx: &mut Tx<'_>, action: &str, subject: (&str, &str)) -> Stored<Option<Row>> {
    Ok(rows_of_shop!(record, tx)
        .filter(record::subject_kind.eq(subject.0))
        .filter(record::subject_id.eq(subject.1))
        .filter(record::action.eq(action))
        .order(record::seq.desc())
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?)
}

/// The shop's log records about any of the given records, oldest first; at most `most`, which are the latest ones.
pub fn about(tx: &mut Tx<'_>, subjects: &[String], most: i64) -> Stored<Vec<Row>> {
    let mut rows: Vec<Row> = rows_of_shop!(record, tx)
        .filter(record::subject_id.eq_any(subjects.to_vec()))
        .order(record::seq.desc())
        .limit(most)
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.reverse();
    Ok(rows)
}

/// Result of checking a shop's log.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Walk {
    /// Number of records there are.
    pub records: i64,
    /// Digest of the last one. A copy of it kept elsewhere proves later that nothing before it has changed.
    pub digest: String,
    /// Faults, each with the position of its record.
    pub faults: Vec<String>,
}

/// Follows the chain of a shop's log from its start.
pub fn walk(conn: &mut Conn, shop: &ShopId) -> Done<Walk> {
    let mut found = Walk { digest: START.to_owned(), ..Walk::default() };
    loop {
        let rows = after(conn, shop, found.records, WALK_ROWS)?;
        if rows.is_empty() {
            return Ok(found);
        }
        for row in rows {
            let place = found.records + 1;
            if row.seq != place {
                found.faults.push(format!("record {place} is missing; the next one is {}", row.seq));
            }
            if row.previous != found.digest {
                found.faults.push(format!("record {} does not follow the one before", row.seq));
            }
            if row.digest != row.expected_digest()? {
                found.faults.push(format!("record {} was altered", row.seq));
            }
            found.records = row.seq;
            found.digest = row.digest;
        }
    }
}

/// Records read at a time by [`walk`].
const WALK_ROWS: i64 = 1000;

/// The shop's records after position `after`, at most `limit`, in order.
pub fn after(conn: &mut Conn, shop: &ShopId, after: i64, limit: i64) -> Stored<Vec<Row>> {
    Ok(rows_of_shop!(record, id = shop.as_str())
        .filter(record::seq.gt(after))
        .order(record::seq.asc())
        .limit(limit)
        .select(Row::as_select())
        .load(conn)?)
}

/// The log's entries about a customer's records. They stay after an erasure, because they contain no personal data.
pub const HOLDER: Holder = Holder {
    feature: "record",
    held: &[Held { table: "record", column: "subject_id", of: Of::AnyRow }],
    forget: |_, _| Ok(Left::default()),
};
