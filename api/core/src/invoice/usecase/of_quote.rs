//! An invoice of a signed quote: the lines that were taken, at the signed prices, and the changes by variations that
//! were signed later, less the deposits that were invoiced before.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::document::Document;
use baywright_domain::id::{InvoiceId, QuoteId};
use baywright_domain::invoice::{Claimed, InvoiceKind, State, agreed, retaxed};
use baywright_domain::tax::{RateTable, TaxPoint, Treatment};
use chrono::NaiveDate;
use serde_json::json;

use super::deduct::deduct_deposits;
use super::draft::{Source, SourceLine, draft, rewrite};
use super::{Invoice, show};
use crate::agreement::usecase::{self as agreement, Agreed};
use crate::invoice::store;
use crate::job::usecase::Billing;
use crate::platform::fail::Done;
use crate::platform::kept::Amount;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::usecase::SignedLine;
use crate::shop::usecase::TaxCategory;
use crate::{booking, customer, job, shop};

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
    warn(tx, &source)?;
    job::usecase::warn_of_billing(tx, &order.quote, Billing::Drafted)?;
    draft(tx, &source)
}

/// Refuses anything but a draft.
fn still_draft(invoice: &Invoice) -> Done<()> {
    if invoice.account.state == State::Draft {
        return Ok(());
    }
    let detail = "An issued invoice never changes. Credit it and write a new one.";
    Err(Refused::conflict("wrong-state", detail).into())
}

/// Writes a draft again with new remarks. Its lines are those that are agreed now, unless `keep_lines` says that they
/// stay as they are, as those of a corrected invoice, or it is for no quote.
pub fn redraft(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, remarks: &Remarks, keep_lines: bool) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    still_draft(&invoice)?;
    let source = match invoice.quote.clone().filter(|_| !keep_lines && invoice.kind == InvoiceKind::Final) {
        Some(quote) => {
            let all = agreement::agreed(tx, &quote)?;
            job::usecase::warn_of_billing(tx, &quote, Billing::Drafted)?;
            source(tx, &all, remarks)?
        }
        None => kept_source(tx, &invoice, remarks)?,
    };
    warn(tx, &source)?;
    rewrite(tx, &invoice, &source)?;
    record::write(tx, "invoice.redrafted", ("invoice", id.as_str()), json!({}))?;
    show(tx, id)
}

/// Deletes a draft and releases what it claimed.
pub fn discard(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen) -> Done<()> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    still_draft(&invoice)?;
    store::discard(tx, id)?;
    let quote = invoice.quote.as_ref().map(ToString::to_string);
    record::write(tx, "invoice.discarded", ("invoice", id.as_str()), json!({ "quote": quote }))
}

/// The lines of a draft as they are, with new remarks.
fn kept_source(tx: &mut Tx<'_>, invoice: &Invoice, remarks: &Remarks) -> Done<Source> {
    let document = invoice.document()?;
    Ok(Source {
        kind: invoice.kind,
        customer: invoice.customer.clone(),
        quote: invoice.quote.clone().zip(document.quote_number.clone()),
        follows_quote: false,
        claims: store::claims_of(tx, &invoice.id)?,
        preceding: document.preceding.clone(),
        tax_point: document.tax_point.map(|day| day.0),
        vehicle: document.vehicle.clone(),
        lines: document.lines.iter().map(SourceLine::of).collect(),
        document: document.rules(tx.studio.currency)?,
        purchase_order: remarks.purchase_order.clone(),
        note: remarks.note.clone(),
    })
}

/// What is agreed now, for a draft that is about to be issued; `None` if its lines don't follow a quote.
pub(super) fn agreed_now(tx: &mut Tx<'_>, invoice: &Invoice) -> Done<Option<Source>> {
    let follows = invoice.follows_quote && invoice.kind == InvoiceKind::Final;
    let Some(quote) = invoice.quote.as_ref().filter(|_| follows) else { return Ok(None) };
    let document = invoice.document()?;
    let remarks = Remarks { purchase_order: document.purchase_order, note: document.note };
    let all = agreement::agreed(tx, quote)?;
    source(tx, &all, &remarks).map(Some)
}

