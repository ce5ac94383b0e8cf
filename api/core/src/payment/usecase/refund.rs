//! Refunds: money that is given back from a customer's credit, with a numbered receipt.

use baywright_domain::id::{CustomerId, RefundId};
use baywright_domain::ledger::Ledger;
use baywright_domain::money::Money;
use baywright_domain::payment::{BadPayment, Method};
use baywright_domain::refusal::Refusal;
use baywright_domain::series::SeriesKind;
use chrono::NaiveDate;
use serde_json::json;

use crate::invoice::usecase::{self as invoice, Sealed};
use crate::payment::kept::{FORM, RefundReceipt};
use crate::payment::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::{Amount, Day, Word};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::register::usecase::{self as register, Entry};

/// Details of a refund that was made.
#[derive(Debug, Clone)]
pub struct NewRefund {
    /// Id of the customer.
    pub customer: CustomerId,
    /// Method of the refund; never [`Method::Credit`].
    pub method: Method,
    /// Date on which the money was given back.
    pub paid_on: NaiveDate,
    /// Its amount.
    pub amount: Money,
    /// Reference on the bank statement.
    pub reference: String,
    /// Reason for it.
    pub reason: String,
}

/// The current state of a refund.
#[derive(Debug, Clone)]
pub struct Refund {
    /// Its id.
    pub id: RefundId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Details of the refund.
    pub said: NewRefund,
    /// Number of its receipt.
    pub number: String,
    /// The sealed receipt.
    pub text: String,
    /// SHA-256 of the sealed receipt.
    pub digest: String,
    /// Day and note of its undoing; `None` while it counts.
    pub undone: Option<RefundUndone>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// The undoing of a refund that the customer never received.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RefundUndone {
    /// Day from which it no longer counts.
    pub on: NaiveDate,
    /// Note of the desk.
    pub note: String,
}

impl Refund {
    /// The receipt.
    pub fn receipt(&self) -> Done<RefundReceipt> {
        Ok(RefundReceipt::parse(&self.text)?)
    }
}

/// Filter of the list of refunds.
#[derive(Debug, Clone, Default)]
pub struct RefundsWanted {
    /// Limits the list to one customer.
    pub customer: Option<CustomerId>,
}

/// One page of the shop's refunds.
pub fn refunds(tx: &mut Tx<'_>, wanted: &RefundsWanted, paging: &Paging) -> Done<Slice<Refund>> {
    let rows = store::refund::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |refund| Mark::of_id(refund.id.as_str())))
}

/// The refund with that id.
pub fn show_refund(tx: &mut Tx<'_>, id: &RefundId) -> Done<Refund> {
    Ok(store::refund::find(tx, id)?.ok_or_else(|| Refused::not_found("refund"))?)
}

/// Records a refund from the customer's credit, and issues its receipt.
///
/// # Errors
/// `Conflict` if the customer has less credit.
pub fn refund(tx: &mut Tx<'_>, new: &NewRefund) -> Done<Refund> {
    crate::customer::usecase::unmerged(tx, &new.customer)?;
    let today = tx.today()?;
    if new.paid_on > today {
        return Err(Refused::field("/paid_on", "in_future", "Write today or an earlier day.").into());
    }
    if !new.method.is_money() {
        let detail = "Money is given back in cash, by card, by transfer or in another way. To pay an invoice from the \
                      customer's credit, record a payment with the method CREDIT.";
        return Err(Refused::field("/method", "not_money", detail).into());
    }
    let id: RefundId = ids::new();
    let unused = store::credit(tx, &new.customer)?;
    Ledger::part([], [], unused).refund(id.clone(), new.amount).map_err(|refused| {
        if refused.code() == BadPayment::NoCredit.code() {
            let credit = Amount::of(unused, tx.studio.currency);
            let detail = format!("The customer's credit is {credit}. Give back at most that much.");
            return Fail::from(Refused::conflict(refused.code(), detail));
        }
        refused.into()
    })?;
    let number = register::next_number(tx, SeriesKind::RefundReceipt, today)?;
    let buyer = invoice::buyer(tx, &new.customer)?;
    let receipt = RefundReceipt {
        form: FORM,
        number: number.text.clone(),
        paid_on: Day(new.paid_on),
        issued_on: Day(today),
        seller: invoice::seller(tx)?,
        customer_id: buyer.id,
        customer_name: buyer.name,
        customer_address: buyer.address,
        amount: Amount::of(new.amount, tx.studio.currency),
        method: Word(new.method),
        reference: new.reference.clone(),
        reason: new.reason.clone(),
    };
    let Sealed { text, digest } = invoice::sealed(&receipt)?;
    store::refund::insert(tx, &id, new, &number.text, &text, &digest)?;
    let entry = Entry {
        id: id.as_str(),
        kind: SeriesKind::RefundReceipt,
        number: &number,
        issued_on: today,
        tax_point: None,
        customer: &new.customer,
        invoice: None,
        net: Money::ZERO,
        tax: Money::ZERO,
        gross: new.amount,
        payable: new.amount,
        taxes: &[],
        digest: &digest,
    };
    register::enter(tx, &entry)?;
    let detail = json!({ "amount": new.amount.minor().to_string(), "number": number.text, "digest": digest });
    record::write(tx, "refund.recorded", ("refund", id.as_str()), detail)?;
    show_refund(tx, &id)
}

/// Undoes a refund that the customer never received: the amount is their credit again. Its receipt stays.
///
/// # Errors
/// `Conflict` if it was undone before.
pub fn undo_refund(tx: &mut Tx<'_>, id: &RefundId, seen: Seen, note: &str) -> Done<Refund> {
    let refund = show_refund(tx, id)?;
    seen.check(refund.version)?;
    let unused = store::credit(tx, &refund.said.customer)?;
    let part = Ledger::part([], [], unused);
    part.with_refund(id.clone(), refund.said.amount, refund.undone.is_some()).undo_refund(id)?;
    let on = tx.today()?;
    store::refund::undo(tx, &refund, &RefundUndone { on, note: note.to_owned() })?;
    record::write(tx, "refund.undone", ("refund", id.as_str()), json!({ "on": on.to_string() }))?;
    show_refund(tx, id)
}

/// Document and digest of up to `most` receipts of refunds, after that id: what [`crate::seal`] verifies.
pub fn sealed_receipts(tx: &mut Tx<'_>, after: &str, most: i64) -> Done<Vec<(String, String, String)>> {
    Ok(store::refund::sealed(tx, after, most)?)
}
