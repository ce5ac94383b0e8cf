//! Rows of digests that are kept of erased customers, and the shop's secret that they are computed with.

use diesel::prelude::*;

use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{erased_key, erased_key_secret};

pub(in crate::customer) fn secret(tx: &mut Tx<'_>) -> Stored<Option<String>> {
    Ok(rows_of_shop!(erased_key_secret, tx).select(erased_key_secret::secret).first(tx.conn).optional()?)
}

pub(in crate::customer) fn insert_secret(tx: &mut Tx<'_>, secret: &str) -> Stored<()> {
    diesel::insert_into(erased_key_secret::table)
        .values((erased_key_secret::shop_id.eq(tx.studio.id.as_str()), erased_key_secret::secret.eq(secret)))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores a digest; the time of an existing one is renewed.
pub(in crate::customer) fn keep(tx: &mut Tx<'_>, digest: &str) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    diesel::delete(rows_of_shop!(erased_key, id = &shop).filter(erased_key::digest.eq(digest))).execute(tx.conn)?;
    diesel::insert_into(erased_key::table)
        .values((erased_key::shop_id.eq(&shop), erased_key::digest.eq(digest), erased_key::erased_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

/// Whether one of those digests is kept.
pub(in crate::customer) fn is_kept(tx: &mut Tx<'_>, digests: &[String]) -> Stored<bool> {
    let found: Option<String> = rows_of_shop!(erased_key, tx)
        .filter(erased_key::digest.eq_any(digests.to_vec()))
        .select(erased_key::digest)
        .first(tx.conn)
        .optional()?;
    Ok(found.is_some())
}

/// Deletes the digests that were stored before that time, in milliseconds.
pub(in crate::customer) fn drop_before(tx: &mut Tx<'_>, moment: i64) -> Stored<()> {
    diesel::delete(rows_of_shop!(erased_key, tx).filter(erased_key::erased_at.lt(moment))).execute(tx.conn)?;
    Ok(())
}
