//! Use cases of deposits.

mod ask;
mod call_off;
mod reduce;

use baywright_domain::id::{BookingId, CustomerId, InvoiceId, QuoteId};
use baywright_domain::invoice::{InvoiceKind, State};
use baywright_domain::money::Money;

use super::store;
use crate::invoice::usecase::{self as invoice, Invoice};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

pub use ask::{AskOrder, ask, asked_at};
pub use call_off::{CallOffOrder, CalledOff, call_off};
pub use reduce::reduce;

/// A deposit that was noted on a booking although no deposit invoice was issued for it: money without a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noted {
    /// Id of the booking.
    pub booking: BookingId,
    /// Id of its quote.
    pub quote: QuoteId,
    /// Id of the customer.
    pub customer: CustomerId,
    /// Agreed deposit.
    pub amount: Money,
    /// Time when it was noted.
    pub noted_at: UtcTime,
}

/// Deposits that were noted without an invoice, the last one first; at most 200. Nothing is invented for them: the
/// owner looks at each once, and records the payment if it belongs to an invoice.
pub fn noted(tx: &mut Tx<'_>) -> Done<Vec<Noted>> {
    Ok(store::noted(tx)?)
}

/// The issued deposit invoice with that id.
fn deposit(tx: &mut Tx<'_>, id: &InvoiceId) -> Done<Invoice> {
    let found = invoice::show(tx, id)?;
    if found.kind != InvoiceKind::Deposit {
        return Err(Refused::not_found("deposit invoice").into());
    }
    if matches!(found.account.state, State::Draft | State::Credited) {
        let detail = format!("This deposit invoice is {}, so there is nothing to settle.", found.account.state.label());
        return Err(Refused::conflict("wrong-state", detail).into());
    }
    Ok(found)
}
