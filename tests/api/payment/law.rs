//! The equation of the ledger, after any sequence of moves: invoices − credits = payments − refunds + the amount owed.

use baywright_core::credit_note::usecase::{NewCredit, create};
use baywright_core::invoice::usecase::{self as invoice, WriteOffOrder, draft, issue, reinstate, write_off};
use baywright_core::payment::usecase::{
    self as payment, NewPayment, NewRefund, UndoOrder, refund, show_refund, sums, undo, undo_refund,
};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::tx::Tx;
use baywright_core::platform::version::Seen;
use baywright_domain::document::Prices;
use baywright_domain::id::{CustomerId, InvoiceId, PaymentId, RefundId};
use baywright_domain::invoice::CreditLine;
use baywright_domain::ledger::{Ledger, PaymentUndoReason};
use baywright_domain::money::Money;
use baywright_domain::payment::Method;
use baywright_tests::make::invoice::{document, source};
use baywright_tests::{Studio, on_each_engine};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use serde_json::Value;

/// A move of one customer, with records and amounts that often fit and sometimes don't.
#[derive(Debug, Clone)]
enum Move {
    Issue(i64, i64),
    Pay { credit: bool, amount: i64, invoice: Option<usize> },
    Undo(usize),
    Credit { invoice: usize, line: usize, amount: Option<i64> },
    CreditAll(usize),
    Refund(i64),
    UndoRefund(usize),
    WriteOff { invoice: usize, amount: i64 },
    Reinstate { invoice: usize, amount: i64 },
}

fn any_move() -> impl Strategy<Value = Move> {
    let amount = || 1..15_000_i64;
    let at = || 0..4_usize;
    prop_oneof![
        3 => (amount(), amount()).prop_map(|(one, other)| Move::Issue(one, other)),
        4 => (any::<bool>(), amount(), prop::option::of(at()))
            .prop_map(|(credit, amount, invoice)| Move::Pay { credit, amount, invoice }),
        2 => at().prop_map(Move::Undo),
        2 => (at(), 0..2_usize, prop::option::of(amount()))
            .prop_map(|(invoice, line, amount)| Move::Credit { invoice, line, amount }),
        1 => at().prop_map(Move::CreditAll),
        2 => amount().prop_map(Move::Refund),
        1 => at().prop_map(Move::UndoRefund),
        2 => (at(), amount()).prop_map(|(invoice, amount)| Move::WriteOff { invoice, amount }),
        1 => (at(), amount()).prop_map(|(invoice, amount)| Move::Reinstate { invoice, amount }),
    ]
}

/// What one customer has so far, in the program's records and beside it in a ledger of the rules.
struct Side {
    customer: Value,
    id: CustomerId,
    invoices: Vec<InvoiceId>,
    payments: Vec<PaymentId>,
    refunds: Vec<RefundId>,
    ledger: Ledger,
}

impl Side {
    fn of(studio: &Studio, number: usize) -> Self {
        let customer = studio.owner().post(
            "/v1/customers?confirm=known-customer",
            &baywright_tests::make::customer::body(&format!("Aoife Byrne {number}")),
        );
        let customer = customer.expect(201);
        let id = CustomerId::new(customer["id"].as_str().unwrap());
        Self { customer, id, invoices: vec![], payments: vec![], refunds: vec![], ledger: Ledger::default() }
    }

    /// Makes a move in the program and, if it is allowed there, in the ledger of the rules.
    fn make(&mut self, studio: &Studio, wanted: &Move) {
        let _refused = match wanted {
            Move::Issue(one, other) => self.issue(studio, *one, *other),
            Move::Pay { credit, amount, invoice } => self.pay(studio, *credit, *amount, *invoice),
            Move::Undo(at) => self.undo(studio, *at),
            Move::Credit { invoice, line, amount } => {
                let amount = amount.map(Money::from_minor);
                self.credit(studio, *invoice, vec![CreditLine { line: *line, amount }])
            }
            Move::CreditAll(at) => self.credit(studio, *at, Vec::new()),
            Move::Refund(amount) => self.refund(studio, *amount),
            Move::UndoRefund(at) => self.undo_refund(studio, *at),
            Move::WriteOff { invoice, amount } => self.give_up(studio, *invoice, *amount, true),
            Move::Reinstate { invoice, amount } => self.give_up(studio, *invoice, *amount, false),
        };
    }

    fn issue(&mut self, studio: &Studio, one: i64, other: i64) -> Option<()> {
        let source = source(&self.customer, document(Prices::Gross, &[(one, 23), (other, 10)]));
        let made = try_move(studio, |tx| {
            let made = draft(tx, &source)?;
            issue(tx, &made.id, Seen(made.version))
        })?;
        self.ledger.issue(made.id.clone(), made.payable).unwrap();
        self.invoices.push(made.id);
        Some(())
    }

    fn pay(&mut self, studio: &Studio, credit: bool, amount: i64, at: Option<usize>) -> Option<()> {
        let method = if credit { Method::Credit } else { Method::Transfer };
        let invoices: Vec<InvoiceId> = at.and_then(|at| self.invoices.get(at)).cloned().into_iter().collect();
        let (customer, amount) = (self.id.clone(), Money::from_minor(amount));
        let made = try_move(studio, |tx| {
            let (reference, note) = (String::new(), String::new());
            let (customer, invoices, received_on) = (customer.clone(), invoices.clone(), tx.today()?);
            payment::record(tx, &NewPayment { customer, method, received_on, amount, invoices, reference, note })
        })?;
        let named: Vec<InvoiceId> = match at {
            Some(_) if !invoices.is_empty() => invoices,
            _ => made.parts.iter().map(|part| part.invoice.clone()).collect(),
        };
        self.ledger.pay(made.id.clone(), method, amount, &named, made.received_on).unwrap();
        self.payments.push(made.id);
        Some(())
    }

