//! Laws of ledgers after any sequence of moves, for each customer and for all of them.

use baywright_domain::id::{InvoiceId, PaymentId, RefundId};
use baywright_domain::ledger::{Ledger, PaymentUndoReason, Sums};
use baywright_domain::money::Money;
use baywright_domain::payment::Method;
use chrono::{Days, NaiveDate};
use proptest::prelude::*;

/// A move, with ids and amounts that often fit the ledger and sometimes don't.
#[derive(Debug, Clone)]
enum Move {
    Issue { invoice: u8, amount: i64 },
    Credit { invoice: u8, amount: i64 },
    CreditWhole { invoice: u8 },
    Pay { payment: u8, credit: bool, amount: i64, invoices: Vec<u8> },
    UndoPayment { payment: u8 },
    Refund { refund: u8, amount: i64 },
    UndoRefund { refund: u8 },
    WriteOff { invoice: u8, amount: i64 },
    Reinstate { invoice: u8, amount: i64 },
    Dispute { invoice: u8 },
    EndDispute { invoice: u8 },
}

fn amount() -> impl Strategy<Value = i64> {
    -10..20_000_i64
}

fn id() -> impl Strategy<Value = u8> {
    0..6_u8
}

fn any_move() -> impl Strategy<Value = Move> {
    prop_oneof![
        3 => (id(), amount()).prop_map(|(invoice, amount)| Move::Issue { invoice, amount }),
        2 => (id(), amount()).prop_map(|(invoice, amount)| Move::Credit { invoice, amount }),
        1 => id().prop_map(|invoice| Move::CreditWhole { invoice }),
        4 => (0..20_u8, any::<bool>(), amount(), prop::collection::vec(id(), 0..3)).prop_map(
            |(payment, credit, amount, invoices)| Move::Pay { payment, credit, amount, invoices }
        ),
        2 => (0..20_u8).prop_map(|payment| Move::UndoPayment { payment }),
        2 => (id(), amount()).prop_map(|(refund, amount)| Move::Refund { refund, amount }),
        1 => id().prop_map(|refund| Move::UndoRefund { refund }),
        2 => (id(), amount()).prop_map(|(invoice, amount)| Move::WriteOff { invoice, amount }),
        1 => (id(), amount()).prop_map(|(invoice, amount)| Move::Reinstate { invoice, amount }),
        1 => id().prop_map(|invoice| Move::Dispute { invoice }),
        1 => id().prop_map(|invoice| Move::EndDispute { invoice }),
    ]
}

fn invoice_id(number: u8) -> InvoiceId {
    InvoiceId::new(number.to_string())
}

fn payment_id(number: u8) -> PaymentId {
    PaymentId::new(format!("{number:02}"))
}

/// Makes a move; the returned value says whether it was allowed.
fn make(ledger: &mut Ledger, wanted: &Move, on: NaiveDate) -> bool {
    match wanted {
        Move::Issue { invoice, amount } => ledger.issue(invoice_id(*invoice), Money::from_minor(*amount)).is_ok(),
        Move::Credit { invoice, amount } => {
            ledger.credit(&invoice_id(*invoice), Money::from_minor(*amount), false, on).is_ok()
        }
        Move::CreditWhole { invoice } => {
            let invoice = invoice_id(*invoice);
            let left = ledger.item(&invoice).map_or(Money::ZERO, |item| item.billed - item.credited);
            ledger.credit(&invoice, left, true, on).is_ok()
        }
        Move::Pay { payment, credit, amount, invoices } => {
            let method = if *credit { Method::Credit } else { Method::Transfer };
            let invoices: Vec<InvoiceId> = invoices.iter().copied().map(invoice_id).collect();
            ledger.pay(payment_id(*payment), method, Money::from_minor(*amount), &invoices, on).is_ok()
        }
        Move::UndoPayment { payment } => {
            ledger.undo_payment(&payment_id(*payment), PaymentUndoReason::Bounced, on).is_ok()
        }
        Move::Refund { refund, amount } => {
            ledger.refund(RefundId::new(refund.to_string()), Money::from_minor(*amount)).is_ok()
        }
        Move::UndoRefund { refund } => ledger.undo_refund(&RefundId::new(refund.to_string())).is_ok(),
        Move::WriteOff { invoice, amount } => {
            ledger.write_off(&invoice_id(*invoice), Money::from_minor(*amount), on).is_ok()
        }
        Move::Reinstate { invoice, amount } => {
            ledger.reinstate(&invoice_id(*invoice), Money::from_minor(*amount), on).is_ok()
        }
        Move::Dispute { invoice } => ledger.dispute(&invoice_id(*invoice), on).is_ok(),
        Move::EndDispute { invoice } => ledger.end_dispute(&invoice_id(*invoice)).is_ok(),
    }
}

