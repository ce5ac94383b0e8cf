//! What holds for every document's sums, and for deposits and credit notes on them.

use baywright_domain::document::{Adjustment, Discount, DiscountSize, Document, Line, Prices, Totals};
use baywright_domain::invoice::{Account, Advance, CreditLine, DepositSize, Left, State, credit_note, deduct, deposit};
use baywright_domain::money::{Currency, Money, Percent, Rounding};
use baywright_domain::tax::{Basis, Category, Profile, Rate, Treatment};
use proptest::prelude::*;
use rust_decimal::Decimal;

fn any_treatment() -> impl Strategy<Value = Treatment> {
    let all = [("S", 25), ("S", 19), ("S", 7), ("Z", 0), ("E", 0)];
    prop::sample::select(all.to_vec())
        .prop_map(|(code, rate)| Treatment::new(Category::of(code).unwrap(), Rate::whole(rate)).unwrap())
}

fn any_line() -> impl Strategy<Value = Line> {
    (1..2_000_i64, 0..3_u32, 1..100_000_i64, 0..5_u32, any_treatment(), 0..50_i64).prop_map(
        |(quantity, quantity_scale, price, price_scale, treatment, charge)| Line {
            charge: Money::from_minor(charge),
            ..Line::new(Decimal::new(quantity, quantity_scale), Decimal::new(price, price_scale), treatment)
        },
    )
}

fn any_profile() -> impl Strategy<Value = Profile> {
    let roundings = [Rounding::HalfAwayFromZero, Rounding::HalfTowardZero, Rounding::HalfEven, Rounding::TowardZero];
    (prop::sample::select(vec![Basis::Category, Basis::Line]), prop::sample::select(roundings.to_vec()))
        .prop_map(|(basis, rounding)| Profile { basis, rounding })
}

fn any_document() -> impl Strategy<Value = Document> {
    let lines = prop::collection::vec(any_line(), 1..8);
    let prices = prop::sample::select(vec![Prices::Net, Prices::Gross]);
    (lines, prices, any_profile(), 0..=1_000_000_i64, prop::option::of(0..300_i64)).prop_map(
        |(lines, prices, profile, discount, charge)| {
            let treatment = lines[0].treatment;
            let size = DiscountSize::Percent(Percent::new(Decimal::new(discount, 4)).unwrap());
            let mut document = Document::new(Currency::EUR, prices, profile, lines);
            document.discounts.push(Discount { size, reason: "regular".into() });
            let charge = charge.map(|c| Adjustment { amount: Money::from_minor(c), treatment, reason: None });
            document.charges.extend(charge);
            document
        },
    )
}

fn sum(amounts: impl IntoIterator<Item = Money>) -> Money {
    amounts.into_iter().sum()
}

