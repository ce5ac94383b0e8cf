//! Use cases of the customer's page.

mod ask;
mod choose;
mod letter;
mod links;
mod show;

use baywright_domain::id::QuoteId;

use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::signoff::usecase::{Link, quote_of_stay};
use crate::visit::usecase::{self as visit, Visit};

pub use ask::{MOST_LETTERS, ask};
pub use choose::choose;
pub use links::{page_of, to_change, to_quote};
pub use show::{Change, Stay, StepSeen, calendar_file, invoice, photo, show, signed_copy};

/// A question that a customer asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Its id.
    pub id: String,
    /// What they wrote; empty once the customer is erased.
    pub text: String,
    /// Time when they sent it.
    pub asked_at: UtcTime,
}

/// Questions of the customer about the stay of a quote's car, the first one first.
pub fn questions(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Vec<Question>> {
    Ok(store::questions(tx, quote)?)
}

/// The visit to which a link leads.
///
/// # Errors
/// `NotFound` if the link leads to a document that is signed.
fn visit_of(tx: &mut Tx<'_>, link: &Link) -> Done<Visit> {
    let quote = quote_of_stay(link)?;
    let found = visit::of_quotes(tx, std::slice::from_ref(&quote))?.pop();
    Ok(found.ok_or_else(|| Refused::not_found("link"))?)
}

/// Data that this feature holds about a customer: what they asked, which is deleted.
pub const HOLDER: Holder = Holder {
    feature: "stay",
    held: &[Held::of_row("stay_question", "quote_id", "quote")],
    forget: |tx, leaving| {
        store::blank(tx, &leaving.ids("stay_question"))?;
        Ok(Left::default())
    },
};