    fn undo(&mut self, studio: &Studio, at: usize) -> Option<()> {
        let id = self.payments.get(at)?.clone();
        let order = UndoOrder { reason: PaymentUndoReason::Bounced, on: None, note: String::new() };
        let day = try_move(studio, |tx| {
            let seen = Seen(payment::show(tx, &id)?.version);
            undo(tx, &id, seen, &order)?;
            tx.today()
        });
        let allowed = self.ledger.clone().undo_payment(&id, order.reason, chrono::NaiveDate::default()).is_ok();
        assert_eq!(day.is_some(), allowed, "the program and the rules differ about undoing a payment");
        self.ledger.undo_payment(&id, order.reason, day?).unwrap();
        Some(())
    }

    fn credit(&mut self, studio: &Studio, at: usize, lines: Vec<CreditLine>) -> Option<()> {
        let id = self.invoices.get(at)?.clone();
        let new = NewCredit { lines, reason: "Not done".to_owned() };
        let made = try_move(studio, |tx| {
            let seen = Seen(invoice::show(tx, &id)?.version);
            create(tx, &id, seen, &new)
        })?;
        self.ledger.credit(&id, made.payable, made.takes_all, made.issued_on).unwrap();
        Some(())
    }

    fn refund(&mut self, studio: &Studio, amount: i64) -> Option<()> {
        let (customer, amount) = (self.id.clone(), Money::from_minor(amount));
        let made = try_move(studio, |tx| {
            let (reference, reason) = (String::new(), "Overpaid".to_owned());
            let (customer, paid_on) = (customer.clone(), tx.today()?);
            refund(tx, &NewRefund { customer, method: Method::Transfer, paid_on, amount, reference, reason })
        });
        assert_eq!(made.is_some(), self.ledger.unused() >= amount, "a refund never exceeds the credit");
        let made = made?;
        self.ledger.refund(made.id.clone(), amount).unwrap();
        self.refunds.push(made.id);
        Some(())
    }

    fn undo_refund(&mut self, studio: &Studio, at: usize) -> Option<()> {
        let id = self.refunds.get(at)?.clone();
        try_move(studio, |tx| {
            let seen = Seen(show_refund(tx, &id)?.version);
            undo_refund(tx, &id, seen, "Came back")
        })?;
        self.ledger.undo_refund(&id).unwrap();
        Some(())
    }

    fn give_up(&mut self, studio: &Studio, at: usize, amount: i64, away: bool) -> Option<()> {
        let id = self.invoices.get(at)?.clone();
        let amount = Money::from_minor(amount);
        let order = WriteOffOrder { amount: Some(amount), on: None, reason: "Moved away".to_owned() };
        let day = try_move(studio, |tx| {
            let seen = Seen(invoice::show(tx, &id)?.version);
            if away {
                write_off(tx, &id, seen, &order)?
            } else {
                reinstate(tx, &id, seen, &order)?
            };
            tx.today()
        })?;
        if away { self.ledger.write_off(&id, amount, day) } else { self.ledger.reinstate(&id, amount, day) }.unwrap();
        Some(())
    }

    /// The program's sums are those of the rules, and no invoice differs.
    fn check(&self, studio: &Studio) {
        let now = studio.in_shop(studio.shop(), |tx| sums(tx, Some(&self.id)));
        assert_eq!(now, self.ledger.sums());
        assert!(now.hold() && !now.unused.is_negative(), "{now:?}");
        for id in &self.invoices {
            let stored = studio.in_shop(studio.shop(), |tx| invoice::show(tx, id));
            assert_eq!((Some(stored.item()), stored.account.state), (self.ledger.item(id), stored.item().state()));
        }
    }
}

/// Makes a move, unless a rule refuses it; any other failure is a fault.
fn try_move<T>(studio: &Studio, f: impl FnMut(&mut Tx<'_>) -> Done<T>) -> Option<T> {
    match studio.try_in_shop(studio.shop(), f) {
        Ok(made) => Some(made),
        Err(Fail::Refused(_)) => None,
        Err(fail) => panic!("{fail:?}"),
    }
}

#[test]
fn the_law_of_the_ledger_holds_after_any_sequence_of_moves() {
    on_each_engine(|studio| {
        let long = std::env::var_os("BAYWRIGHT_TEST_LONG").is_some();
        let config = Config { cases: if long { 40 } else { 5 }, failure_persistence: None, ..Config::default() };
        let config = Config { max_shrink_iters: 0, ..config };
        let number = std::cell::Cell::new(0);
        let moves = prop::collection::vec((0..2_usize, any_move()), 10..30);
        let run = TestRunner::new(config).run(&moves, |moves| {
            let mut sides = [0, 1].map(|_| {
                number.set(number.get() + 1);
                Side::of(studio, number.get())
            });
            for (side, wanted) in &moves {
                sides[*side].make(studio, wanted);
                sides[*side].check(studio);
            }
            let all = studio.in_shop(studio.shop(), |tx| sums(tx, None));
            assert!(all.hold(), "{all:?}");
            Ok(())
        });
        run.unwrap();
    });
}
