//! Erasing a customer: unsigned changes lose the customer's data.

use baywright_domain::id::VariationId;
use baywright_domain::variation::VariationState;

use super::{Variation, find, store};
use crate::agreement::kept::VariationDraft;
use crate::customer::usecase::ERASED;
use crate::platform::canonical::{canonical, digest};
use crate::platform::fail::{Done, Fail};
use crate::platform::personal::{Held, Holder, Leaving, Left};
use crate::platform::tx::Tx;
use crate::quote::kept::QuoteDocument;

/// Data that this feature holds about a customer, listed as variations. A signed one stays as it was sealed.
pub const HOLDER: Holder =
    Holder { feature: "variation", held: &[Held::of_row("variation", "quote_id", "quote")], forget };

fn forget(tx: &mut Tx<'_>, leaving: &Leaving) -> Done<Left> {
    for id in leaving.ids("variation") {
        let variation = find(tx, &VariationId::new(id))?;
        if variation.state != VariationState::Signed {
            blank(tx, &variation)?;
        }
    }
    Ok(Left::default())
}

fn blank(tx: &mut Tx<'_>, variation: &Variation) -> Done<()> {
    let draft = serde_json::to_string(&VariationDraft::nothing()).map_err(Fail::unexpected)?;
    let Some(kept) = &variation.frozen else {
        return Ok(store::replace_draft(tx, variation, &draft)?);
    };
    let document = QuoteDocument::parse(&kept.document)?.without_customer(ERASED);
    let text = serde_json::to_value(&document).map_err(Fail::unexpected)?;
    let text = canonical(&text).map_err(Fail::unexpected)?;
    Ok(store::blank(tx, &variation.id, &draft, &text, &digest(&text))?)
}
