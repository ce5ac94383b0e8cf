//! Making credit notes.

use baywright_domain::document::Totals;
use baywright_domain::id::{CreditNoteId, InvoiceId};
use baywright_domain::invoice::{
    Claimed, Credit, CreditLine, InvoiceKind, Left, State, correct as corrected, credit_note as credited,
};
use baywright_domain::money::Money;
use baywright_domain::search::Words;
use baywright_domain::series::SeriesKind;
use serde_json::json;

use super::Creditable;
use crate::invoice::kept::{InvoiceDocument, PrecedingDocument};
use crate::invoice::usecase::{self as invoice, CreditNote, Invoice, Sealed, Source, SourceLine};
use crate::payment::usecase::release;
use crate::platform::fail::Done;
use crate::platform::kept::Day;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::register::usecase::{self as register, Entry};
use crate::search;
use crate::search::usecase::Hit;

/// Request for a credit note.
#[derive(Debug, Clone)]
pub struct NewCredit {
    /// Lines that are credited, each at most once; empty for all that is left.
    pub lines: Vec<CreditLine>,
    /// Reason for it, which the customer reads.
    pub reason: String,
}

/// A corrected invoice.
#[derive(Debug, Clone)]
pub struct Corrected {
    /// The credit note for all that was left of it.
    pub credit: CreditNote,
    /// The new draft.
    pub draft: Invoice,
}

/// The lines of an invoice with what is left to credit, and what is left of the whole with tax.
pub fn creditable(tx: &mut Tx<'_>, id: &InvoiceId) -> Done<(Vec<Creditable>, Money)> {
    let invoice = invoice::show(tx, id)?;
    may_be_credited(tx, &invoice)?;
    let document = invoice.document()?;
    let totals = document.rules(tx.studio.currency)?.totals()?;
    let left = invoice::left(tx, &invoice)?;
    let rows = document.lines.iter().zip(&totals.lines).zip(&left.lines).enumerate();
    let rows = rows.map(|(line, ((kept, total), left))| Creditable {
        line,
        name: kept.name.clone(),
        amount: total.entered,
        left: *left,
    });
    Ok((rows.collect(), left.whole))
}

/// Credits lines of an invoice, or all that is left of it. The credit note is numbered and sealed at once.
///
/// # Errors
/// `Conflict` if less is left of a line, or if another invoice deducts the deposit.
pub fn create(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, new: &NewCredit) -> Done<CreditNote> {
    let invoice = invoice::show(tx, id)?;
    seen.check(invoice.version)?;
    may_be_credited(tx, &invoice)?;
    let document = invoice.document()?;
    let rules = document.rules(tx.studio.currency)?;
    let left = invoice::left(tx, &invoice)?;
    let mut lines = new.lines.clone();
    if lines.is_empty() {
        lines = (0..rules.lines.len()).map(|line| CreditLine { line, amount: None }).collect();
    }
    // In the order of the invoice, so that each line of the credit note has the name of its own.
    lines.sort_by_key(|line| line.line);
    let credit = credited(&rules, &left, &lines)?;
    keep(tx, &invoice, &document, &credit, &new.reason)
}

/// Credits all that is left of an invoice, and drafts it again: a mistake is credited and issued anew, in one step.
///
/// # Errors
/// `Conflict` if nothing is left of it.
pub fn correct(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, reason: &str) -> Done<Corrected> {
    let invoice = invoice::show(tx, id)?;
    seen.check(invoice.version)?;
    may_be_credited(tx, &invoice)?;
    let document = invoice.document()?;
    let rules = document.rules(tx.studio.currency)?;
    let left = invoice::left(tx, &invoice)?;
    let claims = invoice::claims_of(tx, id)?;
    let both = corrected(&rules, &left)?;
    let credit = keep(tx, &invoice, &document, &both.credit, reason)?;
    let source = Source {
        kind: invoice.kind,
        customer: invoice.customer.clone(),
        quote: invoice.quote.clone().zip(document.quote_number.clone()),
        // What was credited before stays credited, so the lines are not taken from the quote again.
        follows_quote: false,
        claims,
        preceding: document.preceding.clone(),
        tax_point: document.tax_point.map(|day| day.0),
        vehicle: document.vehicle.clone(),
        lines: names(&document, &left, both.draft.lines.len()),
        document: both.draft,
        purchase_order: document.purchase_order.clone(),
        note: document.note.clone(),
    };
    let draft = invoice::draft(tx, &source)?;
    let detail = json!({ "credit_note": credit.id.as_str(), "draft": draft.id.as_str() });
    record::write(tx, "invoice.corrected", ("invoice", id.as_str()), detail)?;
    Ok(Corrected { credit, draft })
}

/// The details of the lines of a draft: all of the invoice, or those that have something left.
fn names(document: &InvoiceDocument, left: &Left, count: usize) -> Vec<SourceLine> {
    let all = document.lines.len() == count;
    let lines = document.lines.iter().zip(&left.lines).filter(|(_, left)| all || !left.is_zero());
    lines.map(|(line, _)| SourceLine::of(line)).collect()
}

