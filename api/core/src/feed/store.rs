//! Rows of feeds.

use baywright_domain::id::{FeedId, ShopId};
use diesel::prelude::*;

use super::usecase::{Feed, Of};
use crate::newest_first;
use crate::platform::db::{Conn, RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::feed;

#[derive(Queryable, Selectable)]
#[diesel(table_name = feed)]
struct Row {
    id: String,
    bay_id: Option<String>,
    person_id: Option<String>,
    created_at: i64,
    revoked_at: Option<i64>,
}

impl Row {
    fn read(self) -> Stored<Feed> {
        let row = RowId::of("feed", &self.id);
        let of = match (self.bay_id, self.person_id) {
            (Some(bay), None) => Of::Bay(bay.into()),
            (None, Some(person)) => Of::Person(person.into()),
            _ => return Err(row.corrupt("bay_id", "neither a bay nor a person, or both")),
        };
        Ok(Feed {
            of,
            created_at: row.read("created_at", self.created_at)?,
            revoked_at: row.read("revoked_at", self.revoked_at)?,
            id: self.id.into(),
        })
    }
}

/// The feed with that secret: a query that starts from a token and not from a shop.
pub(super) fn of_hash(conn: &mut Conn, hash: &str) -> Stored<Option<(ShopId, Feed)>> {
    let row: Option<(String, Row)> = feed::table
        .filter(feed::token_hash.eq(hash))
        .select((feed::shop_id, Row::as_select()))
        .first(conn)
        .optional()?;
    row.map(|(shop, row)| Ok((ShopId::new(shop), row.read()?))).transpose()
}

pub(super) fn find(tx: &mut Tx<'_>, id: &FeedId) -> Stored<Option<Feed>> {
    let row: Option<Row> =
        rows_of_shop!(feed, tx).filter(feed::id.eq(id.as_str())).select(Row::as_select()).first(tx.conn).optional()?;
    row.map(Row::read).transpose()
}

pub(super) fn page(tx: &mut Tx<'_>, paging: &Paging) -> Stored<Vec<Feed>> {
    let query = rows_of_shop!(feed, id = tx.studio.id.to_string()).select(Row::as_select()).into_boxed();
    let rows: Vec<Row> = newest_first!(query, feed::id, feed::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &Feed, hash: &str) -> Stored<()> {
    let (bay, person) = match &new.of {
        Of::Bay(bay) => (Some(bay.as_str()), None),
        Of::Person(person) => (None, Some(person.as_str())),
    };
    diesel::insert_into(feed::table)
        .values((
            feed::id.eq(new.id.as_str()),
            feed::shop_id.eq(tx.studio.id.as_str()),
            feed::token_hash.eq(hash),
            feed::bay_id.eq(bay),
            feed::person_id.eq(person),
            feed::created_at.eq(new.created_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn end(tx: &mut Tx<'_>, id: &FeedId) -> Stored<()> {
    diesel::update(rows_of_shop!(feed, tx).filter(feed::id.eq(id.as_str())))
        .set(feed::revoked_at.eq(Some(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}
