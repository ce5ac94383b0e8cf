//! The life of an invoice, move by move.

use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::*;
use crate::document::{Adjustment, Discount, DiscountSize, Document, Line, Prices};
use crate::money::{Currency, Percent};
use crate::tax::{Profile, Rate, Treatment};

fn minor(amount: i64) -> Money {
    Money::from_minor(amount)
}

fn treatment(rate: u8) -> Treatment {
    Treatment::new(Category::Standard, Rate::whole(rate)).unwrap()
}

/// Lines of one piece each: price in minor units, rate.
fn document(prices: Prices, lines: &[(i64, u8)]) -> Document {
    let line = |&(price, rate): &(i64, u8)| Line::new(Decimal::ONE, Decimal::new(price, 2), treatment(rate));
    Document::new(Currency::EUR, prices, Profile::EN_16931, lines.iter().map(line).collect())
}

fn account(state: State) -> Account {
    let (open, paid) = match state {
        State::Draft => (0, 0),
        State::Issued => (10_000, 0),
        State::PartPaid => (6_000, 4_000),
        State::Paid => (0, 10_000),
        State::Credited | State::WrittenOff => (0, 4_000),
    };
    Account { state, open: minor(open), paid: minor(paid) }
}

#[test]
fn only_the_listed_moves_of_an_invoice_are_allowed() {
    let totals = document(Prices::Gross, &[(10_000, 19)]).totals().unwrap();
    for &state in State::ALL {
        let now = account(state);
        let live = matches!(state, State::Issued | State::PartPaid);
        assert_eq!(now.issue(&totals).is_ok(), state == State::Draft, "issue {state:?}");
        assert_eq!(now.pay(minor(1)).is_ok(), live, "pay {state:?}");
        assert_eq!(now.write_off().is_ok(), live, "write off {state:?}");
        assert_eq!(now.credit(minor(1), false).is_ok(), live || state == State::Paid, "credit {state:?}");
        assert_eq!(State::parse(state.as_str()), Ok(state));
    }
    let refused = account(State::PartPaid).issue(&totals).unwrap_err();
    assert_eq!(
        alloc::string::ToString::to_string(&refused),
        "the invoice is part paid and can't be issued; credit it and write a new one"
    );
}

#[test]
fn a_payment_in_part_whole_or_over_moves_the_invoice() {
    let issued = account(State::Issued);
    let part = issued.pay(minor(4_000)).unwrap();
    assert_eq!((part.account, part.surplus), (account(State::PartPaid), Money::ZERO));
    let rest = part.account.pay(minor(6_000)).unwrap();
    assert_eq!((rest.account, rest.surplus), (account(State::Paid), Money::ZERO));
    let over = issued.pay(minor(12_345)).unwrap();
    assert_eq!((over.account, over.used, over.surplus), (account(State::Paid), minor(10_000), minor(2_345)));
}

#[test]
fn an_invoice_that_deposits_cover_is_paid_when_issued() {
    let mut whole = document(Prices::Gross, &[(10_000, 19)]);
    whole.prepaid = minor(10_000);
    let issued = Account::DRAFT.issue(&whole.totals().unwrap()).unwrap();
    assert_eq!((issued.state, issued.open), (State::Paid, Money::ZERO));
    whole.prepaid = minor(10_001);
    assert_eq!(Account::DRAFT.issue(&whole.totals().unwrap()), Err(BadInvoice::Negative));
}

#[test]
fn out_of_scope_supplies_stand_alone_on_an_invoice() {
    let mut mixed = document(Prices::Net, &[(10_000, 19), (500, 19)]);
    mixed.lines[1].treatment = Treatment::new(Category::OutOfScope, Rate::ZERO).unwrap();
    assert_eq!(Account::DRAFT.issue(&mixed.totals().unwrap()), Err(BadInvoice::OutOfScopeMixed));
    mixed.lines.remove(0);
    assert!(Account::DRAFT.issue(&mixed.totals().unwrap()).is_ok());
}

