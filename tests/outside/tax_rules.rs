//! Tax amounts that authorities and standards have published.
//!
//! Source: `data/tax/SOURCE.md`; every row names its page. Each row is computed with the profile that its country's
//! rule asks for, or is in [`LEFT_OUT`] with the reason.

use baywright_domain::document::{Document, Line, Prices};
use baywright_domain::money::{Currency, Money, Percent, Rounding, read_decimal};
use baywright_domain::tax::{Basis, Category, Profile, Treatment, tax_on, within};
use rust_decimal::Decimal;
use serde_json::Value;

/// Published rows that are not a rule of ours: how the row is known, and why it is left out.
const LEFT_OUT: [(&str, &str); 7] = [
    ("uk-700-17.5.2-a", "tax of one unit to a tenth of a penny: only for retailers who print unit tax; we print none"),
    ("uk-700-17.5.2-b", "the same, to half a penny and never nil"),
    ("Notice 700 17.5.2 three digits", "the same rule as above, in the other file"),
    ("Notice 700 17.5.2 nearest 0.5p, never nil", "the same rule as above, in the other file"),
    ("5 % and 8 % each rounded", "two taxes on one line: a shop there sets one combined rate, the row above it"),
    (
        "GST then cash rounding",
        "cash rounding is given on the document (BT-114), not computed; checked up to its total",
    ),
    ("EN 16931 per category", "its lines are in another file and recomputed there, in module en16931"),
];

fn left_out(name: &str) -> bool {
    LEFT_OUT.iter().any(|(row, _)| *row == name)
}

fn text<'a>(row: &'a Value, name: &str) -> &'a str {
    row[name].as_str().unwrap_or_else(|| panic!("{name} of {row}"))
}

/// A field as an amount of a currency with two decimals.
fn money(row: &Value, name: &str) -> Money {
    Money::parse(text(row, name), Currency::EUR).unwrap()
}

fn rate(row: &Value) -> Percent {
    Percent::new(read_decimal(text(row, "rate")).unwrap()).unwrap()
}

/// What a document of one piece each at these prices is taxed.
fn tax_of_lines(prices: Prices, basis: Basis, lines: &[Value], rate: Percent) -> Money {
    let treatment = Treatment::new(Category::Standard, rate).unwrap();
    let price = |line: &Value| read_decimal(line.as_str().unwrap()).unwrap();
    let lines = lines.iter().map(|line| Line::new(Decimal::ONE, price(line), treatment)).collect();
    let profile = Profile { basis, ..Profile::EN_16931 };
    Document::new(Currency::EUR, prices, profile, lines).totals().unwrap().tax
}

/// An amount of tax before rounding, in the major unit, rounded as a rule says: as tax at 100 % of a hundredth part
/// would have it, which takes the fraction through the very rounding of the domain.
fn rounded(raw: &str, rounding: Rounding) -> Money {
    // 0.105 is 1 % of 10.50.
    let base = read_decimal(raw).unwrap() * Decimal::ONE_HUNDRED;
    tax_on(Money::parse(&base.to_string(), Currency::EUR).unwrap(), Percent::whole(1), rounding).unwrap()
}

#[test]
fn published_amounts_are_reached() {
    let mut checked = 0;
    for line in include_str!("../data/tax/tax_published.jsonl").lines() {
        let row: Value = serde_json::from_str(line).unwrap();
        let id = text(&row, "id");
        if left_out(id) {
            continue;
        }
        checked += 1;
        match text(&row, "kind") {
            "extract" => {
                let parts = within(money(&row, "gross"), rate(&row), Rounding::HalfAwayFromZero).unwrap();
                assert_eq!(parts.tax, money(&row, "tax"), "{id}");
            }
            "add" => {
                let tax = tax_on(money(&row, "net"), rate(&row), Rounding::HalfAwayFromZero).unwrap();
                assert_eq!((tax, money(&row, "net") + tax), (money(&row, "tax"), money(&row, "gross")), "{id}");
            }
            "tax" => {
                let tax = tax_on(money(&row, "net"), rate(&row), Rounding::HalfAwayFromZero).unwrap();
                assert_eq!(tax, money(&row, "tax"), "{id}");
            }
            "round" => {
                assert_eq!(rounded(text(&row, "raw"), Rounding::HalfAwayFromZero), money(&row, "rounded"), "{id}");
            }
            other => panic!("no check for {other}, row {id}"),
        }
    }
    assert_eq!(checked, 20);
}