/// No amount of any invoice is below zero, and the parts of payments agree with the invoices that use them.
fn is_sound(ledger: &Ledger) -> bool {
    let items = (0..6).filter_map(|number| Some((invoice_id(number), ledger.item(&invoice_id(number))?)));
    let sound = items.map(|(id, item)| {
        let receipts = (0..20).filter_map(|number| ledger.payment(&payment_id(number)));
        let parts = receipts.filter(|receipt| receipt.undone.is_none()).flat_map(|receipt| &receipt.parts);
        let parts: Vec<_> = parts.filter(|part| part.invoice == id).collect();
        let amounts = [item.billed, item.credited, item.paid, item.written_off, item.recovered, item.open()];
        amounts.iter().all(|amount| !amount.is_negative())
            && parts.iter().map(|part| part.used).sum::<Money>() == item.paid
            && parts.iter().map(|part| part.recovered).sum::<Money>() == item.recovered
            && item.recovered <= item.paid
    });
    let sound: Vec<bool> = sound.collect();
    sound.into_iter().all(|fine| fine)
}

/// The part of a ledger that a move touches; `None` for moves that only touch one invoice or refund, or make a record.
fn touched(ledger: &Ledger, wanted: &Move) -> Option<Ledger> {
    let item = |id: &InvoiceId| ledger.item(id).map(|item| (id.clone(), item));
    Some(match wanted {
        Move::Pay { payment, invoices, .. } if ledger.payment(&payment_id(*payment)).is_none() => {
            Ledger::part(invoices.iter().filter_map(|number| item(&invoice_id(*number))), [], ledger.unused())
        }
        Move::UndoPayment { payment } => {
            let id = payment_id(*payment);
            let receipt = ledger.payment(&id)?.clone();
            let items: Vec<_> = receipt.parts.iter().filter_map(|part| item(&part.invoice)).collect();
            Ledger::part(items, [(id, receipt)], ledger.unused())
        }
        Move::Credit { invoice, .. } | Move::CreditWhole { invoice } => {
            let id = invoice_id(*invoice);
            let using = ledger.payments().filter(|(_, receipt)| receipt.parts.iter().any(|part| part.invoice == id));
            let using: Vec<_> = using.map(|(payment, receipt)| (payment.clone(), receipt.clone())).collect();
            Ledger::part(item(&id), using, ledger.unused())
        }
        _ => return None,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// invoices − credits = payments − refunds + the amount owed, after every move, per customer and in total.
    #[test]
    fn the_law_of_the_ledger_holds_after_any_sequence_of_moves(
        moves in prop::collection::vec((0..3_usize, any_move()), 1..80),
    ) {
        let first = NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
        let mut ledgers = vec![Ledger::default(); 3];
        for (at, (customer, wanted)) in moves.iter().enumerate() {
            let on = first + Days::new(u64::try_from(at).unwrap());
            let ledger = &mut ledgers[*customer];
            let before = ledger.clone();
            let made = make(ledger, wanted, on);
            prop_assert!(made || *ledger == before, "refused, and yet it changed: {wanted:?}");
            let sums = ledger.sums();
            prop_assert!(sums.hold(), "after {wanted:?}: {sums:?}");
            prop_assert!(!sums.unused.is_negative() && is_sound(ledger), "after {wanted:?}: {ledger:?}");
            prop_assert_eq!(ledger.given_up_by(on), sums.written_off);
            prop_assert!(ledgers.iter().map(Ledger::sums).sum::<Sums>().hold());
        }
    }

    /// A payment that is undone at once leaves the ledger's amounts unchanged.
    #[test]
    fn a_payment_and_its_undoing_cancel_out(
        moves in prop::collection::vec(any_move(), 1..40), credit in any::<bool>(), amount in 1..20_000_i64,
        invoices in prop::collection::vec(0..6_u8, 0..3),
    ) {
        let on = NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
        let mut ledger = Ledger::default();
        for wanted in &moves {
            make(&mut ledger, wanted, on);
        }
        let before = ledger.clone();
        if make(&mut ledger, &Move::Pay { payment: 99, credit, amount, invoices }, on) {
            let undone = make(&mut ledger, &Move::UndoPayment { payment: 99 }, on);
            prop_assert!(undone);
            prop_assert_eq!(ledger.sums(), before.sums());
            for number in 0..6 {
                prop_assert_eq!(ledger.item(&invoice_id(number)), before.item(&invoice_id(number)));
            }
        }
    }

    /// A move on the part of a ledger that it touches has the same effect as on all of it.
    #[test]
    fn a_move_needs_only_the_records_that_it_touches(
        moves in prop::collection::vec(any_move(), 1..40), wanted in any_move(),
    ) {
        let on = NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
        let mut whole = Ledger::default();
        for earlier in &moves {
            make(&mut whole, earlier, on);
        }
        if let Some(mut part) = touched(&whole, &wanted) {
            let made = make(&mut part, &wanted, on);
            prop_assert_eq!(made, make(&mut whole, &wanted, on));
            prop_assert_eq!(part.unused(), whole.unused());
            prop_assert!(part.items().all(|(id, item)| whole.item(id) == Some(item)));
            prop_assert!(part.payments().all(|(id, receipt)| whole.payment(id) == Some(receipt)));
        }
    }
}