#[test]
fn a_credit_note_lowers_what_is_open_and_releases_what_was_paid() {
    let part = account(State::Issued).credit(minor(3_000), false).unwrap();
    assert_eq!((part.account.state, part.account.open, part.released), (State::Issued, minor(7_000), minor(0)));
    let paid = account(State::PartPaid).credit(minor(6_500), false).unwrap();
    assert_eq!((paid.account.state, paid.covered, paid.released), (State::Paid, minor(6_000), minor(500)));
    let all = account(State::Paid).credit(minor(10_000), true).unwrap();
    assert_eq!((all.account.state, all.released), (State::Credited, minor(10_000)));
}

#[test]
fn a_write_off_says_how_much_was_given_up() {
    let (after, lost) = account(State::PartPaid).write_off().unwrap();
    assert_eq!((after.state, after.open, lost), (State::WrittenOff, Money::ZERO, minor(6_000)));
}

#[test]
fn an_invoice_is_overdue_from_the_day_after_its_due_date() {
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    let due = due_on(day("2028-02-20"), 14);
    assert_eq!(due, day("2028-03-05"));
    assert_eq!(days_overdue(due, day("2028-03-05")), 0);
    assert_eq!(days_overdue(due, day("2028-03-06")), 1);
    assert_eq!(days_overdue(due, day("2028-01-01")), 0);
}

#[test]
fn a_deposit_is_split_over_the_rates_and_comes_to_the_cent() {
    let whole = document(Prices::Net, &[(33_333, 19), (10_001, 7)]);
    let totals = whole.totals().unwrap();
    // 333.33 + 63.33 and 100.01 + 7.00: 503.67 in all, of which 30 % is 151.10.
    let thirty = DepositSize::Percent(Percent::whole(30));
    let first = deposit(&totals, thirty, Currency::EUR, Profile::EN_16931).unwrap();
    let deposit_totals = first.totals().unwrap();
    assert_eq!(deposit_totals.payable, minor(15_110));
    assert_eq!(first.lines.iter().map(|l| l.treatment).collect::<Vec<_>>(), [treatment(19), treatment(7)]);
}

#[test]
fn a_final_invoice_shows_the_whole_and_deducts_each_deposit_by_tax() {
    for prices in [Prices::Net, Prices::Gross] {
        let whole = document(prices, &[(33_333, 19), (10_001, 7)]);
        let totals = whole.totals().unwrap();
        let thirty = DepositSize::Percent(Percent::whole(30));
        let first = deposit(&totals, thirty, Currency::EUR, Profile::EN_16931).unwrap();
        let paid = first.totals().unwrap();
        let last = deduct(&whole, &[Advance::of(&first, &[]).unwrap()]).unwrap();
        let lines = last.lines.iter().map(|line| (line.line, line.deposit)).collect::<Vec<_>>();
        assert_eq!(lines, [(2, 0), (3, 0)]);
        assert_eq!(last.totals.payable, totals.promised() - paid.promised());
        assert!(last.document.rounding.abs() <= minor(2), "{prices:?}: {}", last.document.rounding);
        // Tax is stated once: the tax that the two documents state together is the tax of the whole, except for
        // separate roundings.
        let stated = last.totals.tax + paid.tax - totals.tax;
        assert!(stated.abs() <= minor(2), "{prices:?}: {stated}");
    }
}

#[test]
fn deposits_beyond_the_work_are_credited_before_they_are_deducted() {
    let quoted = document(Prices::Gross, &[(10_000, 19), (5_000, 7)]).totals().unwrap();
    let size = DepositSize::Amount(minor(6_000));
    let first = deposit(&quoted, size, Currency::EUR, Profile::EN_16931).unwrap();
    // The work became less than the deposit.
    let whole = document(Prices::Gross, &[(4_500, 19)]);
    let too_much = deduct(&whole, &[Advance::of(&first, &[]).unwrap()]);
    assert_eq!(too_much, Err(BadDeduction::MoreThanTheWhole));
    // 60.00 is 40.00 and 20.00 of the two taxes; the second is credited.
    let back = credit_note(&first, &Left::of(&first).unwrap(), &[whole_line(1)]).unwrap();
    let advance = Advance::of(&first, &[back]).unwrap();
    assert_eq!(advance.gross(), minor(4_000));
    assert_eq!(deduct(&whole, &[advance]).unwrap().totals.payable, minor(500));
    let net = document(Prices::Net, &[(100, 19)]);
    assert_eq!(Advance::of(&net, &[]), Err(BadDeduction::NoDeposit));
}

