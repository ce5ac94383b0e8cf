//! Writing quotes: a new one, a changed draft, a new revision after one that was sent.

use std::mem::take;

use baywright_domain::calendar::ZoneRules;
use baywright_domain::id::{QuoteId, RevisionId, VehicleId};
use baywright_domain::quote::next_revision;
use baywright_domain::search::Words;
use baywright_domain::series::Series;
use serde_json::json;

use super::compose::{Composed, compose, totals};
use super::{NewQuote, Quote, Shown, look, parties, show};
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::warning::Warning;
use crate::platform::{ids, record};
use crate::quote::kept::{LineExplanation, QuoteDocument, QuoteDraft, QuoteTotals};
use crate::quote::store::{self, RevisionRow};
use crate::search::usecase::Hit;
use crate::{search, shop, vehicle};

/// Price of a draft that is not stored.
#[derive(Debug, Clone)]
pub struct Price {
    /// The document as it would be sent.
    pub document: QuoteDocument,
    /// Full explanation of each line's price.
    pub explanation: Vec<LineExplanation>,
    /// Totals of the requested lines.
    pub totals: Option<QuoteTotals>,
    /// Warnings that writing the same draft would give.
    pub warnings: Vec<Warning>,
}

/// Prices a draft without storing it; with `ticked`, also the totals of the required lines and the ticked ones.
pub fn price(tx: &mut Tx<'_>, of: &VehicleId, draft: &QuoteDraft, ticked: Option<&[usize]>) -> Done<Price> {
    let of = parties::vehicle_of(tx, of)?;
    let made = compose(tx, &of, draft, "", 1).map_err(in_draft)?;
    look::written(tx, &of, draft, &made, "/draft")?;
    let Composed { document, offered, menu, beliefs, explanation, .. } = made;
    let chosen = match ticked {
        None => None,
        Some(ticked) => {
            let taken = baywright_domain::quote::select(&offered.plain_lines(), &offered.conflicts, ticked)?;
            Some(totals(&offered, &menu, &beliefs, document.car(), &taken)?)
        }
    };
    let totals = chosen.or_else(|| document.required_totals.clone());
    Ok(Price { document, explanation, totals, warnings: take(&mut tx.warnings) })
}

/// Writes a new quote with its first draft.
pub fn create(tx: &mut Tx<'_>, of: &VehicleId, draft: &QuoteDraft) -> Done<Shown> {
    let of = parties::vehicle_of(tx, of)?;
    let settings = shop::usecase::settings(tx)?;
    let today = settings.zone.to_local(tx.now.minute()).date();
    let prefix = &settings.terms.quote_prefix;
    let series = Series::yearly(prefix);
    let year = series.counter_year(today).unwrap_or_default();
    let counter = store::last_counter(tx, prefix.as_str(), year)? + 1;
    let number = series.number(today, u64::try_from(counter).unwrap_or(u64::MAX))?;
    let made = compose(tx, &of, draft, &number, 1).map_err(in_draft)?;
    look::written(tx, &of, draft, &made, "/draft")?;
    let new = NewQuote {
        id: ids::new(),
        number,
        series: prefix.as_str().to_owned(),
        year,
        counter,
        customer: of.details.customer_id.clone(),
        vehicle: of.id.clone(),
    };
    store::insert(tx, &new)?;
    let revision: RevisionId = ids::new();
    store::insert_draft(tx, &revision, &new.id, 1, &kept(draft)?)?;
    let detail = json!({ "number": new.number, "vehicle_id": new.vehicle.as_str() });
    record::write(tx, "quote.written", ("quote", new.id.as_str()), detail)?;
    let hit = Hit {
        kind: "quote".to_owned(),
        id: new.id.to_string(),
        title: new.number.clone(),
        detail: format!("Quote of {today} for {}", of.details.name()),
    };
    search::usecase::index(tx, hit, &Words::new().number(&new.number))?;
    show(tx, &new.id)
}

/// Replaces the content of the open draft.
pub fn replace_draft(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen, draft: &QuoteDraft) -> Done<Shown> {
    let (quote, revision) = latest(tx, id)?;
    seen.check(quote.version)?;
    revision.state.edit()?;
    let of = vehicle::usecase::show(tx, &quote.vehicle)?;
    let made = compose(tx, &of, draft, &quote.number, revision.number)?;
    look::written(tx, &of, draft, &made, "")?;
    store::replace_draft(tx, &revision.id, &kept(draft)?)?;
    store::touch(tx, &quote, quote.latest)?;
    let detail = json!({ "revision": revision.number });
    record::write(tx, "quote.changed", ("quote", id.as_str()), detail)?;
    show(tx, id)
}

/// Opens a new draft with the content of the latest revision. The sent revision stays valid until the new one is sent.
pub fn revise(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen) -> Done<Shown> {
    let (quote, last) = latest(tx, id)?;
    seen.check(quote.version)?;
    let numbers = store::numbers(tx, id)?;
    let number = next_revision(&numbers)?;
    let revision: RevisionId = ids::new();
    store::insert_draft(tx, &revision, id, number, &last.draft)?;
    store::touch(tx, &quote, number)?;
    let detail = json!({ "revision": number });
    record::write(tx, "quote.revised", ("quote", id.as_str()), detail)?;
    show(tx, id)
}

/// A quote with its latest revision.
pub(super) fn latest(tx: &mut Tx<'_>, id: &QuoteId) -> Done<(Quote, RevisionRow)> {
    let quote = store::find(tx, id)?.ok_or_else(|| Refused::not_found("quote"))?;
    let revision = store::find_revision(tx, id, quote.latest)?
        .ok_or_else(|| DbError::Corrupt(format!("quote {id} has no revision {}", quote.latest)))?;
    Ok((quote, revision))
}

/// A new quote's body has the draft one level down.
fn in_draft(fail: Fail) -> Fail {
    fail.repointed(|pointer| format!("/draft{pointer}"))
}

fn kept(draft: &QuoteDraft) -> Done<String> {
    serde_json::to_string(draft).map_err(Fail::unexpected)
}
