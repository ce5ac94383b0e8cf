//! Use cases of invoices.

mod claim;
mod credit;
mod deduct;
mod draft;
mod give_up;
mod issue;
mod of_quote;
mod open;
mod opening;
mod send;

use baywright_domain::customer::{Kept, kept_until};
use baywright_domain::id::{CustomerId, InvoiceId, QuoteId};
use baywright_domain::invoice::{Account, InvoiceKind, State};
use baywright_domain::ledger::Item;
use baywright_domain::money::Money;
use chrono::NaiveDate;

use super::kept::InvoiceDocument;
use super::store;
use crate::customer::usecase::ERASED;
use crate::platform::canonical::canonical;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Leaving, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

pub use claim::{claimed_by, claims_of, keep_deposit, release};
pub use credit::{
    CreditNote, CreditsWanted, credit_note, credit_note_mailed, credit_notes, keep_credit_note, left,
    sealed_credit_notes,
};
pub use deduct::{deposits_of, warn_of_deposit_rate};
pub use draft::{Source, SourceLine, buyer, document_of, draft, seller};
pub use give_up::{WriteOffOrder, WrittenOff, dispute, end_dispute, note_given_up, reinstate, write_off, write_offs};
pub use issue::{Sealed, issue, sealed};
pub use of_quote::{Order, Remarks, agreed_work, discard, of_quote, redraft};
pub use open::{Settled, is_issued, issued_of, not_invoiced_since, open_of, overdue, sealed_documents, settle, sums};
pub use opening::{NewOpening, open_earlier};
pub use send::{lines, reasons, send};

/// The current state of an invoice.
#[derive(Debug, Clone)]
pub struct Invoice {
    /// Its id.
    pub id: InvoiceId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Id of the customer.
    pub customer: CustomerId,
    /// Id of the signed quote that it is for; `None` if there is none.
    pub quote: Option<QuoteId>,
    /// Kind of document: final invoice, deposit invoice or earlier invoice.
    pub kind: InvoiceKind,
    /// State, unpaid and paid amount.
    pub account: Account,
    /// Amount of its credit notes.
    pub credited: Money,
    /// Part of the paid amount that had been written off.
    pub recovered: Money,
    /// Day since which the customer disputes it; `None` if they don't.
    pub disputed_on: Option<NaiveDate>,
    /// Whether the lines of a draft are those that are agreed on its quote.
    pub follows_quote: bool,
    /// Amount that was written off.
    pub written_off: Money,
    /// Its number.
    pub number: Option<String>,
    /// The buyer's name.
    pub buyer_name: String,
    /// Issue date.
    pub issued_on: Option<NaiveDate>,
    /// Due date, the last day to pay in time.
    pub due_on: Option<NaiveDate>,
    /// Amount due for payment.
    pub payable: Money,
    /// The document as text, sealed once the invoice is issued.
    pub text: String,
    /// SHA-256 of the sealed document.
    pub digest: Option<String>,
    /// Time when it was mailed last.
    pub mailed_at: Option<UtcTime>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

impl Invoice {
    /// Its amounts for the rules.
    pub fn item(&self) -> Item {
        Item {
            billed: self.payable,
            credited: self.credited,
            paid: self.account.paid,
            written_off: self.written_off,
            recovered: self.recovered,
            credited_whole: self.account.state == State::Credited,
            disputed_since: self.disputed_on,
        }
    }

    /// The document.
    pub fn document(&self) -> Done<InvoiceDocument> {
        Ok(InvoiceDocument::parse(&self.text)?)
    }
}

/// Filter of the list of invoices.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to these states; empty for all.
    pub states: Vec<State>,
    /// Limits the list to one customer.
    pub customer: Option<CustomerId>,
    /// Limits the list to invoices of this quote.
    pub quote: Option<QuoteId>,
    /// Limits the list to the invoice with this number.
    pub number: Option<String>,
    /// Limits the list to these kinds of documents; empty for all.
    pub kinds: Vec<InvoiceKind>,
    /// Limits the list to invoices with an unpaid amount whose due date is before this date.
    pub due_before: Option<NaiveDate>,
}

/// One page of the shop's invoices.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Invoice>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |invoice| Mark::of_id(invoice.id.as_str())))
}

/// The invoice with that id, if there is one.
pub fn find(tx: &mut Tx<'_>, id: &InvoiceId) -> Done<Option<Invoice>> {
    Ok(store::find(tx, id)?)
}

/// The invoice with that id.
pub fn show(tx: &mut Tx<'_>, id: &InvoiceId) -> Done<Invoice> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("invoice"))?)
}

/// Data that this feature holds about a customer: issued invoices, which are kept, and drafts, from which the
/// customer's data is removed.
pub const HOLDER: Holder = Holder { feature: "invoice", held: HELD, forget };

const HELD: &[Held] = &[
    Held::of_customer("invoice"),
    Held::of_row("invoice_claim", "invoice_id", "invoice"),
    Held::of_row("write_off", "invoice_id", "invoice"),
    Held::of_customer("credit_note"),
    Held::of_row("credit_line", "credit_note_id", "credit_note"),
];

fn forget(tx: &mut Tx<'_>, leaving: &Leaving) -> Done<Left> {
    let mut left = Left::default();
    for id in leaving.ids("invoice") {
        let invoice = show(tx, &InvoiceId::new(id))?;
        if let Some(day) = invoice.issued_on {
            left.kept.push((Kept::Invoice, kept_until(day, leaving.keep_years)));
        } else {
            let document = invoice.document()?.without_buyer(ERASED);
            let text = serde_json::to_value(&document).map_err(Fail::unexpected)?;
            store::blank_draft(tx, &invoice, ERASED, &canonical(&text).map_err(Fail::unexpected)?)?;
        }
    }
    Ok(left)
}
