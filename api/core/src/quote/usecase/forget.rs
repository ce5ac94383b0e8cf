//! Erasing a customer: unsigned offers lose the customer's data.

use baywright_domain::id::QuoteId;
use baywright_domain::quote::RevisionState;

use super::read::frozen;
use crate::customer::usecase::ERASED;
use crate::platform::canonical::{canonical, digest};
use crate::platform::fail::{Done, Fail};
use crate::platform::personal::{Held, Holder, Leaving, Left};
use crate::platform::tx::Tx;
use crate::quote::kept::{QuoteDocument, QuoteDraft};
use crate::quote::store::{self, RevisionRow};

/// Data that this feature holds about a customer. A signed revision stays as it was sealed.
pub const HOLDER: Holder = Holder {
    feature: "quote",
    held: &[Held::of_customer("quote"), Held::of_row("quote_revision", "quote_id", "quote")],
    forget,
};

fn forget(tx: &mut Tx<'_>, leaving: &Leaving) -> Done<Left> {
    for id in leaving.ids("quote").into_iter().map(QuoteId::new) {
        for (number, state) in store::numbers(tx, &id)? {
            let row = store::find_revision(tx, &id, number)?;
            if let Some(row) = row.filter(|_| state != RevisionState::Signed) {
                blank(tx, &row)?;
            }
        }
        if let Some(quote) = store::find(tx, &id)? {
            store::touch(tx, &quote, quote.latest)?;
        }
    }
    Ok(Left::default())
}

fn blank(tx: &mut Tx<'_>, row: &RevisionRow) -> Done<()> {
    let draft = serde_json::to_string(&QuoteDraft::parse(&row.draft)?.without_customer()).map_err(Fail::unexpected)?;
    if row.frozen.is_none() {
        return Ok(store::replace_draft(tx, &row.id, &draft)?);
    }
    let kept = frozen(row)?;
    if row.state == RevisionState::Sent {
        // Nobody can answer any more.
        let (now, until) = (tx.now.datetime(), kept.holds_until.datetime());
        let state = match row.state.at(now, until) {
            RevisionState::Lapsed => row.state.lapse(now, until)?,
            _ => row.state.withdraw()?,
        };
        store::move_revision(tx, &row.id, state, None)?;
    }
    let document = QuoteDocument::parse(&kept.document)?.without_customer(ERASED);
    let text = serde_json::to_value(&document).map_err(Fail::unexpected)?;
    let text = canonical(&text).map_err(Fail::unexpected)?;
    Ok(store::blank(tx, &row.id, &draft, &text, &digest(&text))?)
}
