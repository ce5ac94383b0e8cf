//! Rules of what a quote comes to: whatever lines are taken, and both ways of tax.
use baywright_domain::document::{Discount, DiscountSize, Prices};
use baywright_domain::invoice::DepositSize;
use baywright_domain::money::{Currency, Money, Percent};
use baywright_domain::pricing::{Choice, Conflict, ConflictKind, Item, Line, LineDiscount, Off, build};
use baywright_domain::quote::{Terms, combinations};
use baywright_domain::tax::{Category, Profile, Rate, Treatment};
use proptest::prelude::*;
use rust_decimal::Decimal;

use crate::studio::{self, code, decimal, euros, medium, menu};

fn standard() -> Treatment {
    Treatment::new(Category::Standard, Rate::whole(23)).unwrap()
}

fn lines() -> Vec<(Line, Treatment)> {
    let choice = |service, discount| Choice {
        item: Item::Service(code(service)),
        quantity: Decimal::ONE,
        discount,
        required: true,
    };
    let ten = LineDiscount { off: Off::Percent(Decimal::TEN), reason: "Opening week".into() };
    let choices = [choice("interior", Some(ten)), choice("wash-only", None)];
    let quoted = build(&menu(), medium(), &choices).unwrap();
    quoted.lines.into_iter().map(|line| (line, standard())).collect()
}

fn terms(prices: Prices) -> Terms {
    Terms { currency: Currency::EUR, prices, profile: Profile::EN_16931, discounts: Vec::new(), deposit: None }
}

#[test]
fn gross_prices_are_what_is_paid_and_net_prices_get_tax_on_top() {
    // By hand: interior 180.00 less 10 % is 162.00, wash 55.00, together 217.00.
    let gross = terms(Prices::Gross).sum(&lines(), &[0, 1]).unwrap().totals;
    assert_eq!(
        (gross.payable, gross.net, gross.tax),
        (euros(217), Money::from_minor(17_642), Money::from_minor(4_058))
    );
    // 217.00 at 23 % is 49.91.
    let net = terms(Prices::Net).sum(&lines(), &[0, 1]).unwrap().totals;
    assert_eq!((net.net, net.tax, net.payable), (euros(217), Money::from_minor(4_991), Money::from_minor(26_691)));
}

#[test]
fn only_lines_that_are_taken_count() {
    let sum = terms(Prices::Gross).sum(&lines(), &[1]).unwrap();
    assert_eq!((sum.document.lines.len(), sum.totals.payable), (1, euros(55)));
    assert!(terms(Prices::Gross).sum(&lines(), &[]).is_err());
}

#[test]
fn a_deposit_is_a_share_of_what_is_taken_and_never_more() {
    let deposit = |size, taken: &[usize]| {
        let terms = Terms { deposit: Some(size), ..terms(Prices::Gross) };
        terms.sum(&lines(), taken).unwrap().deposit
    };
    let third = DepositSize::Percent(Percent::new(decimal("33.3333")).unwrap());
    // 33.3333 % of 217.00 is 72.333…
    assert_eq!(deposit(third, &[0, 1]), Some(Money::from_minor(7_233)));
    assert_eq!(deposit(DepositSize::Amount(euros(100)), &[0, 1]), Some(euros(100)));
    assert_eq!(deposit(DepositSize::Amount(euros(100)), &[1]), Some(euros(55)));
}

#[test]
fn nothing_to_pay_asks_for_no_deposit() {
    let whole = Discount { size: DiscountSize::Percent(Percent::whole(100)), reason: "Warranty".into() };
    let size = DepositSize::Percent(Percent::whole(20));
    let terms = Terms { discounts: vec![whole], deposit: Some(size), ..terms(Prices::Gross) };
    let sum = terms.sum(&lines(), &[0, 1]).unwrap();
    assert_eq!((sum.totals.payable, sum.deposit), (Money::ZERO, None));
}

#[test]
fn every_choice_that_can_be_taken_is_listed_once_the_fewest_lines_first() {
    let line = |required: bool| Line { required, ..lines()[0].0.clone() };
    let three = [line(true), line(false), line(false)];
    assert_eq!(combinations(&three, &[]), [vec![], vec![1], vec![2], vec![1, 2]]);
    let apart = Conflict { one: 1, other: 2, kind: ConflictKind::Excluded };
    assert_eq!(combinations(&three, &[apart]), [vec![], vec![1], vec![2]]);
    // Without a required line, something has to be ticked.
    assert_eq!(combinations(&three[1..], &[]), [vec![0], vec![1], vec![0, 1]]);
    // Of six optional lines: none, each alone, and all.
    let many: Vec<Line> = [true].into_iter().chain([false; 6]).map(line).collect();
    let listed = combinations(&many, &[]);
    assert_eq!((listed.len(), listed.last().map(Vec::len)), (8, Some(6)));
    assert_eq!(combinations(&many, &[apart]).last().map(Vec::len), Some(1));
}

proptest! {
    #[test]
    fn a_line_of_the_quote_is_the_line_of_the_document(quantity in 1_i64..100_000, percent in 0_u32..=100, net: bool) {
        let item = Item::Service(code("correct-two"));
        let off = Off::Percent(Decimal::from(percent));
        let discount = (percent > 0).then(|| LineDiscount { off, reason: "Trial".into() });
        let choice = Choice { item, quantity: Decimal::new(quantity, 3), discount, required: true };
        let line = build(&studio::generous(menu()), medium(), &[choice]).unwrap().lines.remove(0);
        let amount = line.amount;
        let prices = if net { Prices::Net } else { Prices::Gross };
        let sum = terms(prices).sum(&[(line, standard())], &[0]).unwrap();
        prop_assert_eq!(sum.totals.lines[0].entered, amount);
        if !net {
            prop_assert_eq!(sum.totals.payable, amount);
        }
    }
}
