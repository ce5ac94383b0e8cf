//! Rows of the draft and of published revisions.

use baywright_domain::document::Prices;
use baywright_domain::id::{MenuRevisionId, PersonId};
use diesel::prelude::*;

use super::usecase::Revision;
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{menu_draft, menu_revision, menu_withdrawal};

/// The stored draft.
#[derive(Queryable, Selectable)]
#[diesel(table_name = menu_draft)]
pub(super) struct DraftRow {
    pub(super) id: String,
    pub(super) content: String,
    pub(super) version: i64,
    pub(super) updated_at: i64,
}

/// Columns of a revision other than its content.
#[derive(Queryable, Selectable)]
#[diesel(table_name = menu_revision)]
struct RevisionRow {
    id: String,
    number: i64,
    valid_from: i64,
    note: String,
    digest: String,
    published_by: String,
    created_at: i64,
    prices: String,
}

impl RevisionRow {
    fn read(self) -> Stored<Revision> {
        let row = RowId::of("menu_revision", &self.id);
        let published_by = Some(self.published_by).filter(|id| !id.is_empty());
        Ok(Revision {
            number: self.number,
            from: row.read("valid_from", self.valid_from)?,
            note: self.note,
            digest: self.digest,
            published_by: published_by.map(PersonId::from),
            published_at: row.read("created_at", self.created_at)?,
            prices: row.read("prices", self.prices)?,
            withdrawn_at: None,
            id: self.id.into(),
        })
    }
}

pub(super) fn draft(tx: &mut Tx<'_>) -> Stored<Option<DraftRow>> {
    Ok(rows_of_shop!(menu_draft, tx).select(DraftRow::as_select()).first(tx.conn).optional()?)
}

