//! Rows of links.

use baywright_domain::id::{LinkId, PersonId, ShopId};
use baywright_domain::signoff::Method;
use diesel::prelude::*;

use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::link;
use crate::signoff::usecase::{Link, Purpose, Subject};

#[derive(Queryable, Selectable)]
#[diesel(table_name = link)]
struct Row {
    id: String,
    purpose: String,
    subject_id: String,
    method: String,
    contact: String,
    person_id: Option<String>,
    sent_at: i64,
    first_opened_at: Option<i64>,
    ends_at: i64,
    used_at: Option<i64>,
    revoked_at: Option<i64>,
}

impl Row {
    fn read(self) -> Stored<Link> {
        let row = RowId::of("link", &self.id);
        let purpose = Purpose::parse(&self.purpose);
        let purpose = purpose.ok_or_else(|| row.corrupt("purpose", &self.purpose))?;
        Ok(Link {
            subject: Subject { purpose, id: self.subject_id },
            method: row.read("method", self.method)?,
            contact: self.contact,
            person: self.person_id.map(PersonId::new),
            sent_at: row.read("sent_at", self.sent_at)?,
            first_opened_at: row.read("first_opened_at", self.first_opened_at)?,
            ends_at: row.read("ends_at", self.ends_at)?,
            used_at: row.read("used_at", self.used_at)?,
            revoked_at: row.read("revoked_at", self.revoked_at)?,
            id: LinkId::new(self.id),
        })
    }
}

/// The shop that a link belongs to: the one query that starts from a token and not from a shop.
pub(in crate::signoff) fn shop_of_hash(conn: &mut Conn, hash: &str) -> Stored<Option<ShopId>> {
    let shop: Option<String> =
        link::table.filter(link::token_hash.eq(hash)).select(link::shop_id).first(conn).optional()?;
    Ok(shop.map(ShopId::new))
}

pub(in crate::signoff) fn find_link(tx: &mut Tx<'_>, hash: &str) -> Stored<Option<Link>> {
    let row: Option<Row> =
        rows_of_shop!(link, tx).filter(link::token_hash.eq(hash)).select(Row::as_select()).first(tx.conn).optional()?;
    row.map(Row::read).transpose()
}

pub(in crate::signoff) fn link_of_id(tx: &mut Tx<'_>, id: &LinkId) -> Stored<Option<Link>> {
    let row: Option<Row> =
        rows_of_shop!(link, tx).filter(link::id.eq(id.as_str())).select(Row::as_select()).first(tx.conn).optional()?;
    row.map(Row::read).transpose()
}

pub(in crate::signoff) fn links(tx: &mut Tx<'_>, subject: Option<&str>, paging: &Paging) -> Stored<Vec<Link>> {
    let mut query = rows_of_shop!(link, id = tx.studio.id.to_string()).select(Row::as_select()).into_boxed();
    if let Some(subject) = subject {
        query = query.filter(link::subject_id.eq(subject.to_owned()));
    }
    let rows: Vec<Row> = newest_first!(query, link::id, link::sent_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

/// Number of links to a subject that were made after a given time.
pub(in crate::signoff) fn links_since(tx: &mut Tx<'_>, subject: &Subject, since: UtcTime) -> Stored<i64> {
    Ok(rows_of_shop!(link, tx)
        .filter(link::purpose.eq(subject.purpose.as_str()))
        .filter(link::subject_id.eq(&subject.id))
        .filter(link::sent_at.gt(since.ms()))
        .count()
        .get_result(tx.conn)?)
}

pub(in crate::signoff) fn insert_link(tx: &mut Tx<'_>, new: &Link, hash: &str) -> Stored<()> {
    diesel::insert_into(link::table)
        .values((
            link::id.eq(new.id.as_str()),
            link::shop_id.eq(tx.studio.id.as_str()),
            link::token_hash.eq(hash),
            link::purpose.eq(new.subject.purpose.as_str()),
            link::subject_id.eq(&new.subject.id),
            link::method.eq(new.method.as_str()),
            link::contact.eq(&new.contact),
            link::person_id.eq(new.person.as_ref().map(PersonId::as_str)),
            link::sent_at.eq(new.sent_at.ms()),
            link::ends_at.eq(new.ends_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::signoff) fn mark_opened(tx: &mut Tx<'_>, id: &LinkId) -> Stored<()> {
    diesel::update(rows_of_shop!(link, tx).filter(link::id.eq(id.as_str())).filter(link::first_opened_at.is_null()))
        .set(link::first_opened_at.eq(Some(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::signoff) fn mark_used(tx: &mut Tx<'_>, id: &LinkId) -> Stored<()> {
    diesel::update(rows_of_shop!(link, tx).filter(link::id.eq(id.as_str())))
        .set(link::used_at.eq(Some(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

/// Revokes every link with that method to the subject that is still valid.
pub(in crate::signoff) fn end_all(tx: &mut Tx<'_>, subject: &Subject, method: Method) -> Stored<()> {
    diesel::update(
        rows_of_shop!(link, tx)
            .filter(link::purpose.eq(subject.purpose.as_str()))
            .filter(link::subject_id.eq(&subject.id))
            .filter(link::method.eq(method.as_str()))
            .filter(link::revoked_at.is_null()),
    )
    .set(link::revoked_at.eq(Some(tx.now.ms())))
    .execute(tx.conn)?;
    Ok(())
}

/// Revokes one link, if it is still valid.
pub(in crate::signoff) fn end_one(tx: &mut Tx<'_>, id: &LinkId) -> Stored<()> {
    diesel::update(rows_of_shop!(link, tx).filter(link::id.eq(id.as_str())).filter(link::revoked_at.is_null()))
        .set(link::revoked_at.eq(Some(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

/// Ends links and blanks the addresses to which they were sent.
pub(in crate::signoff) fn blank_links(tx: &mut Tx<'_>, ids: &[String]) -> Stored<()> {
    let theirs = || rows_of_shop!(link, id = tx.studio.id.to_string()).filter(link::id.eq_any(ids));
    let (all, standing) = (theirs(), theirs().filter(link::revoked_at.is_null()));
    diesel::update(standing).set(link::revoked_at.eq(Some(tx.now.ms()))).execute(tx.conn)?;
    diesel::update(all).set(link::contact.eq("")).execute(tx.conn)?;
    Ok(())
}
