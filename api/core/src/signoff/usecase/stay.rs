//! Links to the page of a whole stay. They open no document and sign nothing; each mail to the customer has its own.

use baywright_domain::id::QuoteId;
use baywright_domain::signoff::Method;

use super::{Link, NewLink, Purpose, Subject, issue};
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::signoff::store;

/// Days for which a link to a stay is valid: from the order to well after the last reminder of its invoice. Later mails bring
/// links of their own.
pub const STAY_DAYS: i64 = 180;

/// Minutes of a day.
const DAY_MINUTES: i64 = 24 * 60;

/// Maximum number of links to one subject that pages make within a day, since whoever has a link can ask for another one.
const MOST_A_DAY: i64 = 30;

/// Makes a link to the stay of a quote's car, for that address or telephone number; gives the address of its page.
pub fn stay_address(tx: &mut Tx<'_>, quote: &QuoteId, contact: &str) -> Done<String> {
    let new = NewLink {
        subject: Subject::stay(quote.as_str()),
        method: Method::Link,
        contact: contact.to_owned(),
        person: None,
        ends_at: tx.now.plus_minutes(STAY_DAYS * DAY_MINUTES),
    };
    let (_, token) = issue(tx, &new)?;
    Ok(format!("{}/c/{}", tx.config.public_url, token.as_str()))
}

/// The quote to whose stay a link leads.
///
/// # Errors
/// `NotFound` if the link is to a document that is signed.
pub fn quote_of_stay(link: &Link) -> Result<QuoteId, Refused> {
    match link.subject.purpose {
        Purpose::Stay => Ok(QuoteId::new(link.subject.id.as_str())),
        Purpose::Quote | Purpose::Variation => Err(Refused::not_found("link")),
    }
}

/// Refuses to make one more link to a subject on a customer's request.
///
/// # Errors
/// `Conflict` if many were made within a day.
pub fn not_too_many(tx: &mut Tx<'_>, subject: &Subject) -> Done<()> {
    let since = tx.now.plus_minutes(-DAY_MINUTES);
    if store::links_since(tx, subject, since)? >= MOST_A_DAY {
        let detail = "This page was opened very often today. Use the link in our latest email, or contact us.";
        return Err(Refused::conflict("too-many-links", detail).into());
    }
    Ok(())
}
