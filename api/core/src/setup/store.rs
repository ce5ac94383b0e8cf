//! Rows of setup codes.

use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::Conn;
use crate::platform::fail::Stored;
use crate::schema::setup_code as code;

pub(super) fn insert(conn: &mut Conn, digest: &str, now: UtcTime) -> Stored<()> {
    diesel::insert_into(code::table).values((code::digest.eq(digest), code::created_at.eq(now.ms()))).execute(conn)?;
    Ok(())
}

/// Whether the code was made after `limit`.
pub(super) fn holds(conn: &mut Conn, digest: &str, limit: UtcTime) -> Stored<bool> {
    let found: Option<String> = code::table
        .filter(code::digest.eq(digest))
        .filter(code::created_at.gt(limit.ms()))
        .select(code::digest)
        .first(conn)
        .optional()?;
    Ok(found.is_some())
}

pub(super) fn remove_all(conn: &mut Conn) -> Stored<()> {
    diesel::delete(code::table).execute(conn)?;
    Ok(())
}
