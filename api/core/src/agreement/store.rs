//! Rows of variations.

use baywright_domain::id::{QuoteId, RevisionId, VariationId};
use baywright_domain::money::Money;
use baywright_domain::variation::VariationState;
use diesel::prelude::*;

use super::kept::VariationDraft;
use super::usecase::{Frozen, NewVariation, Variation};
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::variation;

#[derive(Queryable, Selectable)]
#[diesel(table_name = variation)]
struct Row {
    id: String,
    quote_id: String,
    revision_id: String,
    booking_id: String,
    number: i32,
    state: String,
    draft: String,
    document: Option<String>,
    digest: Option<String>,
    change: Option<i64>,
    sent_at: Option<i64>,
    decided_at: Option<i64>,
    reason: Option<String>,
    version: i64,
    created_at: i64,
    updated_at: i64,
    beliefs: Option<String>,
    explanation: Option<String>,
}

impl Row {
    fn read(self) -> Stored<Variation> {
        let row = RowId::of("variation", &self.id);
        let frozen = match (self.document, self.digest, self.change, self.sent_at) {
            (Some(document), Some(digest), Some(change), Some(sent_at)) => {
                let (change, sent_at) = (Money::from_minor(change), row.read("sent_at", sent_at)?);
                let (beliefs, explanation) = (self.beliefs, self.explanation);
                Some(Frozen { document, digest, change, beliefs, explanation, sent_at })
            }
            _ => None,
        };
        Ok(Variation {
            number: row.read("number", self.number)?,
            state: row.read("state", self.state)?,
            draft: VariationDraft::parse(&self.draft)?,
            version: self.version,
            quote: self.quote_id.into(),
            revision: self.revision_id.into(),
            booking: self.booking_id.into(),
            frozen,
            decided_at: row.read("decided_at", self.decided_at)?,
            reason: self.reason,
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

pub(super) fn find(tx: &mut Tx<'_>, id: &VariationId) -> Stored<Option<Variation>> {
    let row: Option<Row> = rows_of_shop!(variation, tx)
        .filter(variation::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

/// All variations of a quote, first one first.
pub(super) fn of_quote(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Vec<Variation>> {
    let rows: Vec<Row> = rows_of_shop!(variation, tx)
        .filter(variation::quote_id.eq(quote.as_str()))
        .order(variation::number.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// The signed variations of a revision, first one first.
pub(super) fn signed(tx: &mut Tx<'_>, revision: &RevisionId) -> Stored<Vec<Variation>> {
    let rows: Vec<Row> = rows_of_shop!(variation, tx)
        .filter(variation::revision_id.eq(revision.as_str()))
        .filter(variation::state.eq(VariationState::Signed.as_str()))
        .order(variation::number.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// Id, document and digest of up to `most` variations that were ever sent, after that id.
pub(super) fn sealed(tx: &mut Tx<'_>, after: &str, most: i64) -> Stored<Vec<(String, String, String)>> {
    Ok(rows_of_shop!(variation, tx)
        .filter(variation::id.gt(after))
        .filter(variation::document.is_not_null())
        .order(variation::id.asc())
        .limit(most)
        .select((variation::id, variation::document.assume_not_null(), variation::digest.assume_not_null()))
        .load(tx.conn)?)
}

/// Adds one with the text of its draft.
pub(super) fn insert(tx: &mut Tx<'_>, id: &VariationId, new: &NewVariation<'_>, draft: &str) -> Stored<()> {
    let number = RowId::of("variation", id.as_str()).write("number", &new.number)?;
    diesel::insert_into(variation::table)
        .values((
            variation::id.eq(id.as_str()),
            variation::shop_id.eq(tx.studio.id.as_str()),
            variation::quote_id.eq(new.quote.as_str()),
            variation::revision_id.eq(new.revision.as_str()),
            variation::booking_id.eq(new.booking.as_str()),
            variation::number.eq(number),
            variation::state.eq(VariationState::Draft.as_str()),
            variation::draft.eq(draft),
            variation::version.eq(1_i64),
            variation::created_at.eq(tx.now.ms()),
            variation::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn replace_draft(tx: &mut Tx<'_>, before: &Variation, draft: &str) -> Stored<()> {
    let one = rows_of_shop!(variation, tx).filter(variation::id.eq(before.id.as_str()));
    diesel::update(one)
        .set((
            variation::draft.eq(draft),
            variation::version.eq(before.version + 1),
            variation::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn freeze(tx: &mut Tx<'_>, before: &Variation, state: VariationState, frozen: &Frozen) -> Stored<()> {
    let one = rows_of_shop!(variation, tx).filter(variation::id.eq(before.id.as_str()));
    diesel::update(one)
        .set((
            variation::state.eq(state.as_str()),
            variation::document.eq(&frozen.document),
            variation::digest.eq(&frozen.digest),
            variation::change.eq(frozen.change.minor()),
            variation::beliefs.eq(&frozen.beliefs),
            variation::explanation.eq(&frozen.explanation),
            variation::sent_at.eq(frozen.sent_at.ms()),
            variation::version.eq(before.version + 1),
            variation::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Writes the customer's answer.
pub(super) fn decide(tx: &mut Tx<'_>, before: &Variation, state: VariationState, reason: Option<&str>) -> Stored<()> {
    let one = rows_of_shop!(variation, tx).filter(variation::id.eq(before.id.as_str()));
    diesel::update(one)
        .set((
            variation::state.eq(state.as_str()),
            variation::decided_at.eq(tx.now.ms()),
            variation::reason.eq(reason),
            variation::version.eq(before.version + 1),
            variation::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores an unsigned variation with the customer's data removed.
pub(super) fn blank(tx: &mut Tx<'_>, id: &VariationId, draft: &str, document: &str, digest: &str) -> Stored<()> {
    let one = rows_of_shop!(variation, tx).filter(variation::id.eq(id.as_str()));
    diesel::update(one)
        .set((
            variation::draft.eq(draft),
            variation::document.eq(Some(document)),
            variation::digest.eq(Some(digest)),
            variation::explanation.eq(None::<String>),
            variation::reason.eq(None::<String>),
            variation::version.eq(variation::version + 1_i64),
            variation::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