/// Day on which the car of a quote was handed over; `None` before that.
pub(super) fn handed_over(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<NaiveDate>> {
    let bookings = booking::usecase::of_quotes(tx, std::slice::from_ref(quote))?;
    let at = bookings.iter().filter_map(|booking| booking.handed_over_at).max();
    let zone = Zone::named(&tx.studio.zone)?;
    Ok(at.map(|at| zone.to_local(at.minute()).date()))
}

/// What is agreed now, less the deposits that were invoiced.
fn source(tx: &mut Tx<'_>, all: &Agreed, remarks: &Remarks) -> Done<Source> {
    let whole = whole(tx, all, remarks)?;
    deduct_deposits(tx, &all.quote.id, whole)
}

/// All work that is agreed on a quote, at the rates of its tax point and without deposits.
pub fn agreed_work(tx: &mut Tx<'_>, quote: &QuoteId, remarks: &Remarks) -> Done<Source> {
    let all = agreement::agreed(tx, quote)?;
    whole(tx, &all, remarks)
}

fn whole(tx: &mut Tx<'_>, all: &Agreed, remarks: &Remarks) -> Done<Source> {
    let quote = &all.quote;
    let customer = customer::usecase::standing(tx, &quote.customer)?;
    if customer.details.purchase_order_required && remarks.purchase_order.is_none() {
        let detail = "This customer pays only invoices with their purchase-order number. Add the number.";
        return Err(Refused::field("/purchase_order", "required", detail).into());
    }
    let mut lines = named(&quote.lines, &quote.number);
    let mut claims = vec![Claimed::Revision(quote.revision_id.clone())];
    let mut later = Vec::new();
    for change in &all.variations {
        lines.extend(named(&change.lines, &change.number));
        claims.push(Claimed::Variation(change.id.clone()));
        later.push(change.document.clone());
    }
    let (document, _) = agreed(&quote.document, &later)?;
    let today = tx.today()?;
    let tax_point = TaxPoint::of_supply(handed_over(tx, &quote.id)?, today);
    let document = at_tax_point(tx, &document, &mut lines, tax_point.day())?;
    let vehicle = &quote.shown.vehicle;
    let car: Vec<&str> =
        [vehicle.name.as_str(), vehicle.registration.as_str()].into_iter().filter(|part| !part.is_empty()).collect();
    Ok(Source {
        kind: InvoiceKind::Final,
        customer: quote.customer.clone(),
        quote: Some((quote.id.clone(), quote.number.clone())),
        follows_quote: true,
        claims,
        preceding: Vec::new(),
        tax_point: None,
        vehicle: Some(car.join(", ")).filter(|text| !text.is_empty()),
        lines,
        document,
        purchase_order: remarks.purchase_order.clone(),
        note: remarks.note.clone(),
    })
}

/// Looks up the rate of each line on the tax point by the code of its tax. A line whose tax no longer exists keeps its
/// rate.
fn at_tax_point(tx: &mut Tx<'_>, document: &Document, lines: &mut [SourceLine], day: NaiveDate) -> Done<Document> {
    let taxes = shop::usecase::taxes(tx)?;
    let of = |line: &SourceLine| taxes.iter().find(|tax| Some(tax.code.as_str()) == line.tax_code.as_deref());
    let known: Vec<Option<&TaxCategory>> = lines.iter().map(of).collect();
    let tables = known.iter().zip(&document.lines).map(|(tax, line)| match tax {
        Some(tax) => Ok(tax.table.clone()),
        None => unchanging(line.treatment),
    });
    let tables = tables.collect::<Done<Vec<RateTable>>>()?;
    let done = retaxed(document, &tables.iter().collect::<Vec<_>>(), day)?;
    for moved in &done.moved {
        if let (Some(line), Some(tax)) = (lines.get_mut(moved.line), known.get(moved.line).copied().flatten()) {
            line.agreed_rate = Some(moved.from.rate());
            line.tax_reason = tax.reason.clone().filter(|_| moved.to.category().needs_reason());
        }
    }
    Ok(done.document)
}

/// A table that has the same rate on every day.
fn unchanging(treatment: Treatment) -> Done<RateTable> {
    Ok(RateTable::new(treatment.category(), [(NaiveDate::MIN, treatment.rate())])?)
}

/// Warns if a tax rate differs from the agreed one, and of deposits that are not paid yet.
fn warn(tx: &mut Tx<'_>, source: &Source) -> Done<()> {
    for claimed in &source.claims {
        let Claimed::Deposit(id) = claimed else { continue };
        let deposit = show(tx, id)?;
        if !deposit.account.open.is_zero() {
            let detail = format!(
                "{} of deposit invoice {} is still unpaid. It is deducted here and stays to be paid; credit that invoice \
                 if the customer should pay everything with this one.",
                Amount::of(deposit.account.open, tx.studio.currency),
                deposit.number.as_deref().unwrap_or_default()
            );
            tx.warn("deducted-deposit-unpaid", "", detail);
        }
    }
    let moved = source.lines.iter().zip(&source.document.lines).find_map(|(named, line)| {
        let agreed = named.agreed_rate?;
        Some((named.name.clone(), agreed.decimal().normalize(), line.treatment.rate().decimal().normalize()))
    });
    if let Some((name, before, now)) = moved {
        let detail = format!(
            "The tax rate of {name} was {before} % when it was agreed and is {now} % on the day that decides the tax. \
             Prices with tax stay the same; to prices without tax the new tax is added."
        );
        tx.warn("tax-rate-moved", "", detail);
    }
    Ok(())
}

/// Details of the lines that were taken, with the number of the document in which they were agreed.
fn named(lines: &[SignedLine], origin: &str) -> Vec<SourceLine> {
    let each = lines.iter().map(|taken| SourceLine {
        name: taken.line.name.clone(),
        origin: origin.to_owned(),
        tax_reason: taken.tax.reason.clone(),
        tax_code: Some(taken.tax.code.clone()),
        ..SourceLine::default()
    });
    each.collect()
}
