//! Use cases of links and sign-offs; quotes and variations call these.

mod early_start;
mod link;
mod seal;
mod stay;

use baywright_domain::customer::{Kept, kept_until};
use baywright_domain::id::{LinkId, PersonId, SignoffId};
use baywright_domain::signoff::Method;

use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::personal::{Held, Holder, Left};

pub use early_start::{agree_to_early_start, early_start_agreed};
pub use link::{
    IN_PERSON_MINUTES, KEPT_DAYS, NewLink, answered, issue, links, opened, read_link, revoke, shop_of_token, trail,
};
pub use seal::{find, seal, signoffs};
pub use stay::{STAY_DAYS, not_too_many, quote_of_stay, stay_address};

/// Purpose of a link or a sign-off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Purpose {
    /// A revision of a quote.
    Quote,
    /// A variation.
    Variation,
    /// The whole stay of a car, by the id of its quote. Nothing is signed through it.
    Stay,
}

impl Purpose {
    /// All of them.
    pub const ALL: &'static [Self] = &[Self::Quote, Self::Variation, Self::Stay];

    /// The word for programs.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Quote => "QUOTE",
            Self::Variation => "VARIATION",
            Self::Stay => "STAY",
        }
    }

    /// Reads the word.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|purpose| purpose.as_str() == text)
    }
}

crate::words! { Purpose => "LinkPurpose" }

/// Record that a link opens: a revision or a variation to be signed, or a stay, by its id.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Subject {
    /// Kind of the document.
    pub purpose: Purpose,
    /// Its id.
    pub id: String,
}

impl Subject {
    /// A revision of a quote.
    pub fn quote(revision: impl Into<String>) -> Self {
        Self { purpose: Purpose::Quote, id: revision.into() }
    }

    /// A variation.
    pub fn variation(id: impl Into<String>) -> Self {
        Self { purpose: Purpose::Variation, id: id.into() }
    }

    /// The stay of a quote's car.
    pub fn stay(quote: impl Into<String>) -> Self {
        Self { purpose: Purpose::Stay, id: quote.into() }
    }
}

/// A link as it is stored; its token is not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// Its id.
    pub id: LinkId,
    /// Document that it opens.
    pub subject: Subject,
    /// Method: by link, or in person on the studio's own device.
    pub method: Method,
    /// Address that it was sent to; empty if it was handed over.
    pub contact: String,
    /// Person who handed the device over, in person.
    pub person: Option<PersonId>,
    /// Time when it was made and sent.
    pub sent_at: UtcTime,
    /// Time when somebody first opened it, as far as the page's script reported it (a mail scanner's GET does not
    /// count).
    pub first_opened_at: Option<UtcTime>,
    /// Time when it ends.
    pub ends_at: UtcTime,
    /// Time when its one use happened, in person.
    pub used_at: Option<UtcTime>,
    /// Time when it was revoked.
    pub revoked_at: Option<UtcTime>,
}

impl Link {
    /// Whether the customer opens it elsewhere, so that nobody at the studio sees them answer.
    pub fn is_at_a_distance(&self) -> bool {
        self.method == Method::Link
    }
}

/// A sign-off as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signoff {
    /// Its id.
    pub id: SignoffId,
    /// Document that was signed.
    pub subject: Subject,
    /// The sealed document as canonical JSON.
    pub document: String,
    /// Its digest.
    pub document_digest: String,
    /// The sealed evidence as canonical JSON.
    pub evidence: String,
    /// Its digest.
    pub evidence_digest: String,
    /// Indexes of the lines that were taken.
    pub choices: Vec<usize>,
    /// Way in which it was given.
    pub method: Method,
    /// Name as it was typed.
    pub typed_name: String,
    /// Person who noted it.
    pub noted_by: Option<PersonId>,
    /// Link through which it was given.
    pub link: Option<LinkId>,
    /// Agreement to an early start; `None` if they were not asked.
    pub early_start: Option<bool>,
    /// Time of the sign-off.
    pub signed_at: UtcTime,
}

/// Data that this feature holds about a customer. Signed documents are kept as they were sealed; links end and lose
/// their address.
pub const HOLDER: Holder = Holder {
    feature: "signoff",
    held: &[
        Held::of_row("link", "subject_id", "quote_revision"),
        Held::of_row("link", "subject_id", "variation"),
        Held::of_row("link", "subject_id", "quote"),
        Held::of_row("signoff", "subject_id", "quote_revision"),
        Held::of_row("signoff", "subject_id", "variation"),
        Held::of_row("early_start", "signoff_id", "signoff"),
    ],
    forget: |tx, leaving| {
        store::blank_links(tx, &leaving.ids("link"))?;
        let rows = leaving.rows.get("signoff").into_iter().flatten();
        let signed = rows.filter_map(|row| row.get("signed_at")?.as_i64()).map(UtcTime::from_ms);
        let until = signed.map(|at| kept_until(at.datetime().date_naive(), leaving.keep_years));
        Ok(Left { kept: until.map(|until| (Kept::SignedQuote, until)).collect(), ..Left::default() })
    },
};
