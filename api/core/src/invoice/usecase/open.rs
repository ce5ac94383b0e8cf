//! Unpaid amounts of invoices, and how they are reduced.

use baywright_domain::id::{CustomerId, InvoiceId, QuoteId};
use baywright_domain::invoice::Account;
use serde_json::json;

use super::{Invoice, show};
use crate::invoice::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// The issued invoice of a quote, if it has one.
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

/// Writes off the unpaid amount, with the owner's reason.
pub fn write_off(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, reason: &str) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    let (account, given_up) = invoice.account.write_off()?;
    store::set(tx, &invoice, account, given_up)?;
    let detail = json!({ "amount": given_up.minor().to_string(), "reason": reason });
    record::write(tx, "invoice.written-off", ("invoice", id.as_str()), detail)?;
    show(tx, id)
}

/// Stores the effect of a payment on the invoice; the caller stores the payment.
pub fn settle(tx: &mut Tx<'_>, id: &InvoiceId, account: Account) -> Done<()> {
    let invoice = show(tx, id)?;
    store::set(tx, &invoice, account, invoice.written_off)?;
    let state = account.state.as_str();
    record::write(tx, "invoice.paid", ("invoice", id.as_str()), json!({ "state": state }))
}

/// The customer's invoices with an unpaid amount, earliest due date first.
pub fn open_of(tx: &mut Tx<'_>, customer: &CustomerId) -> Done<Vec<Invoice>> {
    Ok(store::open_of(tx, customer)?)
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
