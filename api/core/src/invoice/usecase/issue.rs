//! Issuing: numbering and sealing an invoice, which never changes afterwards.

use baywright_domain::customer::CustomerKind;
use baywright_domain::document::Totals;
use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::{InvoiceKind, PaymentTerms};
use baywright_domain::ledger::Item;
use baywright_domain::payment::Reference;
use baywright_domain::search::Words;
use baywright_domain::series::SeriesKind;
use baywright_domain::tax::{Parties, TaxPoint};
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;

use super::draft::{buyer, seller, written};
use super::of_quote::{agreed_now, handed_over};
use super::{Invoice, show};
use crate::invoice::kept::{FORM, InvoiceDocument, InvoiceLine, InvoiceTotals};
use crate::invoice::store::{self, Seal};
use crate::job::usecase::Billing;
use crate::platform::canonical;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::kept::{Day, Word};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::register::usecase::{self as register, Entry};
use crate::search::usecase::Hit;
use crate::{job, search, shop};

/// A sealed document: canonical JSON (RFC 8785) and its SHA-256.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sealed {
    /// The text.
    pub text: String,
    /// SHA-256 of the text, in lower-case hex.
    pub digest: String,
}

/// Seals a document.
pub fn sealed(document: &impl Serialize) -> Done<Sealed> {
    let value = serde_json::to_value(document).map_err(Fail::unexpected)?;
    let text = canonical::canonical(&value).map_err(Fail::unexpected)?;
    Ok(Sealed { digest: canonical::digest(&text), text })
}

/// Issues a draft: gives it the next number of its kind, and seals the document with the current data of seller and
/// buyer. Everything is checked before a number is taken.
///
/// # Errors
/// `Conflict` if it was issued before, if what is agreed or a tax rate has changed since it was written, or if it is
/// under reverse charge and the customer can't owe the tax.
pub fn issue(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen) -> Done<Invoice> {
    let invoice = show(tx, id)?;
    seen.check(invoice.version)?;
    let document = invoice.document()?;
    // The totals are computed again from the lines: either the sealed document is right, or nothing is sealed.
    let totals = document.rules(tx.studio.currency)?.totals()?;
    invoice.account.issue(&totals)?;
    if InvoiceTotals::of(&totals, tx.studio.currency) != document.totals {
        return Err(Fail::unexpected(format!("the figures of invoice {id} don't follow from its lines")));
    }
    not_outdated(tx, &invoice, &document)?;
    number_and_seal(tx, &invoice, document, &totals)?;
    if let Some(quote) = invoice.quote.as_ref().filter(|_| invoice.kind == InvoiceKind::Final) {
        job::usecase::warn_of_billing(tx, quote, Billing::Issued)?;
    }
    show(tx, id)
}

/// Refuses a draft that no longer has what is agreed, at the rates of its tax point.
fn not_outdated(tx: &mut Tx<'_>, invoice: &Invoice, document: &InvoiceDocument) -> Done<()> {
    let Some(source) = agreed_now(tx, invoice)? else { return Ok(()) };
    let (now, _) = written(tx, &source)?;
    let same = now.lines.len() == document.lines.len()
        && now.lines.iter().zip(&document.lines).all(|(new, old)| {
            // A draft of form 1 does not say which tax a line has.
            let tax_code = old.tax_code.as_ref().and(new.tax_code.clone());
            *old == InvoiceLine { tax_code, ..new.clone() }
        })
        && (&now.allowances, &now.totals) == (&document.allowances, &document.totals);
    if same {
        return Ok(());
    }
    let detail = format!(
        "Other work was signed, or a tax rate or deposit changed, since this draft was written. Update the draft with \
         PUT /v1/invoices/{}, which takes its lines from what is signed now, then issue it.",
        invoice.id
    );
    Err(Refused::conflict("draft-outdated", detail).into())
}

