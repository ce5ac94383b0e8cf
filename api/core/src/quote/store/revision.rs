//! Rows of revisions.

use baywright_domain::id::{QuoteId, RevisionId};
use baywright_domain::money::Money;
use baywright_domain::quote::RevisionState;
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, of_shop, rows_of_shop};
use crate::platform::fail::{DbError, Stored};
use crate::platform::tx::Tx;
use crate::schema::{quote, quote_revision};

#[derive(Queryable, Selectable)]
#[diesel(table_name = quote_revision)]
pub(super) struct Row {
    id: String,
    quote_id: String,
    number: i32,
    state: String,
    draft: String,
    document: Option<String>,
    digest: Option<String>,
    payable: Option<i64>,
    sent_at: Option<i64>,
    holds_until: Option<i64>,
    decided_at: Option<i64>,
    reason: Option<String>,
    created_at: i64,
    updated_at: i64,
}

/// The data that a revision was made from when it was sent; it is large and seldom needed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::quote) struct Basis {
    /// The menu, in the form of its feature.
    pub(in crate::quote) menu: String,
    /// Estimates of its steps, in the form of their feature; `None` in revisions sent before these were stored.
    pub(in crate::quote) beliefs: Option<String>,
    /// Full explanation of each line's price, as JSON; `None` in variations sent before this was stored.
    pub(in crate::quote) explanation: Option<String>,
}

/// The frozen data of a sent revision, except the data that it was made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::quote) struct Frozen {
    /// The sealed document as canonical JSON.
    pub(in crate::quote) document: String,
    /// Its digest.
    pub(in crate::quote) digest: String,
    /// Total of the required lines; `None` if none is required.
    pub(in crate::quote) payable: Option<Money>,
    /// Time when it was sent.
    pub(in crate::quote) sent_at: UtcTime,
    /// Time when the offer expires.
    pub(in crate::quote) holds_until: UtcTime,
}

/// A revision as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::quote) struct RevisionRow {
    pub(in crate::quote) id: RevisionId,
    pub(in crate::quote) quote: QuoteId,
    pub(in crate::quote) number: u32,
    pub(in crate::quote) state: RevisionState,
    pub(in crate::quote) draft: String,
    pub(in crate::quote) frozen: Option<Frozen>,
    pub(in crate::quote) decided_at: Option<UtcTime>,
    pub(in crate::quote) reason: Option<String>,
    pub(in crate::quote) created_at: UtcTime,
    pub(in crate::quote) updated_at: UtcTime,
}

impl TryFrom<Row> for RevisionRow {
    type Error = DbError;

    fn try_from(row: Row) -> Stored<Self> {
        let at = named(&row.id);
        let frozen = match (row.document, row.digest, row.sent_at, row.holds_until) {
            (Some(document), Some(digest), Some(sent_at), Some(until)) => Some(Frozen {
                document,
                digest,
                payable: row.payable.map(Money::from_minor),
                sent_at: at.read("sent_at", sent_at)?,
                holds_until: at.read("holds_until", until)?,
            }),
            _ => None,
        };
        Ok(Self {
            quote: QuoteId::new(row.quote_id),
            number: at.read("number", row.number)?,
            state: at.read("state", row.state)?,
            draft: row.draft,
            frozen,
            decided_at: at.read("decided_at", row.decided_at)?,
            reason: row.reason,
            created_at: at.read("created_at", row.created_at)?,
            updated_at: at.read("updated_at", row.updated_at)?,
            id: RevisionId::new(row.id),
        })
    }
}

fn named(id: &str) -> RowId<'_> {
    RowId::of("quote_revision", id)
}

/// Number and state of every revision of a quote, the first one first.
pub(in crate::quote) fn numbers(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Vec<(u32, RevisionState)>> {
    let rows: Vec<(i32, String)> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::quote_id.eq(quote.as_str()))
        .order(quote_revision::number.asc())
        .select((quote_revision::number, quote_revision::state))
        .load(tx.conn)?;
    let at = RowId::of("quote_revision", quote.as_str());
    rows.into_iter()
        .map(|(number, state)| Ok((at.read::<u32>("number", number)?, at.read::<RevisionState>("state", state)?)))
        .collect()
}