#[test]
fn a_rate_that_moved_since_the_deposit_taxes_all_of_the_work_at_the_rate_of_its_supply() {
    // Germany's standard rate went from 16 % to 19 % on 1 January 2021 (UStG, 28 para. 1 and 27 para. 1): a deposit of 116.00
    // in December stated 16.00 of tax, and the work of 1,000.00 without tax was done in January.
    let first = document(Prices::Gross, &[(11_600, 16)]);
    let whole = document(Prices::Net, &[(100_000, 19)]);
    let last = deduct(&whole, &[Advance::of(&first, &[]).unwrap()]).unwrap();
    let rows: Vec<_> = last.totals.taxes.iter().map(|row| (row.taxable.minor(), row.tax.minor())).collect();
    assert_eq!(rows, [(100_000, 19_000), (-10_000, -1_600)]);
    assert_eq!(last.totals.payable, minor(119_000 - 11_600));
}

#[test]
fn a_deposit_never_changes_what_a_credited_line_comes_to() {
    let mut whole = document(Prices::Gross, &[(20_000, 19), (30_000, 19)]);
    whole.discounts.push(Discount { size: DiscountSize::Percent(Percent::whole(10)), reason: "spring".into() });
    let first = document(Prices::Gross, &[(44_999, 19)]);
    let last = deduct(&whole, &[Advance::of(&first, &[]).unwrap()]).unwrap();
    assert_eq!(last.totals.payable, minor(1));
    let left = Left::of(&last.document).unwrap();
    assert_eq!(left.lines, [18_000, 27_000, -44_999].map(minor));
    // Nothing more can be credited of one cent, unless the deposit is refunded with it.
    assert_eq!(credit_note(&last.document, &left, &[whole_line(0)]), Err(BadCredit::TooMuchOfAll));
    let with_deposit = [whole_line(0), CreditLine { line: 2, amount: Some(minor(-18_000)) }];
    assert_eq!(credit_note(&last.document, &left, &with_deposit).unwrap().totals.payable, Money::ZERO);
}

fn table(rates: &[(&str, u8)]) -> crate::tax::RateTable {
    let rates = rates.iter().map(|&(from, rate)| (from.parse().unwrap(), Rate::whole(rate)));
    crate::tax::RateTable::new(Category::Standard, rates).unwrap()
}

#[test]
fn a_rate_that_moves_between_quote_and_supply_keeps_net_prices_net_and_gross_prices_gross() {
    // Germany's standard rate of 2020 (UStG, 28 para. 1); the second tax stays at 7 %.
    let standard = table(&[("2007-01-01", 19), ("2020-07-01", 16)]);
    let reduced = table(&[("2007-01-01", 7)]);
    let july = "2020-07-01".parse().unwrap();
    for (prices, payable) in [(Prices::Net, 11_600 + 5_350), (Prices::Gross, 10_000 + 5_000)] {
        let quoted = document(prices, &[(10_000, 19), (5_000, 7)]);
        let now = retaxed(&quoted, &[&standard, &reduced], july).unwrap();
        assert_eq!(now.moved, [MovedRate { line: 0, from: treatment(19), to: treatment(16) }]);
        assert_eq!(now.totals.payable, minor(payable));
        let june = retaxed(&quoted, &[&standard, &reduced], "2020-06-30".parse().unwrap()).unwrap();
        assert_eq!((june.document, june.moved.len()), (quoted, 0));
    }
    let quoted = document(Prices::Net, &[(10_000, 19)]);
    assert_eq!(retaxed(&quoted, &[], july), Err(BadRetax::Tables));
    assert!(matches!(retaxed(&quoted, &[&standard], "2006-12-31".parse().unwrap()), Err(BadRetax::Rate(_))));
}

