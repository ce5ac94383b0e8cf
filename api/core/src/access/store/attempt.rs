//! Rows of failed sign-in attempts.

use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::Conn;
use crate::platform::fail::Stored;
use crate::schema::sign_in_attempt as attempt;

/// Attempts that are counted together.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = attempt)]
pub(in crate::access) struct Row {
    /// Digest of what these attempts have in common: the account, the address or both.
    pub(in crate::access) key: String,
    /// Number of attempts.
    pub(in crate::access) failures: i32,
    /// Time when the last one was.
    pub(in crate::access) since: i64,
    /// Time until which no more attempts are accepted.
    pub(in crate::access) blocked_until: i64,
}

pub(in crate::access) fn find(conn: &mut Conn, key: &str) -> Stored<Option<Row>> {
    Ok(attempt::table.filter(attempt::key.eq(key)).select(Row::as_select()).first(conn).optional()?)
}

pub(in crate::access) fn put(conn: &mut Conn, row: &Row) -> Stored<()> {
    let there = diesel::update(attempt::table.filter(attempt::key.eq(&row.key))).set(row).execute(conn)?;
    if there == 0 {
        diesel::insert_into(attempt::table).values(row).execute(conn)?;
    }
    Ok(())
}

pub(in crate::access) fn remove(conn: &mut Conn, key: &str) -> Stored<()> {
    diesel::delete(attempt::table.filter(attempt::key.eq(key))).execute(conn)?;
    Ok(())
}

pub(in crate::access) fn remove_before(conn: &mut Conn, limit: UtcTime) -> Stored<()> {
    let old = attempt::table.filter(attempt::since.lt(limit.ms())).filter(attempt::blocked_until.lt(limit.ms()));
    diesel::delete(old).execute(conn)?;
    Ok(())
}
