//! The shop's row.

use diesel::prelude::*;

use crate::platform::db::Conn;
use crate::platform::fail::Stored;
use crate::schema::shop;

#[derive(Insertable)]
#[diesel(table_name = shop)]
pub(super) struct NewRow {
    pub(super) id: String,
    pub(super) name: String,
    pub(super) currency: String,
    pub(super) zone: String,
    pub(super) version: i64,
    pub(super) created_at: i64,
    pub(super) updated_at: i64,
}

pub(super) fn insert(conn: &mut Conn, row: &NewRow) -> Stored<()> {
    diesel::insert_into(shop::table).values(row).execute(conn)?;
    Ok(())
}
