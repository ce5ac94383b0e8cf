//! Use cases of payments.

use baywright_domain::calendar::day_in_words;
use baywright_domain::customer::{Kept, kept_until};
use baywright_domain::id::{CustomerId, InvoiceId, PaymentId};
use baywright_domain::invoice::Account;
use baywright_domain::money::Money;
use baywright_domain::payment::{BadPayment, Method, allocate, has_slipped_point, is_far_above_due, take_from_credit};
use baywright_domain::refusal::Refusal;
use chrono::NaiveDate;
use serde_json::json;

use super::store;
use crate::invoice::usecase::{self as invoice, Invoice};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::kept::Amount;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

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
    /// Version; a payment never changes.
    pub version: i64,
    /// Id of the customer who paid.
    pub customer: CustomerId,
    /// Method of payment.
    pub method: Method,
    /// Date on which it was received.
    pub received_on: NaiveDate,
    /// Amount of the payment.
    pub amount: Money,
    /// Part that no invoice took.
    pub surplus: Money,
    /// Parts by invoice, in order.
    pub parts: Vec<(InvoiceId, Money)>,
    /// Reference on the bank statement.
    pub reference: String,
    /// Note of the desk.
    pub note: String,
    /// Time when the record was made.
    pub created_at: UtcTime,
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

/// Refuses the request if the customer's credit is too small, and says how much there is.
fn enough_credit(tx: &mut Tx<'_>, new: &NewPayment) -> Done<()> {
    let credit = store::credit(tx, &new.customer)?;
    match take_from_credit(credit, new.amount) {
        Err(less @ BadPayment::NoCredit) => {
            let credit = Amount::of(credit, tx.studio.currency);
            let detail = format!("The customer's credit is {credit}. Use at most that much.");
            Err(Refused::conflict(less.code(), detail).into())
        }
        taken => taken.map(|_| ()).map_err(Into::into),
    }
}

/// Records a payment and distributes it to unpaid invoices.
pub fn record(tx: &mut Tx<'_>, new: &NewPayment) -> Done<Payment> {
    crate::customer::usecase::unmerged(tx, &new.customer)?;
    if new.received_on > tx.today()? {
        return Err(Refused::field("/received_on", "in_future", "Write today or an earlier day.").into());
    }
    if new.method == Method::Credit {
        enough_credit(tx, new)?;
    }
    let invoices = named(tx, new)?;
    let accounts: Vec<(InvoiceId, Account)> =
        invoices.iter().map(|invoice| (invoice.id.clone(), invoice.account)).collect();
    let allocation = allocate(new.amount, &accounts)?;
    confirm_amount(tx, new, accounts.iter().map(|(_, account)| account.open).sum())?;
    let paid = |invoice: &&Invoice| allocation.parts.iter().any(|part| part.invoice == invoice.id);
    warn_of_day(tx, new.received_on, invoices.iter().filter(paid));
    let id: PaymentId = ids::new();
    store::insert(tx, &id, new, &allocation)?;
    let detail = json!({ "amount": new.amount.minor().to_string(), "method": new.method.as_str() });
    record::write(tx, "payment.recorded", ("payment", id.as_str()), detail)?;
    for part in &allocation.parts {
        invoice::settle(tx, &part.invoice, part.account)?;
    }
    show(tx, &id)
}

/// Asks for a confirmation of a payment whose amount is probably a typing error, compared with what is due.
fn confirm_amount(tx: &Tx<'_>, new: &NewPayment, due: Money) -> Done<()> {
    let is_odd = if new.invoices.is_empty() { has_slipped_point } else { is_far_above_due };
    if new.method == Method::Credit || !is_odd(new.amount, due) {
        return Ok(());
    }
    let amount = |money| Amount::of(money, tx.studio.currency);
    let detail = format!(
        "The payment is {}, but only {} is due. Check the decimal point and the number of digits.",
        amount(new.amount),
        amount(due)
    );
    tx.must_confirm("far-above-due", detail)
}

/// Warns of a day of receipt before an invoice that the payment pays was issued, which is often a slip of the year.
fn warn_of_day<'i>(tx: &mut Tx<'_>, received_on: NaiveDate, paid: impl Iterator<Item = &'i Invoice>) {
    for invoice in paid {
        let Some(issued_on) = invoice.issued_on.filter(|issued_on| received_on < *issued_on) else { continue };
        let detail = format!(
            "The payment was received on {}, but invoice {} was issued on {}. Check the day, unless the customer paid in \
             advance.",
            day_in_words(received_on),
            invoice.number.as_deref().unwrap_or_default(),
            day_in_words(issued_on)
        );
        tx.warn("payment-before-invoice", "/received_on", detail);
    }
}

/// The invoices that a payment is for, in their current state.
fn named(tx: &mut Tx<'_>, new: &NewPayment) -> Done<Vec<Invoice>> {
    if new.invoices.is_empty() {
        return invoice::open_of(tx, &new.customer);
    }
    let mut found = Vec::new();
    for (at, id) in new.invoices.iter().enumerate() {
        let known = invoice::find(tx, id)?.filter(|invoice| invoice.customer == new.customer);
        let Some(known) = known else {
            let detail = "This customer has no such invoice.";
            return Err(Refused::field(format!("/invoice_ids/{at}"), "unknown", detail).into());
        };
        found.push(known);
    }
    Ok(found)
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
    })
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
    held: &[Held::of_customer("payment"), Held::of_row("payment_part", "payment_id", "payment")],
    forget: |_, leaving| {
        let days = leaving.named("payment", "received_on");
        let until = days.iter().filter_map(|day| day.parse().ok()).map(|day| kept_until(day, leaving.keep_years));
        Ok(Left { kept: until.map(|until| (Kept::Payment, until)).collect(), ..Left::default() })
    },
};
