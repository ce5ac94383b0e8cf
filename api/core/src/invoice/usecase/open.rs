//! Unpaid amounts of invoices, and how they are reduced.

use baywright_domain::id::{CustomerId, QuoteId};
use baywright_domain::ledger::Item;
use baywright_domain::money::Money;
use serde_json::Value;

use super::Invoice;
use crate::invoice::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

/// The issued invoice that bills the work of a quote, if it has one: a deposit invoice and a credited one do not.
pub fn issued_of(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<Invoice>> {
    Ok(store::issued_of(tx, quote)?)
}

/// Whether the work of a quote is charged by an issued invoice.
pub fn is_issued(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<bool> {
    Ok(issued_of(tx, quote)?.is_some())
}

/// Refuses the request if the work of a quote was invoiced after a given time, so that nothing before the invoice is
/// undone.
///
/// # Errors
/// `Conflict` that names the invoice.
pub fn not_invoiced_since(tx: &mut Tx<'_>, quote: &QuoteId, at: UtcTime) -> Done<()> {
    let Some(invoice) = store::issued_of(tx, quote)? else { return Ok(()) };
    let issued = record::moment(tx, "invoice.issued", invoice.id.as_str())?;
    if issued.is_some_and(|issued| issued < at) {
        return Ok(());
    }
    let detail = format!(
        "Invoice {} was issued for this work since. Credit that invoice first.",
        invoice.number.as_deref().unwrap_or_default()
    );
    Err(Refused::conflict("undo-first", detail).into())
}

/// Entry in the log about a change of an invoice's amounts.
#[derive(Debug, Clone)]
pub struct Settled {
    /// Action, such as `invoice.paid`.
    pub action: &'static str,
    /// Details of the change.
    pub detail: Value,
}

/// Stores the amounts of an invoice after a move of money; the caller stores the payment or credit note.
pub fn settle(tx: &mut Tx<'_>, invoice: &Invoice, item: Item, settled: Settled) -> Done<()> {
    store::set(tx, invoice, item)?;
    record::write(tx, settled.action, ("invoice", invoice.id.as_str()), settled.detail)
}

/// The customer's invoices with an unpaid amount, earliest due date first.
pub fn open_of(tx: &mut Tx<'_>, customer: &CustomerId) -> Done<Vec<Invoice>> {
    Ok(store::open_of(tx, customer)?)
}

/// Sums of all issued invoices, of one customer or of all: billed, credited, unpaid and written-off amount.
pub fn sums(tx: &mut Tx<'_>, customer: Option<&CustomerId>) -> Done<[Money; 4]> {
    Ok(store::sums(tx, customer)?)
}

/// Invoices with an unpaid amount that are overdue, longest first; at most `limit`, after `after`.
pub fn overdue(tx: &mut Tx<'_>, after: Option<&Invoice>, limit: i64) -> Done<Vec<Invoice>> {
    let today = tx.today()?;
    Ok(store::overdue(tx, today, after, limit)?)
}

/// Document and digest of up to `most` issued invoices, after that id: what [`crate::seal`] verifies.
pub fn sealed_documents(tx: &mut Tx<'_>, after: &str, most: i64) -> Done<Vec<(String, String, String)>> {
    Ok(store::sealed(tx, after, most)?)
}
