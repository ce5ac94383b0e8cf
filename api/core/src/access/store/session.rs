//! Rows of sign-ins.

use baywright_domain::id::{PersonId, SessionId};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::session;

/// Stores a sign-in; `page_digest` is that of the token in its cookie, if it is one of the pages.
pub(in crate::access) fn insert(
    tx: &mut Tx<'_>,
    id: &SessionId,
    person: &PersonId,
    ends_at: UtcTime,
    page_digest: Option<&str>,
) -> Stored<()> {
    diesel::insert_into(session::table)
        .values((
            session::id.eq(id.as_str()),
            session::shop_id.eq(tx.studio.id.as_str()),
            session::person_id.eq(person.as_str()),
            session::created_at.eq(tx.now.ms()),
            session::ends_at.eq(ends_at.ms()),
            session::page_digest.eq(page_digest),
            session::page_used_at.eq(page_digest.map(|_| tx.now.ms())),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Notes that a sign-in of the pages was used. Only its own row changes, which the digest names in whichever shop.
pub(in crate::access) fn note_use(conn: &mut Conn, page_digest: &str, now: UtcTime) -> Stored<()> {
    let this = session::table.filter(session::page_digest.eq(page_digest)).filter(session::ended_at.is_null());
    diesel::update(this).set(session::page_used_at.eq(now.ms())).execute(conn)?;
    Ok(())
}

/// Person and end of a sign-in that is still valid.
pub(in crate::access) fn standing(tx: &mut Tx<'_>, id: &SessionId) -> Stored<Option<(PersonId, UtcTime)>> {
    let row: Option<(String, i64)> = rows_of_shop!(session, tx)
        .filter(session::id.eq(id.as_str()))
        .filter(session::ended_at.is_null())
        .filter(session::ends_at.gt(tx.now.ms()))
        .select((session::person_id, session::ends_at))
        .first(tx.conn)
        .optional()?;
    let Some((person, ends_at)) = row else { return Ok(None) };
    Ok(Some((person.into(), RowId::of("session", id.as_str()).read("ends_at", ends_at)?)))
}

/// Ends one sign-in.
pub(in crate::access) fn end(tx: &mut Tx<'_>, id: &SessionId) -> Stored<()> {
    let this = rows_of_shop!(session, tx).filter(session::id.eq(id.as_str())).filter(session::ended_at.is_null());
    diesel::update(this).set(session::ended_at.eq(tx.now.ms())).execute(tx.conn)?;
    Ok(())
}

/// Ends every valid sign-in of the person except the one to be kept; returns the number of those that ended.
pub(in crate::access) fn end_all(tx: &mut Tx<'_>, person: &PersonId, but: Option<&SessionId>) -> Stored<usize> {
    let all = rows_of_shop!(session, tx)
        .filter(session::person_id.eq(person.as_str()))
        .filter(session::ended_at.is_null())
        .filter(session::id.ne(but.map_or("", SessionId::as_str)));
    Ok(diesel::update(all).set(session::ended_at.eq(tx.now.ms())).execute(tx.conn)?)
}
