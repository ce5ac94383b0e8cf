//! What signing in needs to know of an account.

use baywright_domain::id::{PersonId, ShopId};
use baywright_domain::people::Role;
use diesel::prelude::*;

use crate::access::usecase::Account;
use crate::platform::db::Conn;
use crate::platform::fail::{DbError, Stored};
use crate::platform::tx::Tx;
use crate::schema::{person, shop};

type Row = (String, String, String, String, String, bool, String, String);

fn read((id, shop, name, email, role, active, digest, shop_name): Row) -> Stored<Account> {
    Ok(Account {
        id: id.into(),
        shop: shop.into(),
        name,
        email,
        role: Role::parse(&role).map_err(|e| DbError::Corrupt(e.to_string()))?,
        active,
        digest: Some(digest).filter(|digest| !digest.is_empty()),
        shop_name,
    })
}

/// The account that signs in with that address, in whichever shop.
pub(in crate::access) fn by_email(conn: &mut Conn, email: &str) -> Stored<Option<Account>> {
    let row: Option<Row> = person::table
        .inner_join(shop::table.on(shop::id.eq(person::shop_id)))
        .filter(person::email_key.eq(email.to_lowercase()))
        .select((
            person::id,
            person::shop_id,
            person::name,
            person::email,
            person::role,
            person::active,
            person::password_hash,
            shop::name,
        ))
        .first(conn)
        .optional()?;
    row.map(read).transpose()
}

/// The account of that id.
pub(in crate::access) fn by_id(conn: &mut Conn, shop_id: &ShopId, id: &PersonId) -> Stored<Option<Account>> {
    let row: Option<Row> = person::table
        .inner_join(shop::table.on(shop::id.eq(person::shop_id)))
        .filter(person::shop_id.eq(shop_id.as_str()))
        .filter(person::id.eq(id.as_str()))
        .select((
            person::id,
            person::shop_id,
            person::name,
            person::email,
            person::role,
            person::active,
            person::password_hash,
            shop::name,
        ))
        .first(conn)
        .optional()?;
    row.map(read).transpose()
}

/// Gives the person another password.
pub(in crate::access) fn set_digest(tx: &mut Tx<'_>, id: &PersonId, digest: &str) -> Stored<()> {
    let this = person::table.filter(person::shop_id.eq(tx.studio.id.as_str())).filter(person::id.eq(id.as_str()));
    diesel::update(this)
        .set((
            person::password_hash.eq(digest),
            person::version.eq(person::version + 1),
            person::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