/// Kind of number and due date of an invoice that is issued today.
fn terms_of(tx: &mut Tx<'_>, kind: InvoiceKind, today: NaiveDate) -> Done<(SeriesKind, NaiveDate)> {
    let (series, days) = if kind == InvoiceKind::Deposit {
        (SeriesKind::DepositInvoice, shop::usecase::money_terms(tx)?.deposit_days)
    } else {
        (SeriesKind::Invoice, shop::usecase::settings(tx)?.terms.payment_days)
    };
    Ok((series, PaymentTerms::Days(days).due_on(today)))
}

/// Day that decides the tax of an invoice: the hand-over of the car, or today for what is sold without a quote. A
/// deposit has none until it is paid.
fn tax_point_of(tx: &mut Tx<'_>, invoice: &Invoice, today: NaiveDate) -> Done<TaxPoint> {
    if invoice.kind == InvoiceKind::Deposit {
        return Ok(TaxPoint::of_deposit(None, today));
    }
    if let Some(kept) = invoice.document()?.tax_point {
        return Ok(TaxPoint::Supplied(kept.0));
    }
    match &invoice.quote {
        Some(quote) => Ok(TaxPoint::of_supply(handed_over(tx, quote)?, today)),
        None => Ok(TaxPoint::Supplied(today)),
    }
}

fn number_and_seal(tx: &mut Tx<'_>, invoice: &Invoice, mut document: InvoiceDocument, totals: &Totals) -> Done<()> {
    let today = tx.today()?;
    let tax_point = tax_point_of(tx, invoice, today)?;
    let (kind, due) = terms_of(tx, invoice.kind, today)?;
    document.seller = seller(tx)?;
    document.buyer = buyer(tx, &invoice.customer)?;
    let parties = Parties {
        buyer_is_business: document.buyer.kind.0 == CustomerKind::Trade,
        buyer_has_vat_id: document.buyer.vat_id.is_some(),
        seller_has_vat_id: document.seller.vat_id.is_some(),
    };
    parties.check(totals.taxes.iter().map(|row| row.treatment))?;
    let item = Item::issued(totals.payable)?;
    let number = register::next_number(tx, kind, today)?;
    // A draft of an older form is sealed in the form of today.
    document.form = FORM;
    document.kind = Some(Word(invoice.kind));
    document.number = Some(number.text.clone());
    document.issued_on = Some(Day(today));
    document.tax_point = tax_point.stated().map(Day);
    document.due_on = Some(Day(due));
    document.payment_reference = Some(Reference::for_number(&number.text)?.as_str().to_owned());
    let Sealed { text, digest } = sealed(&document)?;
    let seal = Seal {
        number: &number,
        buyer_name: &document.buyer.name,
        issued_on: today,
        due_on: due,
        text: &text,
        digest: &digest,
    };
    store::issue(tx, invoice, item, &seal).map_err(|error| number_taken(error, &number.text))?;
    let entry = Entry {
        id: invoice.id.as_str(),
        kind,
        number: &number,
        issued_on: today,
        // The tax of a deposit is chargeable when it is paid.
        tax_point: Some(tax_point.day()).filter(|_| kind == SeriesKind::Invoice),
        customer: &invoice.customer,
        invoice: None,
        net: totals.net,
        tax: totals.tax,
        gross: totals.gross,
        payable: totals.payable,
        taxes: &totals.taxes,
        digest: &digest,
    };
    register::enter(tx, &entry)?;
    let detail = json!({ "number": number.text, "digest": digest });
    record::write(tx, "invoice.issued", ("invoice", invoice.id.as_str()), detail)?;
    let what = if kind == SeriesKind::Invoice { "Invoice" } else { "Deposit invoice" };
    let hit = Hit {
        kind: "invoice".to_owned(),
        id: invoice.id.to_string(),
        title: number.text.clone(),
        detail: format!("{what} of {today} to {}", document.buyer.name),
    };
    search::usecase::index(tx, hit, &Words::new().number(&number.text))
}

/// Explains a number that an earlier invoice of another program has.
fn number_taken(error: DbError, number: &str) -> Fail {
    if error.is_taken() {
        let detail = format!(
            "An earlier invoice has the number {number}. Set the first number of the series above it, then issue this \
             one: POST /v1/number-series/first."
        );
        Refused::conflict("number-taken", detail).into()
    } else {
        error.into()
    }
}
