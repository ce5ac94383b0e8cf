//! Rows of tablets, of people's digits and of the sign-ins that are opened with them.

use baywright_domain::id::{PersonId, SessionId, ShopId, TabletId};
use baywright_domain::people::Role;
use diesel::prelude::*;

use crate::access::usecase::{AtTablet, Tablet};
use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, columns, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{person, tablet, tablet_digits, tablet_session};

columns! {
    /// A tablet.
    read struct Row in tablet as Tablet {
        id: TabletId,
        version: i64,
        name: String,
        idle_minutes: u32,
        code_ends_at: Option<UtcTime>,
        enrolled_at: Option<UtcTime>,
        ended_at: Option<UtcTime>,
        created_at: UtcTime,
        updated_at: UtcTime,
    }
}

/// Tablets that are not ended, in the order in which they were added.
pub(in crate::access) fn in_use(tx: &mut Tx<'_>) -> Stored<Vec<Tablet>> {
    let rows: Vec<Row> = rows_of_shop!(tablet, tx)
        .filter(tablet::ended_at.is_null())
        .order(tablet::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

pub(in crate::access) fn find(tx: &mut Tx<'_>, id: &TabletId) -> Stored<Option<Tablet>> {
    let row: Option<Row> = rows_of_shop!(tablet, tx)
        .filter(tablet::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

/// Stores a tablet that can be enrolled with the code of that digest.
pub(in crate::access) fn insert(tx: &mut Tx<'_>, new: &Tablet, idle_minutes: i32, code_digest: &str) -> Stored<()> {
    diesel::insert_into(tablet::table)
        .values((
            tablet::id.eq(new.id.as_str()),
            tablet::shop_id.eq(tx.studio.id.as_str()),
            tablet::version.eq(new.version),
            tablet::name.eq(new.name.as_str()),
            tablet::idle_minutes.eq(idle_minutes),
            tablet::code_digest.eq(Some(code_digest)),
            tablet::code_ends_at.eq(new.code_ends_at.map(UtcTime::ms)),
            tablet::created_at.eq(new.created_at.ms()),
            tablet::updated_at.eq(new.updated_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Shop and id of the tablet that can be enrolled with the code of that digest now.
pub(in crate::access) fn of_code(conn: &mut Conn, digest: &str, now: UtcTime) -> Stored<Option<(ShopId, TabletId)>> {
    let row: Option<(String, String)> = tablet::table
        .filter(tablet::code_digest.eq(digest))
        .filter(tablet::code_ends_at.gt(now.ms()))
        .filter(tablet::ended_at.is_null())
        .select((tablet::shop_id, tablet::id))
        .first(conn)
        .optional()?;
    Ok(row.map(|(shop, id)| (shop.into(), id.into())))
}

/// Shop and id of the tablet whose cookie has the token of that digest.
pub(in crate::access) fn of_device(conn: &mut Conn, digest: &str) -> Stored<Option<(ShopId, TabletId)>> {
    let row: Option<(String, String)> = tablet::table
        .filter(tablet::device_digest.eq(digest))
        .filter(tablet::ended_at.is_null())
        .select((tablet::shop_id, tablet::id))
        .first(conn)
        .optional()?;
    Ok(row.map(|(shop, id)| (shop.into(), id.into())))
}

/// Enrols the device of that digest with a code that is still valid; returns whether it was.
pub(in crate::access) fn enrol(tx: &mut Tx<'_>, id: &TabletId, code_digest: &str, device_digest: &str) -> Stored<bool> {
    let this = rows_of_shop!(tablet, tx)
        .filter(tablet::id.eq(id.as_str()))
        .filter(tablet::code_digest.eq(code_digest))
        .filter(tablet::ended_at.is_null());
    let changed = diesel::update(this)
        .set((
            tablet::code_digest.eq(None::<String>),
            tablet::code_ends_at.eq(None::<i64>),
            tablet::device_digest.eq(Some(device_digest)),
            tablet::enrolled_at.eq(Some(tx.now.ms())),
            tablet::version.eq(tablet::version + 1),
            tablet::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(changed == 1)
}

/// Ends a tablet: neither its code nor its cookie counts from now on.
pub(in crate::access) fn end(tx: &mut Tx<'_>, before: &Tablet) -> Stored<()> {
    let this = rows_of_shop!(tablet, tx).filter(tablet::id.eq(before.id.as_str()));
    diesel::update(this)
        .set((
            tablet::code_digest.eq(None::<String>),
            tablet::code_ends_at.eq(None::<i64>),
            tablet::device_digest.eq(None::<String>),
            tablet::ended_at.eq(Some(tx.now.ms())),
            tablet::version.eq(before.version + 1),
            tablet::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Notes that a sign-in was opened on a tablet.
pub(in crate::access) fn opened_at(tx: &mut Tx<'_>, session: &SessionId, tablet: &TabletId) -> Stored<()> {
    diesel::insert_into(tablet_session::table)
        .values((
            tablet_session::session_id.eq(session.as_str()),
            tablet_session::shop_id.eq(tx.studio.id.as_str()),
            tablet_session::tablet_id.eq(tablet.as_str()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Whether a sign-in was opened on a tablet.
pub(in crate::access) fn is_at_tablet(tx: &mut Tx<'_>, session: &SessionId) -> Stored<bool> {
    let this = rows_of_shop!(tablet_session, tx).filter(tablet_session::session_id.eq(session.as_str()));
    let found: Option<String> = this.select(tablet_session::tablet_id).first(tx.conn).optional()?;
    Ok(found.is_some())
}

/// People who can sign in on the shop's tablets: active, at work on cars, and with digits.
pub(in crate::access) fn people(tx: &mut Tx<'_>) -> Stored<Vec<AtTablet>> {
    let roles = [Role::Owner, Role::Desk, Role::Technician].map(Role::as_str);
    let rows: Vec<(String, String)> = person::table
        .inner_join(
            tablet_digits::table
                .on(tablet_digits::shop_id.eq(person::shop_id).and(tablet_digits::person_id.eq(person::id))),
        )
        .filter(of_shop!(person, tx))
        .filter(person::active.eq(true))
        .filter(person::role.eq_any(roles))
        .order((person::name.asc(), person::id.asc()))
        .select((person::id, person::name))
        .load(tx.conn)?;
    Ok(rows.into_iter().map(|(id, name)| AtTablet { id: id.into(), name }).collect())
}

/// Ids of the people who have digits.
pub(in crate::access) fn with_digits(tx: &mut Tx<'_>) -> Stored<Vec<PersonId>> {
    let ids: Vec<String> = rows_of_shop!(tablet_digits, tx).select(tablet_digits::person_id).load(tx.conn)?;
    Ok(ids.into_iter().map(PersonId::new).collect())
}

/// Digest of a person's digits.
pub(in crate::access) fn digits(tx: &mut Tx<'_>, who: &PersonId) -> Stored<Option<String>> {
    let this = rows_of_shop!(tablet_digits, tx).filter(tablet_digits::person_id.eq(who.as_str()));
    Ok(this.select(tablet_digits::digest).first(tx.conn).optional()?)
}

/// Stores the digest of a person's digits in the place of an earlier one.
pub(in crate::access) fn set_digits(tx: &mut Tx<'_>, who: &PersonId, digest: &str) -> Stored<()> {
    let shop = tx.studio.id.as_str();
    let there = rows_of_shop!(tablet_digits, id = shop).filter(tablet_digits::person_id.eq(who.as_str()));
    let set = (tablet_digits::digest.eq(digest), tablet_digits::updated_at.eq(tx.now.ms()));
    if diesel::update(there).set(set).execute(tx.conn)? == 0 {
        diesel::insert_into(tablet_digits::table)
            .values((
                tablet_digits::shop_id.eq(shop),
                tablet_digits::person_id.eq(who.as_str()),
                tablet_digits::digest.eq(digest),
                tablet_digits::updated_at.eq(tx.now.ms()),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
}

/// Deletes a person's digits; returns whether there were any.
pub(in crate::access) fn drop_digits(tx: &mut Tx<'_>, who: &PersonId) -> Stored<bool> {
    let this = rows_of_shop!(tablet_digits, tx).filter(tablet_digits::person_id.eq(who.as_str()));
    Ok(diesel::delete(this).execute(tx.conn)? > 0)
}
