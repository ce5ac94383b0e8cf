//! Agreements of customers, after signing, to work within the 14 days in which they can withdraw.

use baywright_domain::id::{LinkId, PersonId, SignoffId};
use baywright_domain::signoff::Method;

use super::{Link, Signoff};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::signoff::store::{self, NewEarlyStart};

/// Time when the customer agreed to an early start after that sign-off; `None` if they did not.
pub fn early_start_agreed(tx: &mut Tx<'_>, signoff: &SignoffId) -> Done<Option<UtcTime>> {
    Ok(store::early_start_at(tx, signoff)?)
}

/// Stores the agreement with the text that was agreed to: by the customer through a link, or in the name of the
/// signed-in person.
///
/// # Errors
/// `Conflict` if it was agreed already.
pub fn agree_to_early_start(
    tx: &mut Tx<'_>,
    signoff: &Signoff,
    method: Method,
    link: Option<&Link>,
    words: &str,
) -> Done<()> {
    let noted_by = tx.actor.person().cloned();
    let shop = tx.studio.id.clone();
    let row = NewEarlyStart {
        signoff_id: signoff.id.as_str(),
        shop_id: shop.as_str(),
        method: method.as_str(),
        noted_by: noted_by.as_ref().map(PersonId::as_str),
        link_id: link.map(|link| LinkId::as_str(&link.id)),
        words,
        agreed_at: tx.now.ms(),
    };
    store::insert_early_start(tx, &row).map_err(|error| {
        if error.is_taken() {
            let detail = "The customer has already agreed to an earlier start.";
            Fail::from(Refused::conflict("start-not-held-back", detail))
        } else {
            error.into()
        }
    })
}
