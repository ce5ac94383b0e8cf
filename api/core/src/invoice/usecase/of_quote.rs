//! An invoice of a signed quote: the lines that were taken, at the signed prices, and the changes by variations that
//! were signed later.

use baywright_domain::id::{InvoiceId, QuoteId};
use baywright_domain::invoice::{State, agreed};
use serde_json::json;

use super::draft::{Source, SourceLine, draft, rewrite};
use super::{Invoice, show};
use crate::agreement::usecase::{self as agreement, Agreed};
use crate::job::usecase::Billing;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::usecase::SignedLine;
use crate::{customer, job};

/// Request for an invoice draft.
#[derive(Debug, Clone)]
pub struct Order {
    /// The signed quote.
    pub quote: QuoteId,
    /// Remarks of the customer and the studio.
    pub remarks: Remarks,
}

/// Remarks on an invoice beside the agreed content.
#[derive(Debug, Clone, Default)]
pub struct Remarks {
    /// The customer's purchase-order number.
    pub purchase_order: Option<String>,
    /// Remarks of the studio.
    pub note: String,
}

/// Drafts the invoice of a signed quote.
pub fn of_quote(tx: &mut Tx<'_>, order: &Order) -> Done<Invoice> {
    let all = agreement::agreed(tx, &order.quote)?;
    let source = source(tx, &all, &order.remarks)?;
    job::usecase::warn_of_billing(tx, &order.quote, Billing::Drafted)?;
    draft(tx, &source)
}

/// Writes a draft again: what is agreed now, with new remarks.
pub fn redraft(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, remarks: &Remarks) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    let Some(quote) = invoice.quote.clone().filter(|_| invoice.account.state == State::Draft) else {
        let detail = "An issued invoice never changes. Credit it and write a new one.";
        return Err(Refused::conflict("wrong-state", detail).into());
    };
    let all = agreement::agreed(tx, &quote)?;
    let source = source(tx, &all, remarks)?;
    job::usecase::warn_of_billing(tx, &quote, Billing::Drafted)?;
    rewrite(tx, &invoice, &source)?;
    record::write(tx, "invoice.redrafted", ("invoice", id.as_str()), json!({}))?;
    show(tx, id)
}

/// What is agreed now, for a draft that is about to be issued; `None` if it is for no quote.
pub(super) fn agreed_now(tx: &mut Tx<'_>, invoice: &Invoice) -> Done<Option<Source>> {
    let Some(quote) = &invoice.quote else { return Ok(None) };
    let document = invoice.document()?;
    let remarks = Remarks { purchase_order: document.purchase_order, note: document.note };
    let all = agreement::agreed(tx, quote)?;
    source(tx, &all, &remarks).map(Some)
}

fn source(tx: &mut Tx<'_>, all: &Agreed, remarks: &Remarks) -> Done<Source> {
    let quote = &all.quote;
    let customer = customer::usecase::standing(tx, &quote.customer)?;
    if customer.details.purchase_order_required && remarks.purchase_order.is_none() {
        let detail = "This customer pays only invoices with their purchase-order number. Add the number.";
        return Err(Refused::field("/purchase_order", "required", detail).into());
    }
    let mut lines = named(&quote.lines, &quote.number);
    let mut later = Vec::new();
    for change in &all.variations {
        lines.extend(named(&change.lines, &change.number));
        later.push(change.document.clone());
    }
    let (document, _) = agreed(&quote.document, &later)?;
    let vehicle = &quote.shown.vehicle;
    let car: Vec<&str> =
        [vehicle.name.as_str(), vehicle.registration.as_str()].into_iter().filter(|part| !part.is_empty()).collect();
    Ok(Source {
        customer: quote.customer.clone(),
        quote: Some((quote.id.clone(), quote.number.clone())),
        vehicle: Some(car.join(", ")).filter(|text| !text.is_empty()),
        lines,
        document,
        purchase_order: remarks.purchase_order.clone(),
        note: remarks.note.clone(),
    })
}

/// Details of the lines that were taken, with the number of the document in which they were agreed.
fn named(lines: &[SignedLine], origin: &str) -> Vec<SourceLine> {
    let each = lines.iter().map(|taken| SourceLine {
        name: taken.line.name.clone(),
        origin: origin.to_owned(),
        tax_reason: taken.tax.reason.clone(),
    });
    each.collect()
}
