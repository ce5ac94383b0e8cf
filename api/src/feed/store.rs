//! Rows of feeds.

use baywright_domain::id::{FeedId, ShopId};
use diesel::prelude::*;

use super::usecase::{Feed, Of};
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, rows_of_shop};
use crate::platform::fail::{DbError, Stored};
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

impl TryFrom<Row> for Feed {
    type Error = DbError;

    fn try_from(row: Row) -> Stored<Self> {
        let of = match (row.bay_id, row.person_id) {
            (Some(bay), None) => Of::Bay(bay.into()),
            (None, Some(person)) => Of::Person(person.into()),
            _ => return Err(DbError::Corrupt(format!("feed {} is of a bay or of a person", row.id))),
        };
        Ok(Self {
            id: row.id.into(),
            of,
            created_at: UtcTime::from_ms(row.created_at),
            revoked_at: row.revoked_at.map(UtcTime::from_ms),
        })
    }
}

/// Whose feed has that secret: a query that starts from a token and not from a shop.
pub(super) fn of_hash(conn: &mut Conn, hash: &str) -> Stored<Option<(ShopId, Feed)>> {
    let row: Option<(String, Row)> = feed::table
        .filter(feed::token_hash.eq(hash))
        .select((feed::shop_id, Row::as_select()))
        .first(conn)
        .optional()?;
    row.map(|(shop, row)| Ok((ShopId::new(shop), row.try_into()?))).transpose()
}

pub(super) fn find(tx: &mut Tx<'_>, id: &FeedId) -> Stored<Option<Feed>> {
    let row: Option<Row> =
        rows_of_shop!(feed, tx).filter(feed::id.eq(id.as_str())).select(Row::as_select()).first(tx.conn).optional()?;
    row.map(Feed::try_from).transpose()
}

pub(super) fn page(tx: &mut Tx<'_>, paging: &Paging) -> Stored<Vec<Feed>> {
    let query = rows_of_shop!(feed, id = tx.studio.id.to_string()).select(Row::as_select()).into_boxed();
    let rows: Vec<Row> = newest_first!(query, feed::id, feed::created_at, paging, tx.conn);
    rows.into_iter().map(Feed::try_from).collect()
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
