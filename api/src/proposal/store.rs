//! Rows of proposals.

use baywright_domain::id::ProposalId;
use baywright_domain::proposal::ProposalState;
use diesel::prelude::*;

use super::form::WeekForm;
use super::usecase::Proposal;
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
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

impl TryFrom<Row> for Proposal {
    type Error = DbError;

    fn try_from(row: Row) -> Stored<Self> {
        let corrupt = |what: &dyn std::fmt::Display| DbError::Corrupt(format!("proposal {}: {what}", row.id));
        let week: WeekForm = serde_json::from_str(&row.content).map_err(|error| corrupt(&error))?;
        Ok(Self {
            state: ProposalState::parse(&row.state).map_err(|error| corrupt(&error))?,
            version: row.version,
            week,
            created_at: UtcTime::from_ms(row.created_at),
            accepted_at: row.accepted_at.map(UtcTime::from_ms),
            id: row.id.into(),
        })
    }
}

pub(super) fn find(tx: &mut Tx<'_>, id: &ProposalId) -> Stored<Option<Proposal>> {
    let row: Option<Row> = rows_of_shop!(proposal, tx)
        .filter(proposal::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Proposal::try_from).transpose()
}

pub(super) fn page(tx: &mut Tx<'_>, paging: &Paging) -> Stored<Vec<Proposal>> {
    let query = rows_of_shop!(proposal, id = tx.studio.id.to_string()).select(Row::as_select()).into_boxed();
    let rows: Vec<Row> = newest_first!(query, proposal::id, proposal::created_at, paging, tx.conn);
    rows.into_iter().map(Proposal::try_from).collect()
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &ProposalId, week: &WeekForm) -> Stored<()> {
    let content = serde_json::to_string(week).map_err(|error| DbError::Corrupt(format!("a new proposal: {error}")))?;
    diesel::insert_into(proposal::table)
        .values((
            proposal::id.eq(id.as_str()),
            proposal::shop_id.eq(tx.studio.id.as_str()),
            proposal::state.eq(ProposalState::Open.as_str()),
            proposal::content.eq(content),
            proposal::version.eq(1),
            proposal::created_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn accept(tx: &mut Tx<'_>, proposal: &Proposal, state: ProposalState) -> Stored<()> {
    let this = rows_of_shop!(proposal, tx).filter(proposal::id.eq(proposal.id.as_str()));
    diesel::update(this)
        .set((
            proposal::state.eq(state.as_str()),
            proposal::version.eq(proposal.version + 1),
            proposal::accepted_at.eq(Some(tx.now.ms())),
        ))
        .execute(tx.conn)?;
    Ok(())
}
