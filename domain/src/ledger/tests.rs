//! A customer's ledger, move by move.

use super::*;
use crate::invoice::State;
use crate::refusal::Refusal;

fn minor(amount: i64) -> Money {
    Money::from_minor(amount)
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn invoice() -> InvoiceId {
    InvoiceId::new("a")
}

fn payment(id: &str) -> PaymentId {
    PaymentId::new(id)
}

/// A ledger with one invoice of 100.00, of which the given amount was paid in cash.
fn billed(paid: i64) -> Ledger {
    let mut ledger = Ledger::default();
    ledger.issue(invoice(), minor(10_000)).unwrap();
    if paid > 0 {
        pay(&mut ledger, "1", Method::Cash, paid).unwrap();
    }
    ledger
}

fn pay(ledger: &mut Ledger, id: &str, method: Method, amount: i64) -> Result<Money, LedgerRefusal> {
    ledger.pay(payment(id), method, minor(amount), &[invoice()], day("2026-03-01"))
}

/// State, unpaid and written-off amount of the invoice, and the customer's credit.
fn stands(ledger: &Ledger) -> (State, i64, i64, i64) {
    assert!(ledger.sums().hold(), "{:?}", ledger.sums());
    let item = ledger.item(&invoice()).unwrap();
    (item.state(), item.open().minor(), item.written_off.minor(), ledger.sums().unused.minor())
}

#[test]
fn a_payment_is_undone_from_paid_to_part_paid_to_issued() {
    let mut ledger = billed(4_000);
    pay(&mut ledger, "2", Method::Transfer, 7_500).unwrap();
    assert_eq!(stands(&ledger), (State::Paid, 0, 0, 1_500));
    ledger.undo_payment(&payment("2"), PaymentUndoReason::Bounced, day("2026-03-05")).unwrap();
    assert_eq!(stands(&ledger), (State::PartPaid, 6_000, 0, 0));
    ledger.undo_payment(&payment("1"), PaymentUndoReason::Mistake, day("2026-03-05")).unwrap();
    assert_eq!(stands(&ledger), (State::Issued, 10_000, 0, 0));
    let again = ledger.undo_payment(&payment("1"), PaymentUndoReason::Mistake, day("2026-03-05")).unwrap_err();
    assert_eq!(again.code(), "wrong-state");
    // The record stays, with its reason.
    let undone = ledger.payment(&payment("2")).unwrap().undone;
    assert_eq!(undone, Some((day("2026-03-05"), PaymentUndoReason::Bounced)));
}

#[test]
fn a_payment_whose_surplus_was_used_is_undone_after_what_used_it() {
    let mut ledger = billed(12_000);
    let more = InvoiceId::new("b");
    ledger.issue(more.clone(), minor(3_000)).unwrap();
    ledger.pay(payment("2"), Method::Credit, minor(2_000), &[more], day("2026-03-02")).unwrap();
    let undo =
        |ledger: &mut Ledger, id| ledger.undo_payment(&payment(id), PaymentUndoReason::Bounced, day("2026-03-03"));
    assert_eq!(undo(&mut ledger, "1"), Err(LedgerRefusal::SurplusUsed));
    assert_eq!(stands(&ledger), (State::Paid, 0, 0, 0));
    undo(&mut ledger, "2").unwrap();
    undo(&mut ledger, "1").unwrap();
    assert_eq!(stands(&ledger), (State::Issued, 10_000, 0, 0));
}

#[test]
fn credit_out_of_what_was_paid_too_much_is_no_money_that_came_in() {
    let mut ledger = billed(12_000);
    assert!(!Method::Credit.is_money() && Method::Card.is_money());
    assert_eq!(pay(&mut ledger, "2", Method::Credit, 2_001), Err(BadPayment::NoCredit.into()));
    assert_eq!(ledger.sums().paid, minor(12_000));
}

#[test]
fn a_write_off_may_be_partial_has_a_day_and_is_recovered() {
    let mut ledger = billed(4_000);
    ledger.write_off(&invoice(), minor(2_000), day("2026-06-30")).unwrap();
    assert_eq!(stands(&ledger), (State::PartPaid, 4_000, 2_000, 0));
    ledger.write_off(&invoice(), minor(4_000), day("2026-07-31")).unwrap();
    assert_eq!(stands(&ledger), (State::WrittenOff, 0, 6_000, 0));
    assert!(ledger.write_off(&invoice(), minor(1), day("2026-07-31")).is_err());
    let given_up = ["2026-06-29", "2026-06-30", "2026-07-31"].map(|on| ledger.given_up_by(day(on)));
    assert_eq!(given_up, [0, 2_000, 6_000].map(minor));
    // Money arrives after all: 15.00, then the rest and 5.00 more.
    let paid = |ledger: &mut Ledger, id: &str, amount, on| {
        ledger.pay(payment(id), Method::Transfer, minor(amount), &[invoice()], day(on)).unwrap()
    };
    assert_eq!(paid(&mut ledger, "2", 1_500, "2026-09-01"), Money::ZERO);
    assert_eq!(stands(&ledger), (State::PartPaid, 0, 4_500, 0));
    assert_eq!(ledger.given_up_by(day("2026-09-01")), minor(4_500));
    assert_eq!(paid(&mut ledger, "3", 5_000, "2026-10-01"), minor(500));
    assert_eq!(stands(&ledger), (State::Paid, 0, 0, 500));
    // The last one bounces: the amount that it recovered is written off again.
    ledger.undo_payment(&payment("3"), PaymentUndoReason::Bounced, day("2026-10-05")).unwrap();
    assert_eq!(stands(&ledger), (State::PartPaid, 0, 4_500, 0));
    ledger.reinstate(&invoice(), minor(4_500), day("2026-11-01")).unwrap();
    assert_eq!(stands(&ledger), (State::PartPaid, 4_500, 0, 0));
    assert_eq!(ledger.given_up_by(day("2026-11-01")), Money::ZERO);
}

#[test]
fn a_credit_note_covers_what_is_open_then_what_was_given_up_and_releases_the_rest() {
    let mut ledger = billed(4_000);
    ledger.write_off(&invoice(), minor(2_000), day("2026-06-30")).unwrap();
    let done = ledger.credit(&invoice(), minor(7_000), false, day("2026-08-01")).unwrap();
    assert_eq!([done.covered, done.from_write_off, done.released], [4_000, 2_000, 1_000].map(minor));
    assert_eq!(stands(&ledger), (State::Paid, 0, 0, 1_000));
    assert_eq!(ledger.payment(&payment("1")).unwrap().parts[0].used, minor(3_000));
    for (amount, whole) in [(3_001, false), (0, false), (2_999, true)] {
        let refused = ledger.credit(&invoice(), minor(amount), whole, day("2026-08-01"));
        assert_eq!(refused, Err(LedgerRefusal::CreditTooLarge));
    }
    ledger.credit(&invoice(), minor(3_000), true, day("2026-08-02")).unwrap();
    assert_eq!(stands(&ledger), (State::Credited, 0, 0, 4_000));
    assert!(pay(&mut ledger, "2", Method::Cash, 1).is_err());
    // All of it is the customer's credit, and is refunded.
    let refund = RefundId::new("r");
    assert_eq!(ledger.refund(refund.clone(), minor(4_001)), Err(BadPayment::NoCredit.into()));
    ledger.refund(refund.clone(), minor(4_000)).unwrap();
    let undone = ledger.undo_payment(&payment("1"), PaymentUndoReason::ChargedBack, day("2026-08-03"));
    assert_eq!(undone, Err(LedgerRefusal::SurplusUsed));
    ledger.undo_refund(&refund).unwrap();
    assert_eq!(stands(&ledger), (State::Credited, 0, 0, 4_000));
    assert!(ledger.undo_refund(&refund).is_err());
    ledger.undo_payment(&payment("1"), PaymentUndoReason::ChargedBack, day("2026-08-03")).unwrap();
    assert_eq!(stands(&ledger), (State::Credited, 0, 0, 0));
}

#[test]
fn an_invoice_that_deposits_cover_is_paid_when_issued_and_can_be_credited() {
    let mut ledger = Ledger::default();
    ledger.issue(invoice(), Money::ZERO).unwrap();
    assert_eq!(stands(&ledger), (State::Paid, 0, 0, 0));
    ledger.credit(&invoice(), Money::ZERO, true, day("2026-08-01")).unwrap();
    assert_eq!(stands(&ledger), (State::Credited, 0, 0, 0));
    assert_eq!(ledger.issue(invoice(), minor(1)), Err(LedgerRefusal::Known("invoice")));
    assert_eq!(ledger.issue(InvoiceId::new("b"), minor(-1)), Err(LedgerRefusal::Negative));
}

#[test]
fn a_dispute_stops_letters_until_it_ends() {
    let mut ledger = billed(0);
    assert!(ledger.end_dispute(&invoice()).is_err());
    ledger.dispute(&invoice(), day("2026-04-01")).unwrap();
    assert!(ledger.item(&invoice()).unwrap().stops_letters());
    assert!(ledger.dispute(&invoice(), day("2026-04-02")).is_err());
    ledger.end_dispute(&invoice()).unwrap();
    assert!(!ledger.item(&invoice()).unwrap().stops_letters());
    pay(&mut ledger, "1", Method::Card, 10_000).unwrap();
    assert!(ledger.dispute(&invoice(), day("2026-04-02")).is_err());
}

#[test]
fn a_move_that_is_refused_changes_nothing() {
    let mut ledger = billed(4_000);
    ledger.issue(InvoiceId::new("b"), minor(500)).unwrap();
    let before = ledger.clone();
    let twice = [InvoiceId::new("b"), invoice(), InvoiceId::new("b")];
    let refused = ledger.pay(payment("2"), Method::Cash, minor(9_999), &twice, day("2026-03-02"));
    assert_eq!(refused, Err(BadPayment::Twice.into()));
    let unknown = [InvoiceId::new("b"), InvoiceId::new("c")];
    let refused = ledger.pay(payment("2"), Method::Cash, minor(9_999), &unknown, day("2026-03-02"));
    assert_eq!(refused, Err(LedgerRefusal::Unknown("invoice")));
    assert!(ledger.refund(RefundId::new("r"), minor(1)).is_err());
    assert!(pay(&mut ledger, "1", Method::Cash, 1).is_err());
    assert!(pay(&mut ledger, "2", Method::Cash, 0).is_err());
    assert_eq!(ledger, before);
}
