//! Payments: the invoices that they pay, the surplus, and the identifiers of accounts and payments.

mod bic;
mod iban;
mod qr;
mod reference;

use alloc::vec::Vec;

use crate::id::InvoiceId;
use crate::invoice::{Account, Received};
use crate::money::{LIMIT, Money};
use crate::refusal::{Kind, Refusal, WrongState};
use crate::word::words;

pub use bic::{BadBic, Bic};
pub use iban::{BadIban, Iban};
pub use qr::{MOST_QR_BYTES, NoQr, Remittance, TransferRequest};
pub use reference::{BadReference, Reference};

words! {
    /// Method of payment.
    pub enum Method("way of paying") {
        /// Notes and coins.
        Cash = "CASH" "cash",
        /// A card at the till.
        Card = "CARD" "card",
        /// A transfer to the shop's account.
        Transfer = "TRANSFER" "transfer",
        /// From the customer's credit.
        Credit = "CREDIT" "credit",
        /// Any other way.
        Other = "OTHER" "other",
    }
}

impl Method {
    /// Whether the studio receives money by this method. A payment from the customer's credit uses money that was
    /// received before, so it would be counted twice in the takings.
    pub const fn is_money(self) -> bool {
        !matches!(self, Self::Credit)
    }
}

/// Reason why a payment or a refund is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadPayment {
    /// Nothing or less, or beyond [`LIMIT`].
    #[error("a payment must be more than zero, and no larger than the largest invoice can be")]
    Amount,
    /// An invoice that can't be paid.
    #[error(transparent)]
    State(#[from] WrongState),
    /// An invoice named twice.
    #[error("the same invoice is listed twice: list it once")]
    Twice,
    /// More than the customer has as credit.
    #[error("the customer has less credit than that: use at most what they have")]
    NoCredit,
}

impl Refusal for BadPayment {
    fn kind(&self) -> Kind {
        match self {
            Self::Amount | Self::Twice => Kind::Invalid,
            Self::State(state) => state.kind(),
            Self::NoCredit => Kind::Conflict,
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::Amount => "payment-amount",
            Self::Twice => "invoice-twice",
            Self::State(state) => state.code(),
            Self::NoCredit => "not-enough-credit",
        }
    }
}

/// Result of a payment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Allocation {
    /// The invoices that took part of it, in their state afterwards.
    pub parts: Vec<Part>,
    /// The part that no invoice took: it stays as the customer's credit.
    pub surplus: Money,
}

/// The part of a payment that one invoice took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The invoice.
    pub invoice: InvoiceId,
    /// Amount of the part.
    pub used: Money,
    /// The invoice after the payment.
    pub account: Account,
}

/// Allocates a payment to invoices in the given order (oldest due date first, say): each takes its unpaid amount as far
/// as the payment suffices, and the rest is the customer's. The parts and the surplus sum to the payment.
///
/// # Errors
/// [`BadPayment`] if the amount is zero, or a named invoice can't be paid.
pub fn allocate(amount: Money, invoices: &[(InvoiceId, Account)]) -> Result<Allocation, BadPayment> {
    check_amount(amount)?;
    let mut parts: Vec<Part> = Vec::new();
    let mut left = amount;
    for (at, (invoice, account)) in invoices.iter().enumerate() {
        if invoices[..at].iter().any(|(earlier, _)| earlier == invoice) {
            return Err(BadPayment::Twice);
        }
        let Received { account, used, surplus } = account.pay(left)?;
        left = surplus;
        if !used.is_zero() {
            parts.push(Part { invoice: invoice.clone(), used, account });
        }
    }
    Ok(Allocation { parts, surplus: left })
}

/// Whether a payment for certain invoices is so much more than what is due on them that it is probably a typing error:
/// cents typed as whole units, or a digit too many. If nothing is due, it is an advance payment of any size.
pub fn is_far_above_due(amount: Money, due: Money) -> bool {
    due > Money::ZERO && amount.minor() / 10 >= due.minor()
}

