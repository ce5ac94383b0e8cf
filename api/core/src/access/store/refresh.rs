//! Rows of refresh tokens.

use baywright_domain::id::{SessionId, ShopId};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::refresh_token as token;

/// A refresh token as it is stored.
pub(in crate::access) struct Known {
    /// The sign-in that it continues.
    pub(in crate::access) session: SessionId,
    /// Time when the token expires.
    pub(in crate::access) ends_at: UtcTime,
    /// Whether it was used before.
    pub(in crate::access) used: bool,
}

pub(in crate::access) fn insert(tx: &mut Tx<'_>, session: &SessionId, digest: &str, ends_at: UtcTime) -> Stored<()> {
    diesel::insert_into(token::table)
        .values((
            token::id.eq(ids::new::<String>()),
            token::shop_id.eq(tx.studio.id.as_str()),
            token::session_id.eq(session.as_str()),
            token::digest.eq(digest),
            token::created_at.eq(tx.now.ms()),
            token::ends_at.eq(ends_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// The shop whose refresh token has that digest.
pub(in crate::access) fn shop_of(conn: &mut Conn, digest: &str) -> Stored<Option<ShopId>> {
    let shop: Option<String> =
        token::table.filter(token::digest.eq(digest)).select(token::shop_id).first(conn).optional()?;
    Ok(shop.map(ShopId::new))
}

pub(in crate::access) fn find(tx: &mut Tx<'_>, digest: &str) -> Stored<Option<Known>> {
    let row: Option<(String, i64, Option<i64>)> = rows_of_shop!(token, tx)
        .filter(token::digest.eq(digest))
        .select((token::session_id, token::ends_at, token::used_at))
        .first(tx.conn)
        .optional()?;
    let Some((session, ends_at, used_at)) = row else { return Ok(None) };
    let ends_at = RowId::of("refresh_token", &session).read("ends_at", ends_at)?;
    Ok(Some(Known { session: session.into(), ends_at, used: used_at.is_some() }))
}

pub(in crate::access) fn use_up(tx: &mut Tx<'_>, digest: &str) -> Stored<()> {
    let this = rows_of_shop!(token, tx).filter(token::digest.eq(digest));
    diesel::update(this).set(token::used_at.eq(tx.now.ms())).execute(tx.conn)?;
    Ok(())
}

/// Deletes the shop's tokens that ended before `limit`.
pub(in crate::access) fn remove_before(tx: &mut Tx<'_>, limit: UtcTime) -> Stored<()> {
    let old = rows_of_shop!(token, tx).filter(token::ends_at.lt(limit.ms()));
    diesel::delete(old).execute(tx.conn)?;
    Ok(())
}
