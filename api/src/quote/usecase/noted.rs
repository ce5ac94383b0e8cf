//! Answers that the customer gives to the studio and somebody there notes.

use baywright_domain::id::QuoteId;
use baywright_domain::signoff::Method;

use super::answer::{Yes, decline, sign};
use super::send::{declinable, with_customer};
use super::{Shown, show};
use crate::platform::etag::IfMatch;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;

/// A yes by phone.
#[derive(Debug, Clone)]
pub struct NotedYes {
    /// Digest of the document that was read out.
    pub digest: String,
    /// The name of whoever said yes.
    pub name: String,
    /// Whether they agreed to the consent.
    pub agreed: bool,
    /// Optional lines that they take, by place.
    pub ticked: Vec<usize>,
    /// The wish to begin early, where the quote asks.
    pub early_start: Option<bool>,
}

/// Notes a yes that was given by phone, in the name of whoever is signed in.
pub fn note_yes(tx: &mut Tx<'_>, id: &QuoteId, seen: IfMatch, noted: &NotedYes) -> Done<Shown> {
    let (quote, row) = with_customer(tx, id)?;
    seen.check(quote.version)?;
    let yes = Yes {
        digest: noted.digest.clone(),
        typed_name: noted.name.clone(),
        intent: noted.agreed,
        ticked: noted.ticked.clone(),
        strokes: None,
        method: Method::Phone,
        noted_by: tx.actor.person().cloned(),
        link: None,
        early_start: noted.early_start,
    };
    let named = |pointer: &str| if pointer == "/intent" { "/agreed".to_owned() } else { pointer.to_owned() };
    sign(tx, &row.id, &yes).map_err(|fail| fail.repointed(named))?;
    show(tx, id)
}

/// Notes a no that was given to the studio.
pub fn note_no(tx: &mut Tx<'_>, id: &QuoteId, seen: IfMatch, reason: &str) -> Done<Shown> {
    let (quote, row) = declinable(tx, id)?;
    seen.check(quote.version)?;
    decline(tx, &row.id, reason, None)?;
    show(tx, id)
}
