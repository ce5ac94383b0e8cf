//! Rows of addresses from which somebody has signed in to an account.

use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::known_address as known;

/// Whether the address behind that digest is known at `now`. Nobody is signed in yet, so no shop limits the question; the
/// digest names one account and one address.
pub(in crate::access) fn is_known(conn: &mut Conn, key: &str, now: UtcTime) -> Stored<bool> {
    let until: Vec<i64> = known::table.filter(known::key.eq(key)).select(known::until).load(conn)?;
    Ok(until.iter().any(|until| *until > now.ms()))
}

/// Stores the address behind that digest until the given time.
pub(in crate::access) fn keep(tx: &mut Tx<'_>, key: &str, until: UtcTime) -> Stored<()> {
    let shop = tx.studio.id.as_str();
    let there = rows_of_shop!(known, id = shop).filter(known::key.eq(key));
    if diesel::update(there).set(known::until.eq(until.ms())).execute(tx.conn)? == 0 {
        diesel::insert_into(known::table)
            .values((known::key.eq(key), known::shop_id.eq(shop), known::until.eq(until.ms())))
            .execute(tx.conn)?;
    }
    Ok(())
}

/// Deletes the shop's addresses that are no longer known.
pub(in crate::access) fn remove_ended(tx: &mut Tx<'_>) -> Stored<()> {
    let old = rows_of_shop!(known, tx).filter(known::until.le(tx.now.ms()));
    diesel::delete(old).execute(tx.conn)?;
    Ok(())
}
