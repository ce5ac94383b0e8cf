//! Whether customers may book themselves, as a row.

use baywright_domain::stay::SelfBooking;
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId, columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::shop_self_booking;
use crate::shop::usecase::SelfBookingKept;

columns! {
    /// The setting.
    struct Row in shop_self_booking as SelfBooking {
        allowed: bool,
        notice_hours: u32,
    }
}

pub(in crate::shop) fn insert(conn: &mut Conn, shop: &str, setting: SelfBooking, now: UtcTime) -> Stored<()> {
    diesel::insert_into(shop_self_booking::table)
        .values((
            shop_self_booking::shop_id.eq(shop),
            shop_self_booking::version.eq(1_i64),
            shop_self_booking::updated_at.eq(now.ms()),
            Row::of(shop, &setting)?,
        ))
        .execute(conn)?;
    Ok(())
}

pub(in crate::shop) fn find(tx: &mut Tx<'_>) -> Stored<SelfBookingKept> {
    let (row, version, updated_at): (Row, i64, i64) = rows_of_shop!(shop_self_booking, tx)
        .select((Row::as_select(), shop_self_booking::version, shop_self_booking::updated_at))
        .first(tx.conn)?;
    let shop = tx.studio.id.as_str();
    let updated_at = RowId::of("shop_self_booking", shop).read("updated_at", updated_at)?;
    Ok(SelfBookingKept { setting: row.read(shop)?, version, updated_at })
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, setting: SelfBooking, version: i64) -> Stored<()> {
    diesel::update(rows_of_shop!(shop_self_booking, tx))
        .set((
            Row::of(tx.studio.id.as_str(), &setting)?,
            shop_self_booking::version.eq(version),
            shop_self_booking::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