#[test]
fn rounding_rules_of_authorities_are_profiles() {
    let file: Value = serde_json::from_str(include_str!("../data/tax/tax.json")).unwrap();
    let mut checked = 0;
    for row in file["cases"].as_array().unwrap() {
        let rule = text(row, "rule");
        if left_out(rule) {
            continue;
        }
        checked += 1;
        let list = |name: &str| row[name].as_array().unwrap().as_slice();
        let tax = match rule {
            "inclusive 3/23" => {
                within(money(row, "gross"), Percent::whole(15), Rounding::HalfAwayFromZero).unwrap().tax
            }
            "half a cent may be dropped (s 19O)" => rounded(text(row, "unrounded"), Rounding::HalfTowardZero),
            "half a cent up (s 9-90)" | "VATREC12030 0.5p or more up" => {
                rounded(text(row, "unrounded"), Rounding::HalfAwayFromZero)
            }
            "total invoice rule" => {
                tax_of_lines(Prices::Gross, Basis::Category, list("gross_lines"), Percent::whole(10))
            }
            "taxable supply rule, 2 decimals" => {
                tax_of_lines(Prices::Gross, Basis::Line, list("gross_lines"), Percent::whole(10))
            }
            "per line" => tax_of_lines(Prices::Net, Basis::Line, list("net_lines"), rate(row)),
            "on the sum" => tax_of_lines(Prices::Net, Basis::Category, list("net_lines"), rate(row)),
            "one combined rate" => tax_on(money(row, "net"), rate(row), Rounding::HalfAwayFromZero).unwrap(),
            "half away from zero" => {
                let even = tax_on(money(row, "taxable"), rate(row), Rounding::HalfEven).unwrap();
                assert_eq!(even, money(row, "half_even_would_be"), "{rule}");
                tax_on(money(row, "taxable"), rate(row), Rounding::HalfAwayFromZero).unwrap()
            }
            "negative mirrors positive" => {
                tax_on(money(row, "taxable"), rate(row), Rounding::HalfAwayFromZero).unwrap()
            }
            "unreachable inclusive price" => {
                let parts = within(money(row, "gross"), rate(row), Rounding::HalfAwayFromZero).unwrap();
                assert_eq!((parts.net, parts.tax), (money(row, "net"), money(row, "tax_forward")), "{rule}");
                assert_eq!(parts.rounding, Money::from_minor(-1), "{rule}");
                continue;
            }
            other => panic!("no check for {other}"),
        };
        assert_eq!(tax, money(row, "tax"), "{rule} of {}", row["j"]);
    }
    assert_eq!(checked, 15);
}

/// The left-out cash rounding up to where our rule goes: 1.83 + 2.86 and 5 % is 4.92; its 4.90 needs −0.02 on the
/// document.
#[test]
fn cash_rounding_is_given_on_the_document() {
    let file: Value = serde_json::from_str(include_str!("../data/tax/tax.json")).unwrap();
    let row = file["cases"].as_array().unwrap().iter().find(|r| r["rule"] == "GST then cash rounding").unwrap();
    let treatment = Treatment::new(Category::Standard, rate(row)).unwrap();
    let lines = row["net_lines"].as_array().unwrap().iter();
    let lines = lines.map(|l| Line::new(Decimal::ONE, read_decimal(l.as_str().unwrap()).unwrap(), treatment)).collect();
    let mut document = Document::new(Currency::of("CAD").unwrap(), Prices::Net, Profile::EN_16931, lines);
    assert_eq!(document.totals().unwrap().payable, money(row, "total"));
    document.rounding = Money::from_minor(-2);
    assert_eq!(document.totals().unwrap().payable, money(row, "cash"));
}