/// The sum of lines, charges and allowances in the document's prices.
fn entered(document: &Document, totals: &Totals) -> Money {
    sum(totals.lines.iter().map(|l| l.entered)) + sum(document.charges.iter().map(|c| c.amount))
        - sum(totals.allowance_items.iter().map(|a| a.amount))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// EN 16931-1, BR-CO-10 to BR-CO-16.
    #[test]
    fn the_parts_of_a_document_sum_to_the_whole(document in any_document()) {
        let totals = document.totals().unwrap();
        prop_assert_eq!(totals.sum_of_lines, sum(totals.lines.iter().map(|l| l.net)));
        prop_assert_eq!(totals.allowances, sum(totals.allowance_nets.iter().copied()));
        prop_assert_eq!(totals.charges, sum(totals.charge_nets.iter().copied()));
        prop_assert_eq!(totals.net, totals.sum_of_lines - totals.allowances + totals.charges);
        prop_assert_eq!(totals.net, sum(totals.taxes.iter().map(|t| t.taxable)));
        prop_assert_eq!(totals.tax, sum(totals.taxes.iter().map(|t| t.tax)));
        prop_assert_eq!(totals.gross, totals.net + totals.tax);
        prop_assert_eq!(totals.payable, totals.gross - totals.prepaid + totals.rounding);
    }

    #[test]
    fn gross_prices_are_payable_to_the_cent(document in any_document()) {
        let totals = document.totals().unwrap();
        match document.prices {
            Prices::Gross => prop_assert_eq!(totals.payable, entered(&document, &totals)),
            Prices::Net => prop_assert_eq!((totals.net, totals.rounding), (entered(&document, &totals), Money::ZERO)),
        }
    }

    #[test]
    fn a_document_given_back_mirrors_the_one_that_was_sold(document in any_document()) {
        let mut back = document.clone();
        for line in &mut back.lines {
            line.quantity = -line.quantity;
            line.charge = -line.charge;
        }
        for charge in &mut back.charges {
            charge.amount = -charge.amount;
        }
        let (sold, back) = (document.totals().unwrap(), back.totals().unwrap());
        prop_assert_eq!(back.payable, -sold.payable);
        prop_assert_eq!(back.tax, -sold.tax);
        for (a, b) in sold.lines.iter().zip(&back.lines) {
            prop_assert_eq!(a.net, -b.net);
        }
    }

    #[test]
    fn a_deposit_comes_to_its_amount_to_the_cent(document in any_document(), steps in 1..=1_000_000_i64) {
        let totals = document.totals().unwrap();
        let percent = Percent::new(Decimal::new(steps, 4)).unwrap();
        let amount = percent.of(totals.promised(), Rounding::HalfAwayFromZero).unwrap();
        match deposit(&totals, DepositSize::Percent(percent), Currency::EUR, document.profile) {
            Ok(asked) => prop_assert_eq!(asked.totals().unwrap().payable, amount),
            Err(_) => prop_assert!(amount <= Money::ZERO || totals.gross <= Money::ZERO),
        }
    }

    /// The final invoice is the whole less its deposits to the cent, and rounding adds only a few minor units.
    #[test]
    fn a_final_invoice_is_payable_less_its_deposits_to_the_cent(
        document in any_document(), steps in prop::collection::vec(1..=490_000_i64, 0..3),
    ) {
        let whole = document.totals().unwrap();
        let mut paid = Money::ZERO;
        let mut advances = Vec::new();
        for steps in &steps {
            let size = DepositSize::Percent(Percent::new(Decimal::new(*steps, 4)).unwrap());
            let Ok(asked) = deposit(&whole, size, Currency::EUR, document.profile) else { continue };
            let advance = Advance::of(&asked, &[]).unwrap();
            prop_assert_eq!(advance.gross(), asked.totals().unwrap().payable);
            paid += advance.gross();
            advances.push(advance);
        }
        let last = deduct(&document, &advances).unwrap();
        prop_assert_eq!(last.totals.payable, whole.promised() - paid);
        prop_assert!(last.lines.iter().all(|line| last.document.lines[line.line].quantity.is_sign_negative()));
        let few = 8 * i64::try_from(whole.taxes.len()).unwrap();
        let added = last.document.rounding.minor();
        prop_assert!(added.abs() <= few, "{added} for {few}");
        if document.prices == Prices::Gross {
            prop_assert_eq!(added, 0);
        }
        // Crediting the final invoice in full credits its whole total.
        let full = Left::of(&last.document).unwrap();
        prop_assert_eq!(full.whole, last.totals.payable);
    }

    /// Whatever is credited, negative lines included: a credit note is within the rest of each line and of the whole,
    /// or it is refused. Rounding never hides more than a few minor units.
    #[test]
    fn a_credit_note_is_within_what_is_left_or_refused(
        mut document in any_document(), back in prop::collection::vec(any::<bool>(), 8), own in -5..=5_i64,
        pieces in prop::collection::vec((0..8_usize, -150..=150_i64, any::<bool>()), 1..10),
    ) {
        for (line, back) in document.lines.iter_mut().zip(&back) {
            if *back {
                line.quantity = -line.quantity;
                line.charge = -line.charge;
            }
        }
        document.discounts.clear();
        document.rounding = Money::from_minor(own);
        let mut left = Left::of(&document).unwrap();
        if left.whole.is_negative() {
            return Ok(());
        }
        let lines = document.lines.len();
        let few = 4 * i64::try_from(lines + document.charges.len()).unwrap() + own.abs();
        for (line, percent, two) in pieces {
            let line = line % lines;
            let amount = Money::from_minor(left.lines[line].minor() * percent / 100);
            let mut wanted = vec![CreditLine { line, amount: Some(amount) }];
            if two && lines > 1 {
                wanted.push(CreditLine { line: (line + 1) % lines, amount: None });
            }
            let Ok(credit) = credit_note(&document, &left, &wanted) else { continue };
            for &(at, amount) in &credit.lines {
                prop_assert!(amount.abs() <= left.lines[at].abs());
                prop_assert_eq!(credit.left.lines[at], left.lines[at] - amount);
            }
            prop_assert!(!credit.totals.payable.is_negative() && credit.totals.payable <= left.whole);
            prop_assert_eq!(credit.left.whole, left.whole - credit.totals.payable);
            let rounding = credit.document.rounding.minor();
            prop_assert!(rounding.abs() <= few, "{rounding} for {few}");
            left = credit.left;
        }
    }

    /// Credits an invoice line by line in pieces: no piece and no sum goes beyond the invoice, and when nothing of
    /// the lines is left, exactly the invoice was given back.
    #[test]
    fn credit_notes_never_exceed_the_invoice_and_use_it_up_exactly(
        document in any_document(), pieces in prop::collection::vec((0..8_usize, 1..=100_i64), 1..12),
    ) {
        let full = Left::of(&document).unwrap();
        let mut left = full.clone();
        let mut given = Money::ZERO;
        for (line, percent) in pieces {
            let line = line % document.lines.len();
            let amount = Money::from_minor(left.lines[line].minor() * percent / 100);
            if amount.is_zero() {
                continue;
            }
            let credit = credit_note(&document, &left, &[CreditLine { line, amount: Some(amount) }]).unwrap();
            prop_assert_eq!(left.lines[line] - credit.left.lines[line], amount);
            given += credit.totals.payable;
            prop_assert!(given <= full.whole);
            left = credit.left;
        }
        if !left.is_used_up() {
            let rest: Vec<_> = (0..document.lines.len()).map(|line| CreditLine { line, amount: None }).collect();
            let credit = credit_note(&document, &left, &rest).unwrap();
            given += credit.totals.payable;
            left = credit.left;
        }
        prop_assert!(left.is_used_up());
        prop_assert_eq!((given, left.whole), (full.whole, Money::ZERO));
    }

    #[test]
    fn an_invoice_keeps_what_was_paid_open_and_released_in_balance(
        whole in 1..1_000_000_i64, moves in prop::collection::vec((any::<bool>(), 1..400_000_i64), 0..8),
    ) {
        let whole = Money::from_minor(whole);
        let mut account = Account { state: State::Issued, open: whole, paid: Money::ZERO };
        let mut credited = Money::ZERO;
        for (pays, amount) in moves {
            let amount = Money::from_minor(amount);
            if pays {
                let Ok(received) = account.pay(amount) else { continue };
                prop_assert_eq!(received.used + received.surplus, amount);
                account = received.account;
            } else {
                let Ok(credit) = account.credit(amount, false) else { continue };
                prop_assert_eq!(credit.covered + credit.released, amount);
                credited += credit.covered;
                account = credit.account;
            }
            prop_assert!(!account.open.is_negative());
            prop_assert_eq!(account.open + account.paid + credited, whole);
            prop_assert_eq!(account.state == State::Paid, account.open.is_zero());
        }
    }

    #[test]
    fn wild_numbers_are_refused_and_never_overflow(
        quantity in any::<i64>(), quantity_scale in 0..=28_u32, price in any::<i64>(), price_scale in 0..=28_u32,
        base in any::<i64>(), base_scale in 0..=28_u32, money in any::<[i64; 5]>(),
        prices in prop::sample::select(vec![Prices::Net, Prices::Gross]), profile in any_profile(),
    ) {
        let [allowance, charge, prepaid, rounding, amount] = money.map(Money::from_minor);
        let treatment = Treatment::new(Category::Standard, Rate::whole(100)).unwrap();
        let line = Line {
            base_quantity: Decimal::new(base, base_scale),
            allowance,
            charge,
            ..Line::new(Decimal::new(quantity, quantity_scale), Decimal::new(price, price_scale), treatment)
        };
        let mut document = Document::new(Currency::of("KWD").unwrap(), prices, profile, vec![line]);
        document.prepaid = prepaid;
        document.rounding = rounding;
        let discount = DiscountSize::Amount(amount);
        document.discounts.push(Discount { size: discount, reason: "x".into() });
        if let Ok(totals) = document.totals() {
            prop_assert_eq!(totals.payable, totals.gross - prepaid + rounding);
        }
        document.discounts.clear();
        document.prepaid = Money::ZERO;
        document.rounding = Money::ZERO;
        document.lines[0].allowance = Money::ZERO;
        document.lines[0].charge = Money::ZERO;
        if let Ok(totals) = document.totals() {
            prop_assert!(totals.payable.minor().unsigned_abs() <= 1_000_000_000_000);
        }
    }
}
