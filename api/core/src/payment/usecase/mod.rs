//! Use cases of payments and refunds.

mod ledger;
mod record;
mod refund;
mod undo;

use baywright_domain::customer::{Kept, kept_until};
use baywright_domain::id::{CustomerId, InvoiceId, PaymentId};
use baywright_domain::ledger::{PaymentUndoReason, Sums};
use baywright_domain::money::Money;
use baywright_domain::payment::Method;
use chrono::NaiveDate;

use super::store;
use crate::invoice::usecase as invoice;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

pub use ledger::release;
pub use record::record;
pub use refund::{
    NewRefund, Refund, RefundUndone, RefundsWanted, refund, refunds, sealed_receipts, show_refund, undo_refund,
};
pub use undo::{UndoOrder, undo};

/// Details of a payment that was received.
#[derive(Debug, Clone)]
pub struct NewPayment {
    /// Id of the customer who paid.
    pub customer: CustomerId,
    /// Method of payment.
    pub method: Method,
    /// Date on which it was received.
    pub received_on: NaiveDate,
    /// Amount of the payment.
    pub amount: Money,
    /// Invoices that it is for, in this order; empty for all unpaid ones, earliest due date first.
    pub invoices: Vec<InvoiceId>,
    /// Reference on the bank statement.
    pub reference: String,
    /// Note of the desk.
    pub note: String,
}

/// The current state of a payment.
#[derive(Debug, Clone)]
pub struct Payment {
    /// Its id.
    pub id: PaymentId,
    /// Version, which every change raises by one: a payment can be undone, and a credit note can release a part.
    pub version: i64,
    /// Id of the customer who paid.
    pub customer: CustomerId,
    /// Method of payment.
    pub method: Method,
    /// Date on which it was received.
    pub received_on: NaiveDate,
    /// Amount of the payment.
    pub amount: Money,
    /// Part that no invoice uses.
    pub surplus: Money,
    /// Parts by invoice, in order.
    pub parts: Vec<PaymentPart>,
    /// Day and reason of its undoing; `None` while it counts.
    pub undone: Option<Undone>,
    /// Reference on the bank statement.
    pub reference: String,
    /// Note of the desk.
    pub note: String,
    /// Time when the record was made.
    pub created_at: UtcTime,
}

/// The part of a payment that an invoice uses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PaymentPart {
    /// The invoice.
    pub invoice: InvoiceId,
    /// Amount that it uses now: less than at first if a credit note released some.
    pub used: Money,
    /// Part of that amount that had been written off before.
    pub recovered: Money,
}

/// The undoing of a payment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undone {
    /// Day from which it no longer counts.
    pub on: NaiveDate,
    /// Reason for it.
    pub reason: PaymentUndoReason,
    /// Note of the desk.
    pub note: String,
}

/// Filter of the list of payments.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to one customer.
    pub customer: Option<CustomerId>,
    /// Limits the list to payments that paid part of this invoice.
    pub invoice: Option<InvoiceId>,
}

/// A customer's unpaid amount and credit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Balance {
    /// Unpaid amount of all their invoices.
    pub open: Money,
    /// Overdue part of it.
    pub overdue: Money,
    /// Amount that they overpaid, which pays later invoices.
    pub credit: Money,
    /// All sums of their ledger.
    pub sums: Sums,
}

/// One page of the shop's payments.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Payment>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |payment| Mark::of_id(payment.id.as_str())))
}

/// The payment with that id.
pub fn show(tx: &mut Tx<'_>, id: &PaymentId) -> Done<Payment> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("payment"))?)
}

/// A customer's unpaid amount and credit.
pub fn balance(tx: &mut Tx<'_>, customer: &CustomerId) -> Done<Balance> {
    crate::customer::usecase::show(tx, customer)?;
    let today = tx.today()?;
    let invoices = invoice::open_of(tx, customer)?;
    let late = invoices.iter().filter(|invoice| invoice.due_on.is_some_and(|due| due < today));
    Ok(Balance {
        open: invoices.iter().map(|invoice| invoice.account.open).sum(),
        overdue: late.map(|invoice| invoice.account.open).sum(),
        credit: store::credit(tx, customer)?,
        sums: sums(tx, Some(customer))?,
    })
}

/// Sums of the ledger of one customer, or of all of them: invoices − credits = payments − refunds + the amount owed
/// ([`Sums::hold`]).
pub fn sums(tx: &mut Tx<'_>, customer: Option<&CustomerId>) -> Done<Sums> {
    let [invoiced, credited, open, written_off] = invoice::sums(tx, customer)?;
    let [paid, used, refunded] = store::flows(tx, customer)?;
    Ok(Sums { invoiced, credited, paid, refunded, open, written_off, unused: paid - used - refunded })
}

/// Whether a payment of one of two customers settles the other's invoice, or one has used more credit than they have:
/// then their merge can't be undone.
pub fn is_across(tx: &mut Tx<'_>, customers: [&CustomerId; 2]) -> Done<bool> {
    if store::is_across(tx, &customers.map(ToString::to_string))? {
        return Ok(true);
    }
    for customer in customers {
        if store::credit(tx, customer)? < Money::ZERO {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Data that this feature holds about a customer: tax records, which are kept.
pub const HOLDER: Holder = Holder {
    feature: "payment",
    held: &[
        Held::of_customer("payment"),
        Held::of_row("payment_part", "payment_id", "payment"),
        Held::of_row("payment_release", "payment_id", "payment"),
        Held::of_customer("refund"),
    ],
    forget: |_, leaving| {
        let mut days = leaving.named("payment", "received_on");
        days.extend(leaving.named("refund", "paid_on"));
        let until = days.iter().filter_map(|day| day.parse().ok()).map(|day| kept_until(day, leaving.keep_years));
        Ok(Left { kept: until.map(|until| (Kept::Payment, until)).collect(), ..Left::default() })
    },
};
