//! Credit notes as they are stored. They are made by the feature `credit_note`, which is above payments.

use baywright_domain::id::{CreditNoteId, CustomerId, InvoiceId};
use baywright_domain::invoice::{Credit, Left};
use baywright_domain::money::Money;
use chrono::NaiveDate;

use super::Invoice;
use crate::invoice::kept::InvoiceDocument;
use crate::invoice::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

/// A credit note, which is issued when it is made.
#[derive(Debug, Clone)]
pub struct CreditNote {
    /// Its id.
    pub id: CreditNoteId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Id of the invoice that it credits.
    pub invoice: InvoiceId,
    /// Id of the customer.
    pub customer: CustomerId,
    /// Its number.
    pub number: String,
    /// The buyer's name.
    pub buyer_name: String,
    /// Issue date.
    pub issued_on: NaiveDate,
    /// Credited amount.
    pub payable: Money,
    /// Whether nothing is left of the invoice after it.
    pub takes_all: bool,
    /// Reason for it.
    pub reason: String,
    /// Credited amounts of lines: positions in the invoice, and amounts in its prices.
    pub lines: Vec<(usize, Money)>,
    /// The sealed document.
    pub text: String,
    /// SHA-256 of the sealed document.
    pub digest: String,
    /// Time when it was mailed last.
    pub mailed_at: Option<UtcTime>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

impl CreditNote {
    /// The document.
    pub fn document(&self) -> Done<InvoiceDocument> {
        Ok(InvoiceDocument::parse(&self.text)?)
    }
}

/// Filter of the list of credit notes.
#[derive(Debug, Clone, Default)]
pub struct CreditsWanted {
    /// Limits the list to one customer.
    pub customer: Option<CustomerId>,
    /// Limits the list to credit notes of this invoice.
    pub invoice: Option<InvoiceId>,
}

/// One page of the shop's credit notes.
pub fn credit_notes(tx: &mut Tx<'_>, wanted: &CreditsWanted, paging: &Paging) -> Done<Slice<CreditNote>> {
    let rows = store::credit::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |credit| Mark::of_id(credit.id.as_str())))
}

/// The credit note with that id.
pub fn credit_note(tx: &mut Tx<'_>, id: &CreditNoteId) -> Done<CreditNote> {
    Ok(store::credit::find(tx, id)?.ok_or_else(|| Refused::not_found("credit note"))?)
}

/// Stores a credit note that was just issued.
pub fn keep_credit_note(tx: &mut Tx<'_>, new: &CreditNote) -> Done<()> {
    Ok(store::credit::insert(tx, new)?)
}

/// Stores that a credit note was mailed.
pub fn credit_note_mailed(tx: &mut Tx<'_>, credit: &CreditNote) -> Done<()> {
    Ok(store::credit::mailed(tx, credit)?)
}

/// The credit notes of an invoice for the rules, first one first.
pub(super) fn credits_of(tx: &mut Tx<'_>, invoice: &Invoice) -> Done<Vec<Credit>> {
    let mut all = Vec::new();
    for credit in store::credit::of_invoice(tx, &invoice.id)? {
        let document = credit.document()?.rules(tx.studio.currency)?;
        let totals = document.totals()?;
        let left = Left { lines: Vec::new(), whole: Money::ZERO };
        all.push(Credit { document, totals, lines: credit.lines, left });
    }
    Ok(all)
}

/// The amounts of an invoice that are left to credit.
pub fn left(tx: &mut Tx<'_>, invoice: &Invoice) -> Done<Left> {
    let mut left = Left::of(&invoice.document()?.rules(tx.studio.currency)?)?;
    for credit in store::credit::of_invoice(tx, &invoice.id)? {
        left = left.less(&credit.lines, credit.payable);
    }
    Ok(left)
}

/// Document and digest of up to `most` credit notes, after that id: what [`crate::seal`] verifies.
pub fn sealed_credit_notes(tx: &mut Tx<'_>, after: &str, most: i64) -> Done<Vec<(String, String, String)>> {
    Ok(store::credit::sealed(tx, after, most)?)
}