pub(in crate::quote) fn find_revision(tx: &mut Tx<'_>, quote: &QuoteId, number: u32) -> Stored<Option<RevisionRow>> {
    // A number that the column can't hold belongs to no revision.
    let Ok(number) = i32::try_from(number) else { return Ok(None) };
    let row: Option<Row> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::quote_id.eq(quote.as_str()))
        .filter(quote_revision::number.eq(number))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(RevisionRow::try_from).transpose()
}

pub(in crate::quote) fn revision_of_id(tx: &mut Tx<'_>, id: &RevisionId) -> Stored<Option<RevisionRow>> {
    let row: Option<Row> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(RevisionRow::try_from).transpose()
}

/// The latest signed revision of a quote, which is the agreed one.
pub(in crate::quote) fn latest_signed(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Option<RevisionRow>> {
    let row: Option<Row> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::quote_id.eq(quote.as_str()))
        .filter(quote_revision::state.eq(RevisionState::Signed.as_str()))
        .order(quote_revision::number.desc())
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(RevisionRow::try_from).transpose()
}

/// Up to `most` revisions that are with the customer and have expired at `now`.
pub(in crate::quote) fn due(tx: &mut Tx<'_>, most: i64) -> Stored<Vec<RevisionRow>> {
    let rows: Vec<Row> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::state.eq(RevisionState::Sent.as_str()))
        .filter(quote_revision::holds_until.le(tx.now.ms()))
        .order(quote_revision::holds_until.asc())
        .limit(most)
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(RevisionRow::try_from).collect()
}

/// Up to `most` revisions that are with the customer, are still valid, and will lapse by that time.
pub(in crate::quote) fn ending(tx: &mut Tx<'_>, by: UtcTime, most: i64) -> Stored<Vec<RevisionRow>> {
    let rows: Vec<Row> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::state.eq(RevisionState::Sent.as_str()))
        .filter(quote_revision::holds_until.gt(tx.now.ms()))
        .filter(quote_revision::holds_until.le(by.ms()))
        .order(quote_revision::holds_until.asc())
        .limit(most)
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(RevisionRow::try_from).collect()
}

/// Up to `most` numbers of quotes that were sent at a given time or later, are with the customer and still valid,
/// earliest first.
pub(in crate::quote) fn waiting_since(tx: &mut Tx<'_>, at: UtcTime, most: i64) -> Stored<Vec<String>> {
    Ok(quote_revision::table
        .inner_join(
            quote::table.on(quote::shop_id.eq(quote_revision::shop_id).and(quote::id.eq(quote_revision::quote_id))),
        )
        .filter(of_shop!(quote_revision, tx))
        .filter(quote_revision::state.eq(RevisionState::Sent.as_str()))
        .filter(quote_revision::holds_until.gt(tx.now.ms()))
        .filter(quote_revision::sent_at.ge(at.ms()))
        .order(quote_revision::sent_at.asc())
        .limit(most)
        .select(quote::number)
        .load(tx.conn)?)
}

/// Document and digest of every revision that was ever sent, after that id, in order of id.
pub(in crate::quote) fn sealed(tx: &mut Tx<'_>, after: &str, most: i64) -> Stored<Vec<(String, String, String)>> {
    let rows: Vec<(String, Option<String>, Option<String>)> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::id.gt(after))
        .filter(quote_revision::document.is_not_null())
        .order(quote_revision::id.asc())
        .limit(most)
        .select((quote_revision::id, quote_revision::document, quote_revision::digest))
        .load(tx.conn)?;
    // The query leaves out revisions without a document. A missing digest breaks the seal, as an empty one does: no
    // text has it, and the caller that compares the two says which seal is broken.
    Ok(rows.into_iter().map(|(id, text, digest)| (id, text.unwrap_or_default(), digest.unwrap_or_default())).collect())
}