pub(super) fn insert_draft(tx: &mut Tx<'_>, id: &str, content: &str) -> Stored<()> {
    diesel::insert_into(menu_draft::table)
        .values((
            menu_draft::id.eq(id),
            menu_draft::shop_id.eq(tx.studio.id.as_str()),
            menu_draft::content.eq(content),
            menu_draft::version.eq(1_i64),
            menu_draft::created_at.eq(tx.now.ms()),
            menu_draft::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn update_draft(tx: &mut Tx<'_>, version: i64, content: &str) -> Stored<()> {
    diesel::update(rows_of_shop!(menu_draft, tx))
        .set((menu_draft::content.eq(content), menu_draft::version.eq(version), menu_draft::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn insert_revision(tx: &mut Tx<'_>, revision: &Revision, content: &str) -> Stored<()> {
    let published_by = revision.published_by.as_ref().map_or("", PersonId::as_str);
    diesel::insert_into(menu_revision::table)
        .values((
            menu_revision::id.eq(revision.id.as_str()),
            menu_revision::shop_id.eq(tx.studio.id.as_str()),
            menu_revision::number.eq(revision.number),
            menu_revision::valid_from.eq(revision.from.ms()),
            menu_revision::note.eq(&revision.note),
            menu_revision::content.eq(content),
            menu_revision::digest.eq(&revision.digest),
            menu_revision::published_by.eq(published_by),
            menu_revision::created_at.eq(tx.now.ms()),
            menu_revision::prices.eq(revision.prices.as_str()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// The number of the last published revision, or 0.
pub(super) fn last_number(tx: &mut Tx<'_>) -> Stored<i64> {
    let number: Option<i64> =
        rows_of_shop!(menu_revision, tx).select(diesel::dsl::max(menu_revision::number)).first(tx.conn)?;
    Ok(number.unwrap_or(0))
}

/// The ids of the shop's withdrawn revisions, as part of a query.
macro_rules! withdrawn {
    ($tx:expr) => {
        rows_of_shop!(menu_withdrawal, id = $tx.studio.id.to_string()).select(menu_withdrawal::revision_id)
    };
}

/// The revision in force at a given time, with its content. Withdrawn ones are skipped.
pub(super) fn in_force_at(tx: &mut Tx<'_>, moment: UtcTime) -> Stored<Option<(Revision, String)>> {
    let row: Option<(RevisionRow, String)> = rows_of_shop!(menu_revision, tx)
        .filter(menu_revision::valid_from.le(moment.ms()))
        .filter(menu_revision::id.ne_all(withdrawn!(tx)))
        .order((menu_revision::valid_from.desc(), menu_revision::number.desc()))
        .select((RevisionRow::as_select(), menu_revision::content))
        .first(tx.conn)
        .optional()?;
    row.map(|(row, content)| Ok((row.read()?, content))).transpose()
}

/// The content of the latest revision in force whose prices have that tax basis.
pub(super) fn last_in_force_with(tx: &mut Tx<'_>, prices: Prices) -> Stored<Option<String>> {
    Ok(rows_of_shop!(menu_revision, tx)
        .filter(menu_revision::prices.eq(prices.as_str()))
        .filter(menu_revision::valid_from.le(tx.now.ms()))
        .filter(menu_revision::id.ne_all(withdrawn!(tx)))
        .order((menu_revision::valid_from.desc(), menu_revision::number.desc()))
        .select(menu_revision::content)
        .first(tx.conn)
        .optional()?)
}

/// Whether a revision is published that is not in force yet and was not withdrawn.
pub(super) fn any_to_come(tx: &mut Tx<'_>) -> Stored<bool> {
    let to_come = rows_of_shop!(menu_revision, tx)
        .filter(menu_revision::valid_from.gt(tx.now.ms()))
        .filter(menu_revision::id.ne_all(withdrawn!(tx)));
    Ok(diesel::select(diesel::dsl::exists(to_come)).get_result(tx.conn)?)
}

/// The id of the revision in force now.
pub(super) fn id_in_force(tx: &mut Tx<'_>) -> Stored<Option<MenuRevisionId>> {
    let id: Option<String> = rows_of_shop!(menu_revision, tx)
        .filter(menu_revision::valid_from.le(tx.now.ms()))
        .filter(menu_revision::id.ne_all(withdrawn!(tx)))
        .order((menu_revision::valid_from.desc(), menu_revision::number.desc()))
        .select(menu_revision::id)
        .first(tx.conn)
        .optional()?;
    Ok(id.map(MenuRevisionId::from))
}

pub(super) fn revision(tx: &mut Tx<'_>, id: &MenuRevisionId) -> Stored<Option<(Revision, String)>> {
    let row: Option<(RevisionRow, String)> = rows_of_shop!(menu_revision, tx)
        .filter(menu_revision::id.eq(id.as_str()))
        .select((RevisionRow::as_select(), menu_revision::content))
        .first(tx.conn)
        .optional()?;
    let Some((row, content)) = row else { return Ok(None) };
    let mut revision = row.read()?;
    revision.withdrawn_at = withdrawals(tx, std::slice::from_ref(&revision))?.pop().map(|(_, at)| at);
    Ok(Some((revision, content)))
}

/// The withdrawn ones of these revisions, with the times.
fn withdrawals(tx: &mut Tx<'_>, of: &[Revision]) -> Stored<Vec<(String, UtcTime)>> {
    let ids: Vec<&str> = of.iter().map(|revision| revision.id.as_str()).collect();
    let rows: Vec<(String, i64)> = rows_of_shop!(menu_withdrawal, tx)
        .filter(menu_withdrawal::revision_id.eq_any(ids))
        .select((menu_withdrawal::revision_id, menu_withdrawal::at))
        .load(tx.conn)?;
    let read = |(id, at): (String, i64)| {
        let at: UtcTime = RowId::of("menu_withdrawal", &id).read("at", at)?;
        Ok((id, at))
    };
    rows.into_iter().map(read).collect()
}

/// Withdraws a revision now.
pub(super) fn withdraw(tx: &mut Tx<'_>, id: &MenuRevisionId, reason: Option<&str>) -> Stored<()> {
    diesel::insert_into(menu_withdrawal::table)
        .values((
            menu_withdrawal::id.eq(ids::new::<String>()),
            menu_withdrawal::shop_id.eq(tx.studio.id.as_str()),
            menu_withdrawal::revision_id.eq(id.as_str()),
            menu_withdrawal::at.eq(tx.now.ms()),
            menu_withdrawal::person_id.eq(tx.actor.person().map(PersonId::as_str)),
            menu_withdrawal::reason.eq(reason),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn revisions(tx: &mut Tx<'_>, paging: &Paging) -> Stored<Vec<Revision>> {
    let mine = rows_of_shop!(menu_revision, tx).select(RevisionRow::as_select()).into_boxed();
    let rows: Vec<RevisionRow> = newest_first!(mine, menu_revision::id, menu_revision::created_at, paging, tx.conn);
    let mut found = rows.into_iter().map(RevisionRow::read).collect::<Stored<Vec<Revision>>>()?;
    for (id, at) in withdrawals(tx, &found)? {
        found.iter_mut().filter(|one| one.id.as_str() == id).for_each(|one| one.withdrawn_at = Some(at));
    }
    Ok(found)
}
