//! Answers that the customer gives to the studio, where somebody records them.

use baywright_domain::id::{QuoteId, RevisionId};
use baywright_domain::signoff::Method;

use super::answer::{Yes, decline};
use super::send::{declinable, with_customer};
use super::{Shown, show};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// An acceptance by phone.
#[derive(Debug, Clone)]
pub struct NotedYes {
    /// Digest of the document that was read out.
    pub digest: String,
    /// Name of the person who accepted.
    pub name: String,
    /// Whether they agreed to the consent.
    pub agreed: bool,
    /// Indexes of the optional lines that they take.
    pub ticked: Vec<usize>,
    /// Agreement to an early start; `None` if the quote does not ask.
    pub early_start: Option<bool>,
}

impl NotedYes {
    /// The acceptance, recorded in the name of the signed-in person.
    pub fn yes(&self, tx: &Tx<'_>) -> Yes {
        Yes {
            digest: self.digest.clone(),
            typed_name: self.name.clone(),
            intent: self.agreed,
            ticked: self.ticked.clone(),
            strokes: None,
            method: Method::Phone,
            noted_by: tx.actor.person().cloned(),
            link: None,
            early_start: self.early_start,
        }
    }
}

/// The revision of a quote that is with the customer and can be signed, for an acceptance that is recorded.
///
/// # Errors
/// `Conflict` if there is none, `Gone` if it has expired, `ChangedMeanwhile` if the quote has another version.
pub fn signable(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen) -> Done<RevisionId> {
    let (quote, row) = with_customer(tx, id)?;
    seen.check(quote.version)?;
    Ok(row.id)
}

/// Records that the customer declined, as they told the studio.
pub fn note_no(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen, reason: &str) -> Done<Shown> {
    let (quote, row) = declinable(tx, id)?;
    seen.check(quote.version)?;
    decline(tx, &row.id, reason, None)?;
    show(tx, id)
}
