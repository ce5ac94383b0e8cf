//! A deposit that exceeds the work, because some of it was taken off.

use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::CreditLine;
use baywright_domain::money::{Money, split};

use super::deposit;
use crate::credit_note::usecase::{NewCredit, create};
use crate::invoice::usecase::{self as invoice, CreditNote, Remarks};
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// Credits the part of a quote's deposits that exceeds the work which is agreed now, on this deposit invoice: what was
/// paid of it becomes the customer's credit.
///
/// # Errors
/// `Conflict` if the deposits are not more than the work.
pub fn reduce(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, reason: &str) -> Done<CreditNote> {
    let found = deposit(tx, id)?;
    seen.check(found.version)?;
    let Some(quote) = &found.quote else { return Err(Refused::not_found("quote of this deposit").into()) };
    let purchase_order = found.document()?.purchase_order;
    let work = invoice::agreed_work(tx, quote, &Remarks { purchase_order, note: String::new() })?;
    let whole = work.document.totals()?.promised();
    let mut asked = Money::ZERO;
    for one in invoice::deposits_of(tx, quote)? {
        asked += one.payable - one.credited;
    }
    let left = invoice::left(tx, &found)?;
    let excess = (asked - whole).min(left.whole);
    if excess <= Money::ZERO {
        let detail = "The deposits are not more than the agreed work, so there is nothing to credit.";
        return Err(Refused::conflict("deposit-fits", detail).into());
    }
    let lines = split(excess, &left.lines).into_iter().enumerate().filter(|(_, amount)| !amount.is_zero());
    let lines = lines.map(|(line, amount)| CreditLine { line, amount: Some(amount) }).collect();
    create(tx, id, seen, &NewCredit { lines, reason: reason.to_owned() })
}
