//! Published examples of deposits and credit notes, recomputed to the cent.

use baywright_domain::document::{Adjustment, Document, Line, Prices};
use baywright_domain::invoice::{Advance, Correction, Left, correct, deduct};
use baywright_domain::money::{Currency, Money};
use baywright_domain::tax::{Category, Profile, Rate, Treatment};
use rust_decimal::Decimal;

fn treatment(rate: u8) -> Treatment {
    Treatment::new(Category::Standard, Rate::whole(rate)).unwrap()
}

/// A document without tax in its prices: quantity and price in whole major units, at one rate.
fn net(currency: &str, lines: &[(i64, i64)], rate: u8) -> Document {
    let line = |&(quantity, price): &(i64, i64)| Line::new(quantity.into(), price.into(), treatment(rate));
    let currency = Currency::of(currency).unwrap();
    Document::new(currency, Prices::Net, Profile::EN_16931, lines.iter().map(line).collect())
}

fn major(amount: i64) -> Money {
    Money::from_minor(amount * 100)
}

/// Source: ConnectingEurope/eInvoicing-EN16931, validation 1.3.16, `BIS_Billing_30-Forskott_slutreglering.xml` (a final
/// settlement after an advance), figures only: 200,000 and 180 × 1,000 at 25 % make 475,000, of which 400,000 were paid and
/// 75,000 are payable.
fn settlement() -> Document {
    net("SEK", &[(1, 200_000), (180, 1_000)], 25)
}

#[test]
fn an_advance_without_an_invoice_of_its_own_is_prepaid() {
    let document = Document { prepaid: major(400_000), ..settlement() };
    let totals = document.totals().unwrap();
    let figures = [totals.net, totals.tax, totals.gross, totals.prepaid, totals.payable];
    assert_eq!(figures, [380_000, 95_000, 475_000, 400_000, 75_000].map(major));
}

#[test]
fn an_advance_with_an_invoice_of_its_own_is_deducted_with_its_tax() {
    // The same advance with tax on its own invoice: 320,000 and 80,000. The final invoice states only the rest.
    let line = Line::new(Decimal::ONE, Decimal::from(400_000), treatment(25));
    let currency = Currency::of("SEK").unwrap();
    let deposit = Document::new(currency, Prices::Gross, Profile::EN_16931, vec![line]);
    let stated = deposit.totals().unwrap();
    assert_eq!((stated.net, stated.tax), (major(320_000), major(80_000)));
    let last = deduct(&settlement(), &[Advance::of(&deposit, &[]).unwrap()]).unwrap();
    let figures = [last.totals.net, last.totals.tax, last.totals.payable, last.totals.rounding];
    assert_eq!(figures, [60_000, 15_000, 75_000, 0].map(major));
}

/// Source: OpenPEPPOL/peppol-bis-invoice-3, v3.0.19, `base-example.xml` and `base-creditnote-correction.xml`, figures only: 7
/// × 400 less 3 × 500 and a charge of 25 at 25 % make 1,656.25, and the credit note has the same figures.
#[test]
fn a_credit_note_of_all_of_it_has_the_figures_of_its_invoice() {
    let mut invoice = net("EUR", &[(7, 400), (-3, 500)], 25);
    invoice.charges.push(Adjustment { amount: major(25), treatment: treatment(25), reason: Some("Insurance".into()) });
    let left = Left::of(&invoice).unwrap();
    assert_eq!(left.whole, Money::from_minor(165_625));
    let Correction { credit, draft } = correct(&invoice, &left).unwrap();
    let figures = [credit.totals.net, credit.totals.tax, credit.totals.payable];
    assert_eq!(figures, [132_500, 33_125, 165_625].map(Money::from_minor));
    assert_eq!((credit.document, credit.left.whole), (draft, Money::ZERO));
}

/// Source: `einvoice/b2b-deposit-discount.xml`, which the official rules (EN 16931 Schematron 1.3.16) accept: 89.00, 422.50
/// and 59.00 less 20.00 at 19 % make 655.10, of which 150.00 were paid.
#[test]
fn a_discounted_invoice_after_a_deposit_is_payable_as_the_official_rules_accept_it() {
    let mut invoice = net("EUR", &[(1, 89), (1, 0), (1, 59)], 19);
    invoice.lines[1] = Line::new(Decimal::new(65, 1), Decimal::from(65), treatment(19));
    let reason = Some("Returning customer".into());
    invoice.allowances.push(Adjustment { amount: major(20), treatment: treatment(19), reason });
    invoice.prepaid = major(150);
    let totals = invoice.totals().unwrap();
    let figures = [totals.sum_of_lines, totals.net, totals.tax, totals.gross, totals.payable];
    assert_eq!(figures, [57_050, 55_050, 10_460, 65_510, 50_510].map(Money::from_minor));
    // 150.00 with an invoice of its own: 126.05 and 23.95, so that 424.45 and 80.65 remain.
    let line = Line::new(Decimal::ONE, Decimal::from(150), treatment(19));
    let deposit = Document::new(Currency::EUR, Prices::Gross, Profile::EN_16931, vec![line]);
    let whole = Document { prepaid: Money::ZERO, ..invoice };
    let last = deduct(&whole, &[Advance::of(&deposit, &[]).unwrap()]).unwrap();
    let figures = [last.totals.net, last.totals.tax, last.totals.rounding, last.totals.payable];
    assert_eq!(figures, [42_445, 8_065, 0, 50_510].map(Money::from_minor));
}
