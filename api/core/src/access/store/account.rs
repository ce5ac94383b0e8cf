//! The data of an account that signing in needs.

use baywright_domain::id::{PersonId, ShopId};
use baywright_domain::people::email_key;
use diesel::prelude::*;

use crate::access::usecase::Account;
use crate::platform::db::{Conn, RowId, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{person, shop};

#[derive(Queryable, Selectable)]
#[diesel(table_name = person)]
struct Row {
    id: String,
    shop_id: String,
    name: String,
    email: String,
    role: String,
    active: bool,
    password_hash: String,
}

fn read((row, shop_name): (Row, String)) -> Stored<Account> {
    Ok(Account {
        role: RowId::of("person", &row.id).read("role", row.role)?,
        shop: row.shop_id.into(),
        name: row.name,
        email: row.email,
        active: row.active,
        digest: Some(row.password_hash).filter(|digest| !digest.is_empty()),
        shop_name,
        id: row.id.into(),
    })
}

/// The account that signs in with that address, in any shop.
pub(in crate::access) fn by_email(conn: &mut Conn, email: &str) -> Stored<Option<Account>> {
    let row = person::table
        .inner_join(shop::table.on(shop::id.eq(person::shop_id)))
        .filter(person::email_key.eq(email_key(email)))
        .select((Row::as_select(), shop::name))
        .first(conn)
        .optional()?;
    row.map(read).transpose()
}

/// The account with that id.
pub(in crate::access) fn by_id(conn: &mut Conn, shop_id: &ShopId, id: &PersonId) -> Stored<Option<Account>> {
    let row = person::table
        .inner_join(shop::table.on(shop::id.eq(person::shop_id)))
        .filter(of_shop!(person, id = shop_id.as_str()))
        .filter(person::id.eq(id.as_str()))
        .select((Row::as_select(), shop::name))
        .first(conn)
        .optional()?;
    row.map(read).transpose()
}

/// Sets the person's password.
pub(in crate::access) fn set_digest(tx: &mut Tx<'_>, id: &PersonId, digest: &str) -> Stored<()> {
    let this = rows_of_shop!(person, tx).filter(person::id.eq(id.as_str()));
    diesel::update(this)
        .set((
            person::password_hash.eq(digest),
            person::version.eq(person::version + 1),
            person::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
