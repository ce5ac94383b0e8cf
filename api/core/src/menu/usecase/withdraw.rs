//! Withdraws a published revision: the one before it is in force again.
//!
//! The revision stays as it was published, because revisions are never changed; a table beside it marks it as
//! withdrawn.

use baywright_domain::id::MenuRevisionId;
use baywright_domain::undo;
use serde_json::json;

use super::{Revision, show_revision};
use crate::menu::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop;

/// Number of quotes a refusal names.
const NAMED: usize = 5;

/// Withdraws a published revision that is in force or will be. It can still be read, and is never in force again: the
/// revision before it is in force again. Signed quotes keep their own copy of the menu.
///
/// Quotes are above the menu, so the caller says which wait for an answer: `waiting_since` returns the numbers of those
/// that were sent at a given time or later, up to a limit.
///
/// # Errors
/// `NotFound` if the shop has no such revision; `Conflict` if it was withdrawn or replaced, or while quotes with its
/// prices wait for an answer; `Invalid` if it was published too long ago and no reason is given.
pub fn withdraw(
    tx: &mut Tx<'_>,
    id: &MenuRevisionId,
    reason: Option<&str>,
    waiting_since: impl FnOnce(&mut Tx<'_>, UtcTime, usize) -> Done<Vec<String>>,
) -> Done<Revision> {
    let (revision, _) = show_revision(tx, id)?;
    let number = revision.number;
    if revision.withdrawn_at.is_some() {
        let detail = format!("Revision {number} is already withdrawn.");
        return Err(Refused::conflict("nothing-to-undo", detail).into());
    }
    let in_force = store::id_in_force(tx)?;
    if revision.from <= tx.now && in_force.as_ref() != Some(id) {
        let detail = format!(
            "A later revision replaced revision {number}, so it isn't in force and there is nothing to withdraw. To \
             return to an earlier menu, load it with POST /v1/menu/draft/restore and publish it."
        );
        return Err(Refused::conflict("undo-first", detail).into());
    }
    let free = shop::usecase::settings(tx)?.terms.undo;
    let reason = undo::reason(revision.published_at.datetime(), tx.now.datetime(), free, reason)?;
    if revision.from <= tx.now {
        let since = revision.from.max(revision.published_at);
        no_quotes_wait(number, &waiting_since(tx, since, NAMED + 1)?)?;
    }
    store::withdraw(tx, id, reason.as_deref())?;
    let now = tx.now;
    if let Some((before, _)) = store::in_force_at(tx, now)?.filter(|(before, _)| before.prices != revision.prices) {
        let detail = format!(
            "To go back, use POST /v1/menu/price-basis, which converts every price: the earlier revision {} has prices \
             {}, but the shop's prices are now {}.",
            before.number,
            before.prices.label(),
            revision.prices.label()
        );
        return Err(Refused::conflict("undo-first", detail).into());
    }
    let detail = json!({ "number": number.to_string(), "with_reason": reason.is_some() });
    record::write(tx, "menu.withdrawn", ("menu_revision", id.as_str()), detail)?;
    Ok(show_revision(tx, id)?.0)
}

/// Refuses the request while customers have an unanswered quote with prices of this revision.
fn no_quotes_wait(revision: i64, numbers: &[String]) -> Result<(), Refused> {
    if numbers.is_empty() {
        return Ok(());
    }
    let more = if numbers.len() > NAMED { " and more" } else { "" };
    let named: Vec<&str> = numbers.iter().take(NAMED).map(String::as_str).collect();
    let detail = format!(
        "Customers have quotes with the prices of revision {revision}: {}{more}. Withdraw those quotes first, or publish \
         a corrected menu instead.",
        named.join(", ")
    );
    Err(Refused::conflict("undo-first", detail))
}
