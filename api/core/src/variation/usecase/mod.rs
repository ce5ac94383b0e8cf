//! Use cases of variations: they are written, sent and answered while the work that they change is under way.

mod ahead;
mod answer;
mod compose;
mod found;
mod letter;
mod send;
mod write;

use std::collections::BTreeSet;

use baywright_domain::id::VariationId;
use baywright_domain::money::Money;
use baywright_domain::variation::{Agreement, VariationState};

use crate::agreement::usecase::{Variation, agreed, find};
use crate::platform::fail::{Done, Fail};
use crate::platform::tx::Tx;
use crate::quote::kept::{LineExplanation, QuoteDocument, QuoteLine};
use crate::shop;
use crate::signoff::usecase::{self as signoff, Signoff, Subject};

pub use ahead::{WithWork, done_with};
pub use answer::{decline, note_no, note_yes, offer, sign};
pub use found::{FoundWork, found, proposable};
pub use send::{make_link, send};
pub use write::{create, replace_draft};

/// The names of the lines that sell one of these services, with commas between them; `None` if no line does.
fn names_of_selling<'l>(lines: impl IntoIterator<Item = &'l QuoteLine>, services: &BTreeSet<&str>) -> Option<String> {
    let selling = lines.into_iter().filter(|line| line.services.iter().any(|code| services.contains(code.as_str())));
    let names: Vec<&str> = selling.map(|line| line.name.as_str()).collect();
    (!names.is_empty()).then(|| names.join(", "))
}

/// Maximum number of variations of one quote.
pub const MOST: usize = 100;

/// A variation for display.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The variation.
    pub variation: Variation,
    /// The customer's document; for a draft as it would be sent now, `None` if it can no longer be priced.
    pub document: Option<QuoteDocument>,
    /// Full explanation of each line's price; `None` if there is no document, or if it was not stored.
    pub explanation: Option<Vec<LineExplanation>>,
    /// Change of price by the required lines, with tax.
    pub change: Option<Money>,
    /// The agreement that it needs.
    pub needs: Agreement,
    /// Its sign-off, if it is signed.
    pub signoff: Option<Signoff>,
}

/// The variation with that id, with the customer's document.
pub fn show(tx: &mut Tx<'_>, id: &VariationId) -> Done<Shown> {
    let variation = find(tx, id)?;
    let (document, explanation, change) = if let Some(frozen) = &variation.frozen {
        let kept = frozen.explanation.as_deref().map(serde_json::from_str).transpose().map_err(Fail::unexpected)?;
        (Some(QuoteDocument::parse(&frozen.document)?), kept, Some(frozen.change))
    } else {
        let agreed = agreed(tx, &variation.quote)?;
        match compose::compose(tx, &agreed, variation.number, &variation.draft) {
            Ok(composed) => (Some(composed.document), Some(composed.explanation), Some(composed.change)),
            // A draft that can no longer be priced is shown without its document.
            Err(Fail::Refused(_)) => (None, None, None),
            Err(other) => return Err(other),
        }
    };
    let signoff = match variation.state {
        VariationState::Signed => signoff::find(tx, &Subject::variation(id.as_str()))?,
        _ => None,
    };
    let needs = needed(tx, change)?;
    Ok(Shown { variation, document, explanation, change, needs, signoff })
}

/// The agreement that a change needs in this shop.
fn needed(tx: &mut Tx<'_>, change: Option<Money>) -> Done<Agreement> {
    let tolerance = shop::usecase::settings(tx)?.terms.call_tolerance;
    Ok(change.map_or(Agreement::Signature, |change| baywright_domain::variation::agreement(change, tolerance)))
}
