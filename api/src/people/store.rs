//! Rows of people and sign-ins.

use diesel::prelude::*;

use crate::platform::db::Conn;
use crate::platform::fail::Stored;
use crate::schema::{person, session};

#[derive(Insertable)]
#[diesel(table_name = person)]
pub(super) struct NewPersonRow {
    pub(super) id: String,
    pub(super) shop_id: String,
    pub(super) name: String,
    pub(super) email: String,
    pub(super) email_key: String,
    pub(super) role: String,
    pub(super) password_hash: String,
    pub(super) active: bool,
    pub(super) version: i64,
    pub(super) created_at: i64,
    pub(super) updated_at: i64,
}

pub(super) fn insert_person(conn: &mut Conn, row: &NewPersonRow) -> Stored<()> {
    diesel::insert_into(person::table).values(row).execute(conn)?;
    Ok(())
}

#[derive(Insertable)]
#[diesel(table_name = session)]
pub(super) struct NewSessionRow {
    pub(super) id: String,
    pub(super) shop_id: String,
    pub(super) person_id: String,
    pub(super) created_at: i64,
}

pub(super) fn insert_session(conn: &mut Conn, row: &NewSessionRow) -> Stored<()> {
    diesel::insert_into(session::table).values(row).execute(conn)?;
    Ok(())
}
