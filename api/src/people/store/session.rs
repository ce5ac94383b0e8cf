//! Rows of sign-ins.

use baywright_domain::id::{PersonId, SessionId};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::session;

pub(in crate::people) fn insert(tx: &mut Tx<'_>, id: &SessionId, person: &PersonId, ends_at: UtcTime) -> Stored<()> {
    diesel::insert_into(session::table)
        .values((
            session::id.eq(id.as_str()),
            session::shop_id.eq(tx.studio.id.as_str()),
            session::person_id.eq(person.as_str()),
            session::created_at.eq(tx.now.ms()),
            session::ends_at.eq(ends_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Ends every sign-in of the person that still stands; gives how many those were.
pub(in crate::people) fn end_all(tx: &mut Tx<'_>, person: &PersonId) -> Stored<usize> {
    Ok(diesel::update(
        session::table
            .filter(session::shop_id.eq(tx.studio.id.as_str()))
            .filter(session::person_id.eq(person.as_str()))
            .filter(session::ended_at.is_null()),
    )
    .set(session::ended_at.eq(tx.now.ms()))
    .execute(tx.conn)?)
}