#[test]
fn a_discount_follows_its_lines_to_their_new_rates() {
    let moves = table(&[("2007-01-01", 19), ("2020-07-01", 16)]);
    let stays = table(&[("2007-01-01", 19)]);
    let july = "2020-07-01".parse().unwrap();
    let mut quoted = document(Prices::Gross, &[(10_000, 19), (5_000, 19)]);
    quoted.discounts.push(Discount { size: DiscountSize::Percent(Percent::whole(10)), reason: "spring".into() });
    let now = retaxed(&quoted, &[&moves, &stays], july).unwrap();
    let parts: Vec<_> = now.document.allowances.iter().map(|a| (a.treatment, a.amount.minor())).collect();
    assert_eq!(parts, [(treatment(16), 1_000), (treatment(19), 500)]);
    assert_eq!(now.totals.payable, minor(13_500));
    quoted.charges.push(Adjustment { amount: minor(100), treatment: treatment(7), reason: None });
    assert_eq!(retaxed(&quoted, &[&moves, &stays], july), Err(BadRetax::NoLine("charge")));
}

#[test]
fn a_credit_note_never_hides_an_excess_as_rounding() {
    for prices in [Prices::Gross, Prices::Net] {
        let mut invoice = document(prices, &[(9_000, 19), (59_000, 19), (29_000, 19), (59_000, 19)]);
        invoice.lines[3].quantity = -Decimal::ONE;
        let left = Left::of(&invoice).unwrap();
        assert_eq!(credit_note(&invoice, &left, &[whole_line(1)]), Err(BadCredit::TooMuchOfAll));
        let both = credit_note(&invoice, &left, &[whole_line(1), whole_line(3)]).unwrap();
        assert_eq!((both.totals.payable, both.totals.rounding), (Money::ZERO, Money::ZERO));
        assert_eq!(both.left.whole, left.whole);
    }
}

#[test]
fn a_line_that_is_credited_whole_is_the_invoices_own_line() {
    let mut invoice = document(Prices::Net, &[(1_999, 19), (5_000, 7)]);
    invoice.lines[0].quantity = Decimal::from(3);
    let left = Left::of(&invoice).unwrap();
    let credit = credit_note(&invoice, &left, &[whole_line(0)]).unwrap();
    assert_eq!(credit.document.lines, invoice.lines[..1]);
    // 59.97 and 11.39 of tax; 50.00 and 3.50 of tax remain.
    assert_eq!((credit.totals.payable, credit.left.whole), (minor(7_136), minor(5_350)));
}

#[test]
fn a_correction_credits_what_is_left_and_drafts_it_again() {
    let mut invoice = document(Prices::Gross, &[(9_999, 19), (5_000, 7)]);
    invoice.rounding = minor(1);
    let left = Left::of(&invoice).unwrap();
    let Correction { credit, draft } = correct(&invoice, &left).unwrap();
    assert_eq!((credit.totals.payable, credit.left.whole, &draft), (minor(15_000), Money::ZERO, &invoice));
    assert_eq!(correct(&invoice, &credit.left), Err(BadCredit::Nothing));
    // After an earlier credit note the draft is the rest.
    let earlier = credit_note(&invoice, &left, &[whole_line(1)]).unwrap();
    let Correction { credit, draft } = correct(&invoice, &earlier.left).unwrap();
    assert_eq!((credit.totals.payable, draft.totals().unwrap().payable), (minor(10_000), minor(10_000)));
}

#[test]
fn a_deposit_is_above_nothing_and_no_more_than_the_whole() {
    let totals = document(Prices::Gross, &[(9_999, 19)]).totals().unwrap();
    for (amount, fine) in [(0, false), (-1, false), (1, true), (9_999, true), (10_000, false)] {
        let asked = deposit(&totals, DepositSize::Amount(minor(amount)), Currency::EUR, Profile::EN_16931);
        assert_eq!(asked.is_ok(), fine, "{amount}");
    }
}

