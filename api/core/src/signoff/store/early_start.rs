//! Rows of agreements to an early start; they are written once.

use baywright_domain::id::SignoffId;
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::early_start;

/// An agreement that is to be stored.
#[derive(Insertable)]
#[diesel(table_name = early_start)]
pub(in crate::signoff) struct NewEarlyStart<'a> {
    pub(in crate::signoff) signoff_id: &'a str,
    pub(in crate::signoff) shop_id: &'a str,
    pub(in crate::signoff) method: &'a str,
    pub(in crate::signoff) noted_by: Option<&'a str>,
    pub(in crate::signoff) link_id: Option<&'a str>,
    pub(in crate::signoff) words: &'a str,
    pub(in crate::signoff) agreed_at: i64,
}

pub(in crate::signoff) fn insert_early_start(tx: &mut Tx<'_>, row: &NewEarlyStart<'_>) -> Stored<()> {
    diesel::insert_into(early_start::table).values(row).execute(tx.conn)?;
    Ok(())
}

pub(in crate::signoff) fn early_start_at(tx: &mut Tx<'_>, signoff: &SignoffId) -> Stored<Option<UtcTime>> {
    let at: Option<i64> = rows_of_shop!(early_start, tx)
        .filter(early_start::signoff_id.eq(signoff.as_str()))
        .select(early_start::agreed_at)
        .first(tx.conn)
        .optional()?;
    RowId::of("early_start", signoff.as_str()).read("agreed_at", at)
}
