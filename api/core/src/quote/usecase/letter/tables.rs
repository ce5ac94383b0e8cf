//! The lines of a document as tables of a mail: included lines add up to a total, optional ones are listed separately.

use baywright_domain::document::Prices;

use crate::mail::compose::{Line, Table};
use crate::platform::kept::Number;
use crate::quote::kept::{QuoteDocument, QuoteLine, QuoteTotals};
use crate::signoff::usecase::Signoff;

/// The offer in a document: the included lines with their total under `heading`, then the optional ones.
pub fn offered(document: &QuoteDocument, heading: &str, total: &str) -> Vec<Table> {
    let (included, optional): (Vec<_>, Vec<_>) = document.lines.iter().enumerate().partition(|(_, line)| line.required);
    let mut tables = Vec::new();
    if let Some(totals) = &document.required_totals {
        let lines = included.into_iter().map(|(_, line)| line_of(line));
        tables.push(Table { heading: heading.to_owned(), lines: lines.chain(sums(document, totals, total)).collect() });
    }
    if !optional.is_empty() {
        let heading = if tables.is_empty() { "Choose from" } else { "You can add" };
        let lines = optional.into_iter().map(|(place, line)| with_conflicts(document, place, line));
        tables.push(Table { heading: heading.to_owned(), lines: lines.collect() });
    }
    tables
}

/// The lines that a sign-off took, with their totals.
pub fn taken(document: &QuoteDocument, signoff: &Signoff, totals: &QuoteTotals, total: &str) -> Table {
    let lines = signoff.choices.iter().filter_map(|place| document.lines.get(*place)).map(line_of);
    Table { heading: "What you ordered".to_owned(), lines: lines.chain(sums(document, totals, total)).collect() }
}

/// Whether the prices of a document include VAT, in words.
pub fn about_vat(document: &QuoteDocument) -> &'static str {
    if document.lines.iter().all(|line| line.tax.rate.0.is_zero()) {
        return "No VAT is charged";
    }
    match document.prices.0 {
        Prices::Gross => "Include VAT",
        Prices::Net => "Exclude VAT; the total includes it",
    }
}

/// A line with its amount after its discount, so that the lines add up to the total; a note names the discount. A line
/// that takes one piece off says so by its name and amount.
fn line_of(line: &QuoteLine) -> Line {
    let several = line.quantity.0.abs() != rust_decimal::Decimal::ONE;
    let what = if several { format!("{} × {}", plain(line.quantity), line.name) } else { line.name.clone() };
    let mut shown = Line::plain(what, &line.amount);
    if several {
        shown = shown.noting(format!("{} each", line.unit_price));
    }
    if !line.discount.is_zero() {
        shown = shown.discounted(&line.discount, line.discount_reason.as_deref());
    }
    shown
}

/// An optional line, with the lines that it excludes.
fn with_conflicts(document: &QuoteDocument, place: usize, line: &QuoteLine) -> Line {
    let here = u32::try_from(place).unwrap_or(u32::MAX);
    let others = document.conflicts.iter().filter_map(|conflict| match (conflict.one, conflict.other) {
        (one, other) if one == here => Some(other),
        (one, other) if other == here => Some(one),
        _ => None,
    });
    let named = others.filter_map(|other| document.lines.get(usize::try_from(other).ok()?));
    named.fold(line_of(line), |shown, other| shown.noting(format!("Choose this or {}, not both", other.name)))
}

/// The rows between lines and total: discounts on the whole, VAT if prices are without it, the total.
fn sums(document: &QuoteDocument, totals: &QuoteTotals, label: &str) -> Vec<Line> {
    let mut sums = Vec::new();
    if !totals.discounts.is_zero() {
        let reasons: Vec<&str> = document.discounts.iter().map(|discount| discount.reason.as_str()).collect();
        sums.push(Line::plain(format!("Discount: {}", reasons.join(", ")), &totals.discounts.less()));
    }
    let mut total = Line::total(label, &totals.payable);
    for tax in totals.taxes.iter().filter(|tax| !tax.tax.is_zero()) {
        let rate = plain(tax.rate);
        match document.prices.0 {
            Prices::Net => sums.push(Line::plain(format!("VAT at {rate} %"), &tax.tax)),
            Prices::Gross => total = total.noting(format!("This includes {} of VAT at {rate} %", tax.tax)),
        }
    }
    if document.prices.0 == Prices::Net && !totals.rounding.is_zero() {
        sums.push(Line::plain("Rounding", &totals.rounding));
    }
    sums.push(total);
    sums.extend(totals.deposit.as_ref().map(|deposit| Line::plain("Deposit, included in the total", deposit)));
    sums
}

/// A number without trailing zeros.
fn plain(number: Number) -> String {
    number.0.normalize().to_string()
}