/// Whether a payment that names no invoice equals the amount due with its decimal point one or two places too far
/// right. Any other amount may be an advance payment by a customer who happens to owe a little.
pub fn has_slipped_point(amount: Money, due: Money) -> bool {
    due > Money::ZERO && [10, 100].iter().any(|times| due.minor().checked_mul(*times) == Some(amount.minor()))
}

/// Deducts an amount from a customer's credit, to refund it or to pay an invoice with it; returns the rest.
///
/// # Errors
/// [`BadPayment::NoCredit`] if there is less, [`BadPayment::Amount`] for zero or less.
pub fn take_from_credit(credit: Money, amount: Money) -> Result<Money, BadPayment> {
    check_amount(amount)?;
    if amount > credit { Err(BadPayment::NoCredit) } else { Ok(credit - amount) }
}

/// Whether a payment or refund can have that amount.
pub(crate) fn check_amount(amount: Money) -> Result<(), BadPayment> {
    if amount <= Money::ZERO || amount.minor() > LIMIT { Err(BadPayment::Amount) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::invoice::State;

    fn minor(amount: i64) -> Money {
        Money::from_minor(amount)
    }

    fn open(id: &str, amount: i64) -> (InvoiceId, Account) {
        (InvoiceId::new(id), Account { state: State::Issued, open: minor(amount), paid: Money::ZERO })
    }

    #[test]
    fn ten_times_what_is_due_is_probably_a_slip() {
        assert!(is_far_above_due(minor(2_090_000), minor(20_900)));
        assert!(is_far_above_due(minor(209_000), minor(20_900)));
        assert!(!is_far_above_due(minor(208_999), minor(20_900)));
        assert!(!is_far_above_due(minor(208_999), minor(0)));
    }

    #[test]
    fn what_is_due_times_ten_or_a_hundred_is_probably_a_slip_and_an_advance_payment_is_not() {
        for (amount, due, slipped) in [
            (209_000, 20_900, true),
            (2_090_000, 20_900, true),
            (209_001, 20_900, false),
            (6_000, 500, false),
            (20_900, 20_900, false),
            (0, 0, false),
            (5_000, 0, false),
            (100, i64::MAX, false),
        ] {
            assert_eq!(has_slipped_point(minor(amount), minor(due)), slipped, "{amount} of {due}");
        }
    }

    #[test]
    fn a_payment_pays_in_order_and_the_surplus_stays_the_customers() {
        let invoices = [open("a", 5_000), open("b", 7_000), open("c", 100)];
        let some = allocate(minor(8_000), &invoices).unwrap();
        let states: Vec<_> = some.parts.iter().map(|p| (p.used.minor(), p.account.state)).collect();
        assert_eq!(states, [(5_000, State::Paid), (3_000, State::PartPaid)]);
        assert_eq!(some.surplus, Money::ZERO);
        assert_eq!(allocate(minor(20_000), &invoices).unwrap().surplus, minor(7_900));
        assert_eq!(allocate(minor(20), &[]).unwrap().surplus, minor(20));
    }

    #[test]
    fn a_payment_that_no_invoice_can_take_is_refused() {
        let (id, account) = open("a", 100);
        let paid = Account { state: State::Paid, ..account };
        assert!(matches!(allocate(minor(1), &[(id.clone(), paid)]), Err(BadPayment::State(_))));
        assert_eq!(allocate(minor(300), &[(id.clone(), account), (id, account)]), Err(BadPayment::Twice));
        for amount in [0, -1, i64::MIN, i64::MAX] {
            assert_eq!(allocate(minor(amount), &[]), Err(BadPayment::Amount));
        }
    }

    #[test]
    fn a_refund_never_exceeds_the_customers_credit() {
        assert_eq!(take_from_credit(minor(500), minor(500)), Ok(Money::ZERO));
        assert_eq!(take_from_credit(minor(500), minor(501)), Err(BadPayment::NoCredit));
        assert_eq!(take_from_credit(minor(500), Money::ZERO), Err(BadPayment::Amount));
    }
}
