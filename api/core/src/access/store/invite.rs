//! Rows of invites.

use baywright_domain::id::{PersonId, ShopId};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::invite;

/// Ends the invites of the person that were not used.
pub(in crate::access) fn end_all(tx: &mut Tx<'_>, person: &PersonId) -> Stored<()> {
    let unused =
        rows_of_shop!(invite, tx).filter(invite::person_id.eq(person.as_str())).filter(invite::used_at.is_null());
    diesel::delete(unused).execute(tx.conn)?;
    Ok(())
}

/// Stores an invite and ends the earlier invites of the person.
pub(in crate::access) fn insert(tx: &mut Tx<'_>, person: &PersonId, digest: &str, ends_at: UtcTime) -> Stored<()> {
    end_all(tx, person)?;
    diesel::insert_into(invite::table)
        .values((
            invite::id.eq(ids::new::<String>()),
            invite::shop_id.eq(tx.studio.id.as_str()),
            invite::person_id.eq(person.as_str()),
            invite::digest.eq(digest),
            invite::created_at.eq(tx.now.ms()),
            invite::ends_at.eq(ends_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Shop and person of an invite that is still valid.
pub(in crate::access) fn find(conn: &mut Conn, digest: &str, now: UtcTime) -> Stored<Option<(ShopId, PersonId)>> {
    let row: Option<(String, String)> = invite::table
        .filter(invite::digest.eq(digest))
        .filter(invite::used_at.is_null())
        .filter(invite::ends_at.gt(now.ms()))
        .select((invite::shop_id, invite::person_id))
        .first(conn)
        .optional()?;
    Ok(row.map(|(shop, person)| (shop.into(), person.into())))
}

/// Marks an invite as used; returns whether it was still valid.
pub(in crate::access) fn use_up(tx: &mut Tx<'_>, digest: &str) -> Stored<bool> {
    let this = rows_of_shop!(invite, tx)
        .filter(invite::digest.eq(digest))
        .filter(invite::used_at.is_null())
        .filter(invite::ends_at.gt(tx.now.ms()));
    Ok(diesel::update(this).set(invite::used_at.eq(tx.now.ms())).execute(tx.conn)? == 1)
}