pub(in crate::quote) fn insert_draft(
    tx: &mut Tx<'_>,
    id: &RevisionId,
    quote: &QuoteId,
    number: u32,
    draft: &str,
) -> Stored<()> {
    diesel::insert_into(quote_revision::table)
        .values((
            quote_revision::id.eq(id.as_str()),
            quote_revision::shop_id.eq(tx.studio.id.as_str()),
            quote_revision::quote_id.eq(quote.as_str()),
            quote_revision::number.eq(named(id.as_str()).write("number", &number)?),
            quote_revision::state.eq(RevisionState::Draft.as_str()),
            quote_revision::draft.eq(draft),
            quote_revision::created_at.eq(tx.now.ms()),
            quote_revision::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::quote) fn replace_draft(tx: &mut Tx<'_>, id: &RevisionId, draft: &str) -> Stored<()> {
    diesel::update(rows_of_shop!(quote_revision, tx).filter(quote_revision::id.eq(id.as_str())))
        .set((quote_revision::draft.eq(draft), quote_revision::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

/// The frozen data beside the document of a sent revision.
pub(in crate::quote) fn frozen_basis(tx: &mut Tx<'_>, id: &RevisionId) -> Stored<Basis> {
    let found: Option<(Option<String>, Option<String>, Option<String>)> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::id.eq(id.as_str()))
        .select((quote_revision::menu, quote_revision::beliefs, quote_revision::explanation))
        .first(tx.conn)
        .optional()?;
    match found {
        Some((Some(menu), beliefs, explanation)) => Ok(Basis { menu, beliefs, explanation }),
        _ => Err(named(id.as_str()).corrupt("menu", "the revision has no frozen menu")),
    }
}

/// Full explanation of each line's price of a revision, as JSON.
pub(in crate::quote) fn explanation(tx: &mut Tx<'_>, id: &RevisionId) -> Stored<Option<String>> {
    Ok(rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::id.eq(id.as_str()))
        .select(quote_revision::explanation)
        .first(tx.conn)?)
}

/// Freezes a draft as it is sent, with the data that it was made from.
pub(in crate::quote) fn freeze(
    tx: &mut Tx<'_>,
    id: &RevisionId,
    state: RevisionState,
    frozen: &Frozen,
    basis: &Basis,
) -> Stored<()> {
    diesel::update(rows_of_shop!(quote_revision, tx).filter(quote_revision::id.eq(id.as_str())))
        .set((
            quote_revision::state.eq(state.as_str()),
            quote_revision::document.eq(Some(&frozen.document)),
            quote_revision::digest.eq(Some(&frozen.digest)),
            quote_revision::menu.eq(Some(&basis.menu)),
            quote_revision::beliefs.eq(&basis.beliefs),
            quote_revision::explanation.eq(&basis.explanation),
            quote_revision::payable.eq(frozen.payable.map(Money::minor)),
            quote_revision::sent_at.eq(Some(frozen.sent_at.ms())),
            quote_revision::holds_until.eq(Some(frozen.holds_until.ms())),
            quote_revision::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores the outcome of a sent revision, and the reason if one was given.
pub(in crate::quote) fn move_revision(
    tx: &mut Tx<'_>,
    id: &RevisionId,
    state: RevisionState,
    reason: Option<&str>,
) -> Stored<()> {
    diesel::update(rows_of_shop!(quote_revision, tx).filter(quote_revision::id.eq(id.as_str())))
        .set((
            quote_revision::state.eq(state.as_str()),
            quote_revision::decided_at.eq(Some(tx.now.ms())),
            quote_revision::reason.eq(reason),
            quote_revision::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores an unsigned revision with the customer's data removed.
pub(in crate::quote) fn blank(
    tx: &mut Tx<'_>,
    id: &RevisionId,
    draft: &str,
    document: &str,
    digest: &str,
) -> Stored<()> {
    diesel::update(rows_of_shop!(quote_revision, tx).filter(quote_revision::id.eq(id.as_str())))
        .set((
            quote_revision::draft.eq(draft),
            quote_revision::document.eq(Some(document)),
            quote_revision::digest.eq(Some(digest)),
            quote_revision::explanation.eq(None::<String>),
            quote_revision::reason.eq(None::<String>),
            quote_revision::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
