//! Ways between the customer's pages. Each is a link of its own, since only the digest of a token is stored.

use baywright_domain::signoff::Method;
use baywright_domain::variation::VariationState;

use super::visit_of;
use crate::agreement::usecase as agreement;
use crate::answer;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::signoff::usecase::{Link, Subject, not_too_many, stay_address};
use crate::{quote, variation};

/// Address of the page for the stay, for a customer who has signed the document behind their link.
///
/// # Errors
/// `Conflict` if it is not signed; `NotAllowed` on the studio's own device.
pub fn page_of(tx: &mut Tx<'_>, link: &Link) -> Done<String> {
    if !link.is_at_a_distance() {
        let detail = "Open the link in our email on your own device to see the page for your stay.";
        return Err(Refused::not_allowed(detail).into());
    }
    let shown = answer::usecase::offer(tx, link)?;
    if shown.signoff.is_none() {
        let detail = "Accept the quote first. The page for your stay comes after that.";
        return Err(Refused::conflict("quote-not-signed", detail).into());
    }
    not_too_many(tx, &Subject::stay(shown.quote.id.as_str()))?;
    let address = stay_address(tx, &shown.quote.id, &link.contact)?;
    Ok(own_path(tx, &address))
}

/// Address of the page where the customer answers the change that waits for them.
///
/// # Errors
/// `Conflict` if no change waits.
pub fn to_change(tx: &mut Tx<'_>, link: &Link) -> Done<String> {
    let visit = visit_of(tx, link)?;
    let all = agreement::of_quote(tx, &visit.head.quote)?;
    let Some(sent) = all.into_iter().rfind(|one| one.state == VariationState::Sent) else {
        return Err(nothing_waits().into());
    };
    not_too_many(tx, &Subject::variation(sent.id.as_str()))?;
    let (_, address) = variation::usecase::make_link(tx, &sent.id, Method::Link, &link.contact)?;
    Ok(own_path(tx, &address))
}

/// Address of the page where the customer answers the version of the quote that waits for them.
///
/// # Errors
/// `Conflict` if none waits.
pub fn to_quote(tx: &mut Tx<'_>, link: &Link) -> Done<String> {
    let visit = visit_of(tx, link)?;
    let (made, address) = quote::usecase::make_link(tx, &visit.head.quote, Method::Link, &link.contact)?;
    // If there are too many, the new one is rolled back with the transaction.
    not_too_many(tx, &made.subject)?;
    Ok(own_path(tx, &address))
}

fn nothing_waits() -> Refused {
    Refused::conflict("nothing-to-answer", "Nothing waits for your answer now. Read the page again.")
}

/// The path of an address of ours, for a redirect to the host that the customer is on.
fn own_path(tx: &Tx<'_>, address: &str) -> String {
    address.strip_prefix(tx.config.public_url.as_str()).unwrap_or(address).to_owned()
}
