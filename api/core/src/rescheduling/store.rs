//! Rows of reschedulings.

use baywright_domain::id::ReschedulingId;
use baywright_domain::rescheduling::ReschedulingState;
use diesel::prelude::*;

use super::kept::WeekForm;
use super::usecase::Rescheduling;
use crate::newest_first;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::proposal;

#[derive(Queryable, Selectable)]
#[diesel(table_name = proposal)]
struct Row {
    id: String,
    state: String,
    content: String,
    version: i64,
    created_at: i64,
    accepted_at: Option<i64>,
}

impl Row {
    fn read(self) -> Stored<Rescheduling> {
        let row = RowId::of("proposal", &self.id);
        Ok(Rescheduling {
            state: row.read("state", self.state)?,
            version: self.version,
            week: row.read_json("content", &self.content)?,
            created_at: row.read("created_at", self.created_at)?,
            accepted_at: row.read("accepted_at", self.accepted_at)?,
            id: self.id.into(),
        })
    }
}

pub(super) fn find(tx: &mut Tx<'_>, id: &ReschedulingId) -> Stored<Option<Rescheduling>> {
    let row: Option<Row> = rows_of_shop!(proposal, tx)
        .filter(proposal::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

pub(super) fn page(tx: &mut Tx<'_>, paging: &Paging) -> Stored<Vec<Rescheduling>> {
    let query = rows_of_shop!(proposal, id = tx.studio.id.to_string()).select(Row::as_select()).into_boxed();
    let rows: Vec<Row> = newest_first!(query, proposal::id, proposal::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &ReschedulingId, week: &WeekForm) -> Stored<()> {
    let content = RowId::of("proposal", id.as_str()).write_json("content", week)?;
    diesel::insert_into(proposal::table)
        .values((
            proposal::id.eq(id.as_str()),
            proposal::shop_id.eq(tx.studio.id.as_str()),
            proposal::state.eq(ReschedulingState::Open.as_str()),
            proposal::content.eq(content),
            proposal::version.eq(1),
            proposal::created_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn accept(tx: &mut Tx<'_>, rescheduling: &Rescheduling, state: ReschedulingState) -> Stored<()> {
    let this = rows_of_shop!(proposal, tx).filter(proposal::id.eq(rescheduling.id.as_str()));
    diesel::update(this)
        .set((
            proposal::state.eq(state.as_str()),
            proposal::version.eq(rescheduling.version + 1),
            proposal::accepted_at.eq(Some(tx.now.ms())),
        ))
        .execute(tx.conn)?;
    Ok(())
}
