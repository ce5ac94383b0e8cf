//! The deposit of a job that was called off.

use baywright_domain::document::{Document, Line, Prices};
use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::{DepositAfterCancellation, InvoiceKind};
use baywright_domain::money::{Money, Percent};
use baywright_domain::payment::Method;
use baywright_domain::tax::{Category, Profile, Treatment};
use rust_decimal::Decimal;
use serde_json::json;

use super::deposit;
use crate::credit_note::usecase::{NewCredit, create};
use crate::invoice::kept::PrecedingDocument;
use crate::invoice::usecase::{self as invoice, CreditNote, Invoice, Source, SourceLine};
use crate::payment::usecase::{self as payment, NewPayment};
use crate::platform::fail::Done;
use crate::platform::kept::Day;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::shop;

/// Request to settle the deposit of a job that was called off.
#[derive(Debug, Clone)]
pub struct CallOffOrder {
    /// What is done with the deposit; `None` for the shop's setting.
    pub way: Option<DepositAfterCancellation>,
    /// Reason, which the customer reads.
    pub reason: String,
}

/// A settled deposit.
#[derive(Debug, Clone)]
pub struct CalledOff {
    /// What was done with it.
    pub way: DepositAfterCancellation,
    /// The deposit invoice afterwards.
    pub deposit: Invoice,
    /// The credit note on it, unless it was kept as a price.
    pub credit: Option<CreditNote>,
    /// The invoice for the compensation, which the kept money paid.
    pub compensation: Option<Invoice>,
}

/// Reason for no tax on compensation, as documents state it.
const OUTSIDE_TAX: &str = "Compensation for a job that was called off: outside the scope of VAT";

/// Settles the deposit of a job that was called off, as the request or the shop's terms of money say: gives it back,
/// keeps it as a price with its tax, or keeps it as compensation, which is no longer taxed.
///
/// # Errors
/// `Conflict` if it is deducted on an invoice, or is to be kept although it is not paid.
pub fn call_off(tx: &mut Tx<'_>, id: &InvoiceId, seen: Seen, order: &CallOffOrder) -> Done<CalledOff> {
    let found = deposit(tx, id)?;
    seen.check(found.version)?;
    let way = match order.way {
        Some(way) => way,
        None => shop::usecase::money_terms(tx)?.deposit_called_off,
    };
    let paid = found.account.paid;
    let mut done = CalledOff { way, deposit: found, credit: None, compensation: None };
    if way.credits_the_deposit() {
        let all = NewCredit { lines: Vec::new(), reason: order.reason.clone() };
        done.credit = Some(create(tx, id, seen, &all)?);
    } else {
        keep(tx, &done.deposit)?;
    }
    if way.charges_compensation() && !paid.is_zero() {
        done.compensation = Some(compensation(tx, &done.deposit, paid)?);
    }
    record::write(tx, "deposit.called-off", ("invoice", id.as_str()), json!({ "way": way.as_str() }))?;
    done.deposit = invoice::show(tx, id)?;
    Ok(done)
}

/// Keeps a paid deposit as a price: its invoice and its tax remain valid, and no later invoice deducts it.
fn keep(tx: &mut Tx<'_>, deposit: &Invoice) -> Done<()> {
    if !deposit.account.open.is_zero() {
        let detail = "Only a deposit that was paid can be kept. Credit the unpaid part of its invoice first, or give it \
                      back.";
        return Err(Refused::conflict("deposit-not-paid", detail).into());
    }
    invoice::keep_deposit(tx, &deposit.id)
}

/// Invoices the kept money as compensation without tax, and pays it from the customer's credit.
fn compensation(tx: &mut Tx<'_>, deposit: &Invoice, amount: Money) -> Done<Invoice> {
    let currency = tx.studio.currency;
    let treatment = Treatment::new(Category::OutOfScope, Percent::ZERO)?;
    let line = Line::new(Decimal::ONE, amount.major(currency), treatment);
    let number = deposit.number.clone().unwrap_or_default();
    let source = Source {
        kind: InvoiceKind::Final,
        customer: deposit.customer.clone(),
        // It bills no work, so the quote stays open for another invoice.
        quote: None,
        follows_quote: false,
        claims: Vec::new(),
        preceding: deposit
            .issued_on
            .map(|day| PrecedingDocument { number: number.clone(), issued_on: Day(day) })
            .into_iter()
            .collect(),
        tax_point: None,
        vehicle: deposit.document()?.vehicle,
        lines: vec![SourceLine {
            name: "Compensation for the job that was called off".to_owned(),
            origin: number,
            tax_reason: Some(OUTSIDE_TAX.to_owned()),
            ..SourceLine::default()
        }],
        document: Document::new(currency, Prices::Gross, Profile::EN_16931, vec![line]),
        purchase_order: None,
        note: String::new(),
    };
    let draft = invoice::draft(tx, &source)?;
    let issued = invoice::issue(tx, &draft.id, Seen(draft.version))?;
    let new = NewPayment {
        customer: deposit.customer.clone(),
        method: Method::Credit,
        received_on: tx.today()?,
        amount,
        invoices: vec![issued.id.clone()],
        reference: String::new(),
        note: "Kept deposit".to_owned(),
    };
    payment::record(tx, &new)?;
    invoice::show(tx, &issued.id)
}
