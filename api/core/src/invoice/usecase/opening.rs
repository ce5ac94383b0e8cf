//! Invoices from before the studio used this program: their unpaid amounts are taken over, so that payments, letters and
//! statements include them.

use baywright_domain::document::{Document, Line, Prices};
use baywright_domain::id::{CustomerId, InvoiceId};
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::ledger::Item;
use baywright_domain::money::{Money, Percent};
use baywright_domain::payment::Reference;
use baywright_domain::tax::{Category, Profile, Treatment};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde_json::json;

use super::draft::{Source, SourceLine, written};
use super::issue::{Sealed, sealed};
use super::{Invoice, show};
use crate::invoice::store;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::Day;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// An invoice that another program issued.
#[derive(Debug, Clone)]
pub struct NewOpening {
    /// Id of the customer.
    pub customer: CustomerId,
    /// Its number there.
    pub number: String,
    /// Its date of issue.
    pub issued_on: NaiveDate,
    /// Its due date.
    pub due_on: NaiveDate,
    /// Amount that is still unpaid, with tax.
    pub open: Money,
}

/// Reason for no tax, as the record states it.
const TAXED_BEFORE: &str = "Unpaid amount of an earlier invoice, whose tax was declared when it was issued";

/// Takes an unpaid invoice over. It is no document of this program, so it has no place in the register.
///
/// # Errors
/// `Conflict` if its number is known already; `Invalid` for days in the future or an amount of zero.
pub fn open_earlier(tx: &mut Tx<'_>, new: &NewOpening) -> Done<Invoice> {
    crate::customer::usecase::unmerged(tx, &new.customer)?;
    if new.issued_on > tx.today()? {
        return Err(Refused::field("/issued_on", "in_future", "Write today or an earlier day.").into());
    }
    if new.due_on < new.issued_on {
        return Err(Refused::field("/due_on", "before_issue", "Write the day of issue or a later one.").into());
    }
    if new.open <= Money::ZERO {
        return Err(Refused::field("/open", "not_positive", "Write the amount that is still unpaid.").into());
    }
    let item = Item::issued(new.open)?;
    let currency = tx.studio.currency;
    let treatment = Treatment::new(Category::OutOfScope, Percent::ZERO)?;
    let line = Line::new(Decimal::ONE, new.open.major(currency), treatment);
    let source = Source {
        kind: InvoiceKind::Opening,
        customer: new.customer.clone(),
        quote: None,
        follows_quote: false,
        claims: Vec::new(),
        preceding: Vec::new(),
        tax_point: None,
        vehicle: None,
        lines: vec![SourceLine {
            name: format!("Unpaid amount of invoice {}", new.number),
            origin: new.number.clone(),
            tax_reason: Some(TAXED_BEFORE.to_owned()),
            ..SourceLine::default()
        }],
        document: Document::new(currency, Prices::Gross, Profile::EN_16931, vec![line]),
        purchase_order: None,
        note: String::new(),
    };
    let (mut document, totals) = written(tx, &source)?;
    document.number = Some(new.number.clone());
    document.issued_on = Some(Day(new.issued_on));
    document.due_on = Some(Day(new.due_on));
    document.payment_reference = Reference::for_number(&new.number).ok().map(|reference| reference.as_str().to_owned());
    let Sealed { text, digest } = sealed(&document)?;
    let id: InvoiceId = ids::new();
    store::insert_opening(tx, &id, new, &document.buyer.name, &totals, item, (&text, &digest)).map_err(|error| {
        if error.is_taken() {
            let detail = "An invoice with this number is known already. Check the number, or open that invoice.";
            Refused::conflict("number-taken", detail).into()
        } else {
            Fail::from(error)
        }
    })?;
    let detail = json!({ "number": new.number, "open": new.open.minor().to_string() });
    record::write(tx, "invoice.opened", ("invoice", id.as_str()), detail)?;
    show(tx, &id)
}