#[test]
fn an_invoice_is_what_was_signed_with_what_was_signed_later() {
    for prices in [Prices::Gross, Prices::Net] {
        let mut quote = document(prices, &[(9_999, 19), (5_005, 7)]);
        quote.discounts.push(Discount { size: DiscountSize::Percent(Percent::whole(10)), reason: "spring".into() });
        let mut less = document(prices, &[(1_501, 19)]);
        less.lines[0].quantity = -Decimal::ONE;
        let more = document(prices, &[(9_999, 19), (333, 7)]);
        let (whole, totals) = agreed(&quote, &[less.clone(), more.clone()]).unwrap();
        assert_eq!((whole.lines.len(), whole.discounts.len(), whole.allowances.len()), (5, 0, 2));
        let parts = [&quote, &less, &more].map(|part| part.totals().unwrap());
        // 10 % of 150.04 is 15.00, whatever was added later.
        assert_eq!(whole.allowances.iter().map(|a| a.amount).sum::<Money>(), minor(1_500));
        match prices {
            Prices::Gross => assert_eq!(totals.payable, parts.iter().map(Totals::promised).sum()),
            Prices::Net => assert_eq!(totals.net, parts.iter().map(|part| part.net).sum()),
        }
    }
}

#[test]
fn what_was_agreed_in_other_prices_is_invoiced_on_its_own() {
    let quote = document(Prices::Gross, &[(9_999, 19)]);
    assert_eq!(agreed(&quote, &[document(Prices::Net, &[(100, 19)])]), Err(NotTogether::Different));
    let many = document(Prices::Gross, &[(100, 19); 999]);
    assert_eq!(agreed(&quote, core::slice::from_ref(&many)).map(|(whole, _)| whole.lines.len()), Ok(1_000));
    assert_eq!(agreed(&many, &[quote.clone(), quote]), Err(NotTogether::TooMany));
}

fn whole_line(line: usize) -> CreditLine {
    CreditLine { line, amount: None }
}

#[test]
fn a_credit_note_of_all_lines_mirrors_the_invoice() {
    let mut invoice = document(Prices::Gross, &[(9_999, 19), (5_000, 7)]);
    let size = DiscountSize::Percent(Percent::whole(10));
    invoice.discounts.push(Discount { size, reason: "spring".into() });
    invoice.prepaid = minor(4_000);
    let left = Left::of(&invoice).unwrap();
    let credit = credit_note(&invoice, &left, &[whole_line(1), whole_line(0)]).unwrap();
    let totals = invoice.totals().unwrap();
    assert_eq!(credit.totals.taxes, totals.taxes);
    assert_eq!((credit.totals.payable, credit.left.whole), (totals.promised(), Money::ZERO));
    assert!(credit.left.is_used_up());
}

#[test]
fn a_credit_note_never_exceeds_what_is_left_of_a_line() {
    let invoice = document(Prices::Gross, &[(10_000, 19), (5_000, 7)]);
    let part =
        |left: &Left, line, amount| credit_note(&invoice, left, &[CreditLine { line, amount: Some(minor(amount)) }]);
    let full = Left::of(&invoice).unwrap();
    let first = part(&full, 0, 6_000).unwrap();
    assert_eq!((first.totals.payable, first.left.lines[0]), (minor(6_000), minor(4_000)));
    assert_eq!(part(&first.left, 0, 4_001), Err(BadCredit::TooMuch(0)));
    assert_eq!(part(&first.left, 0, -1), Err(BadCredit::TooMuch(0)));
    assert_eq!(part(&first.left, 2, 1), Err(BadCredit::NoSuchLine(2)));
    assert_eq!(part(&first.left, 0, 0), Err(BadCredit::Nothing));
    assert_eq!(credit_note(&invoice, &full, &[whole_line(0), whole_line(0)]), Err(BadCredit::Twice(0)));
    assert_eq!(credit_note(&invoice, &full, &[]), Err(BadCredit::Nothing));
    assert_eq!(full.less(&first.lines, first.totals.payable), first.left);
}

#[test]
fn a_treatment_without_lines_is_credited_with_the_whole_only() {
    let mut invoice = document(Prices::Net, &[(10_000, 19), (5_000, 19)]);
    let exempt = Treatment::new(Category::Exempt, Rate::ZERO).unwrap();
    invoice.charges.push(Adjustment { amount: minor(100), treatment: exempt, reason: None });
    let left = Left::of(&invoice).unwrap();
    assert_eq!(credit_note(&invoice, &left, &[whole_line(0)]), Err(BadCredit::OnlyWhole));
    assert!(credit_note(&invoice, &left, &[whole_line(0), whole_line(1)]).is_ok());
}