/// Refuses an invoice that can't be credited here.
fn may_be_credited(tx: &mut Tx<'_>, invoice: &Invoice) -> Done<()> {
    if invoice.account.state == State::Draft {
        let detail = "This invoice is a draft. Change the draft or discard it.";
        return Err(Refused::conflict("wrong-state", detail).into());
    }
    if invoice.kind == InvoiceKind::Opening {
        let detail = "This invoice was issued before the studio used this program, which does not know its taxes. \
                      Credit it where it was issued, and write off here what is no longer owed.";
        return Err(Refused::conflict("opening-invoice", detail).into());
    }
    if invoice.kind == InvoiceKind::Deposit
        && let Some(by) = invoice::claimed_by(tx, &Claimed::Deposit(invoice.id.clone()))?
        // A deposit that was kept claims itself, and can still be given back.
        && by != invoice.id
    {
        let by = invoice::show(tx, &by)?;
        let named = by.number.map_or("a draft".to_owned(), |number| format!("invoice {number}"));
        let detail = format!("This deposit is deducted on {named}. Credit that invoice or discard the draft first.");
        return Err(Refused::conflict("deposit-deducted", detail).into());
    }
    Ok(())
}

/// Numbers, seals and books a credit note.
fn keep(
    tx: &mut Tx<'_>,
    invoice: &Invoice,
    document: &InvoiceDocument,
    credit: &Credit,
    reason: &str,
) -> Done<CreditNote> {
    let today = tx.today()?;
    let takes_all = credit.left.is_used_up();
    let number = register::next_number(tx, SeriesKind::CreditNote, today)?;
    let (mut written, totals) = paper(tx, invoice, document, credit)?;
    written.number = Some(number.text.clone());
    written.issued_on = Some(Day(today));
    written.tax_point = Some(Day(today));
    written.reason = Some(reason.to_owned());
    let Sealed { text, digest } = invoice::sealed(&written)?;
    let id: CreditNoteId = ids::new();
    let new = CreditNote {
        id: id.clone(),
        version: 1,
        invoice: invoice.id.clone(),
        customer: invoice.customer.clone(),
        number: number.text.clone(),
        buyer_name: written.buyer.name.clone(),
        issued_on: today,
        payable: totals.payable,
        takes_all,
        reason: reason.to_owned(),
        lines: credit.lines.clone(),
        text,
        digest,
        mailed_at: None,
        created_at: tx.now,
        updated_at: tx.now,
    };
    invoice::keep_credit_note(tx, &new)?;
    let entry = Entry {
        id: id.as_str(),
        kind: SeriesKind::CreditNote,
        number: &number,
        issued_on: today,
        tax_point: Some(today),
        customer: &invoice.customer,
        invoice: Some(&invoice.id),
        net: totals.net,
        tax: totals.tax,
        gross: totals.gross,
        payable: totals.payable,
        taxes: &totals.taxes,
        digest: &new.digest,
    };
    register::enter(tx, &entry)?;
    release(tx, invoice, &id, totals.payable, takes_all, today)?;
    if takes_all {
        invoice::release(tx, &invoice.id)?;
    }
    let detail = json!({ "number": number.text, "digest": new.digest, "invoice": invoice.id.as_str() });
    record::write(tx, "credit-note.issued", ("credit_note", id.as_str()), detail)?;
    let of = invoice.number.as_deref().unwrap_or_default();
    let hit = Hit {
        kind: "credit_note".to_owned(),
        id: id.to_string(),
        title: number.text.clone(),
        detail: format!("Credit note of {today} on invoice {of} to {}", new.buyer_name),
    };
    search::usecase::index(tx, hit, &Words::new().number(&number.text))?;
    invoice::credit_note(tx, &id)
}

/// The document of a credit note without its number: it mirrors the invoice, to the buyer whom the invoice names.
fn paper(
    tx: &mut Tx<'_>,
    invoice: &Invoice,
    document: &InvoiceDocument,
    credit: &Credit,
) -> Done<(InvoiceDocument, Totals)> {
    let own = credit.lines.len() == credit.document.lines.len();
    let lines: Vec<SourceLine> = if own {
        credit.lines.iter().filter_map(|(line, _)| document.lines.get(*line)).map(SourceLine::of).collect()
    } else {
        // All of the invoice, with its lines of nothing.
        document.lines.iter().map(SourceLine::of).collect()
    };
    let number = invoice.number.clone().unwrap_or_default();
    let preceding = invoice.issued_on.map(|day| PrecedingDocument { number, issued_on: Day(day) });
    let source = Source {
        kind: InvoiceKind::CreditNote,
        customer: invoice.customer.clone(),
        quote: invoice.quote.clone().zip(document.quote_number.clone()),
        follows_quote: false,
        claims: Vec::new(),
        preceding: preceding.into_iter().collect(),
        tax_point: None,
        vehicle: document.vehicle.clone(),
        lines,
        document: credit.document.clone(),
        purchase_order: document.purchase_order.clone(),
        note: String::new(),
    };
    let seller = invoice::seller(tx)?;
    invoice::document_of(&source, seller, document.buyer.clone())
}
