//! Recording a payment.

use baywright_domain::calendar::day_in_words;
use baywright_domain::id::{InvoiceId, PaymentId};
use baywright_domain::invoice::{InvoiceKind, State};
use baywright_domain::ledger::WriteOffCause;
use baywright_domain::money::Money;
use baywright_domain::payment::{BadPayment, Method, has_slipped_point, is_far_above_due, take_from_credit};
use baywright_domain::refusal::Refusal;
use chrono::NaiveDate;
use serde_json::json;

use super::ledger::{Touched, settled};
use super::{NewPayment, Payment, show};
use crate::invoice::usecase::{self as invoice, Invoice};
use crate::payment::store;
use crate::platform::fail::Done;
use crate::platform::kept::Amount;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

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
    let touched = Touched::of(tx, &new.customer, invoices, Vec::new())?;
    let id: PaymentId = ids::new();
    let order: Vec<InvoiceId> = touched.invoices.iter().map(|invoice| invoice.id.clone()).collect();
    let mut ledger = touched.ledger.clone();
    let surplus = ledger.pay(id.clone(), new.method, new.amount, &order, new.received_on)?;
    confirm_amount(tx, new, touched.invoices.iter().map(|invoice| invoice.account.open).sum())?;
    let parts = ledger.payment(&id).map(|receipt| receipt.parts.clone()).unwrap_or_default();
    let paid = |invoice: &&Invoice| parts.iter().any(|part| part.invoice == invoice.id);
    warn_of_day(tx, new.received_on, touched.invoices.iter().filter(paid));
    for deposit in touched.invoices.iter().filter(paid).filter(|invoice| invoice.kind == InvoiceKind::Deposit) {
        invoice::warn_of_deposit_rate(tx, deposit, new.received_on)?;
    }
    store::insert(tx, &id, new, &parts, surplus)?;
    let detail = json!({ "amount": new.amount.minor().to_string(), "method": new.method.as_str() });
    record::write(tx, "payment.recorded", ("payment", id.as_str()), detail)?;
    settled(tx, &touched, &ledger, WriteOffCause::Paid, "invoice.paid")?;
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
        if known.account.state == State::Draft {
            let detail = "This invoice is a draft. Issue it first.";
            return Err(Refused::conflict("wrong-state", detail).into());
        }
        if found.iter().any(|earlier: &Invoice| earlier.id == known.id) {
            return Err(BadPayment::Twice.into());
        }
        found.push(known);
    }
    Ok(found)
}
