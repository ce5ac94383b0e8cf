//! The last step: sending the quote, or handing the tablet over to sign it.

use std::collections::BTreeSet;

use baywright_domain::id::{EnquiryId, QuoteId};

use super::show;
use crate::inspection::usecase as inspection;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::kept::QuoteDraft;
use crate::quote::usecase::{self as quote, ByMail};

/// How a quote is sent.
#[derive(Debug, Clone, Default)]
pub struct Sending {
    /// Indexes of the lines that the customer may leave out.
    pub optional: BTreeSet<usize>,
    /// Note of the studio on the quote.
    pub notes: String,
    /// The mail; `None` if the customer signs on the studio's device.
    pub by_mail: Option<ByMail>,
}

/// Sends the quote: the walk-round is completed, and the draft is written with it and frozen. `seen` is the version of the
/// quote.
///
/// # Errors
/// `ChangedMeanwhile` if somebody else changed the quote; `Conflict` if no work is chosen, the quote was sent, or the paint
/// asks for the owner's decision; `Invalid` without an address to mail to.
pub fn send(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, sending: &Sending) -> Done<QuoteId> {
    let new = show(tx, id)?;
    let shown = new.quote()?;
    seen.check(shown.quote.version)?;
    shown.revision.state.edit()?;
    let inspection = match &new.walk_round {
        Some(walked) if walked.is_final() => Some(walked.id.to_string()),
        Some(walked) => Some(inspection::complete(tx, &walked.id, Seen(walked.version))?.id.to_string()),
        None => None,
    };
    let mut draft = shown.revision.draft.clone();
    for (at, line) in draft.lines.iter_mut().enumerate() {
        line.required = !sending.optional.contains(&at);
    }
    let condition = if inspection.is_some() { None } else { draft.condition };
    let draft = QuoteDraft { inspection_id: inspection, condition, notes: sending.notes.clone(), ..draft };
    let written = quote::replace_draft(tx, &shown.quote.id, seen, &draft)?;
    // The page that sends shows what to check in the draft; what only sending finds is new.
    let known: BTreeSet<String> = tx.warnings.drain(..).map(|warning| warning.detail).collect();
    quote::send(tx, &shown.quote.id, Seen(written.quote.version), sending.by_mail.as_ref())?;
    tx.warnings.retain(|warning| !known.contains(&warning.detail));
    Ok(shown.quote.id.clone())
}
