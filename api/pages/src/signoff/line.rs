//! A line of an offer for the pages.

use baywright_core::platform::kept::said;
use baywright_core::quote::kept::{ExplainedRow, QuoteConflict, QuoteDocument, QuoteLine};
use baywright_domain::pricing::ExplainedKind;
use rust_decimal::Decimal;

use super::text::{capital, explained, working_time};

/// A line for the pages.
#[derive(Debug, Clone)]
pub(super) struct LineView {
    pub(super) place: usize,
    pub(super) name: String,
    pub(super) summary: String,
    pub(super) amount: String,
    /// Reason for a discount, and its amount.
    pub(super) discount: Option<(String, String)>,
    pub(super) time: String,
    pub(super) ticked: bool,
    pub(super) not_with: Vec<String>,
    /// Factors of the price, if the customer sees only these.
    pub(super) basis: Option<String>,
    /// Explanation of the price, if the customer sees all of it.
    pub(super) rows: Vec<(String, String)>,
}

/// Factors of a price, if the customer sees only these: `Size: large, condition: heavy`.
fn basis(line: &QuoteLine) -> Option<String> {
    let (mut words, mut saving) = (Vec::new(), None);
    for row in &line.explanation {
        match row.kind.0 {
            ExplainedKind::Size => words.push(row.label.clone()),
            ExplainedKind::Condition if row.figures.is_empty() => words.push(row.label.to_lowercase()),
            ExplainedKind::Saving => {
                let any = |value: &str| value.contains(|c: char| ('1'..='9').contains(&c));
                let saved = row.figures.iter().find(|figure| figure.kind == "AMOUNT" && any(&figure.value));
                saving = saved.map(|figure| said(line.amount.currency(), &figure.value));
            }
            // The page already shows this beside the line.
            ExplainedKind::Quantity | ExplainedKind::Discount => {}
            _ => return None,
        }
    }
    let mut text = words.join(", ");
    if let Some(saved) = saving {
        let space = if text.is_empty() { "" } else { ". " };
        text = format!("{text}{space}You save {saved} compared with buying each separately");
    }
    (!text.is_empty()).then_some(text)
}

/// The line at an index of a document.
pub(super) fn line_view(document: &QuoteDocument, place: usize, line: &QuoteLine, ticked: bool) -> LineView {
    let currency = &document.studio.currency;
    let here = u32::try_from(place).unwrap_or(u32::MAX);
    let other = |conflict: &QuoteConflict| match (conflict.one, conflict.other) {
        (one, other) if one == here => Some(other),
        (one, other) if other == here => Some(one),
        _ => None,
    };
    let named = |at: u32| document.lines.get(usize::try_from(at).unwrap_or(usize::MAX)).map(|line| line.name.clone());
    let name = match line.quantity.0.normalize() {
        one if one == Decimal::ONE => line.name.clone(),
        many => format!("{many} × {}", line.name),
    };
    let basis = basis(line);
    // The page already shows quantity and discount beside the line.
    let said_already = |row: &ExplainedRow| matches!(row.kind.0, ExplainedKind::Quantity | ExplainedKind::Discount);
    let full = basis.is_none() && !line.explanation.iter().all(said_already);
    LineView {
        place,
        name,
        summary: line.summary.clone(),
        amount: line.amount.to_string(),
        discount: line.discount_reason.as_ref().map(|reason| (capital(reason), line.discount.less())),
        time: working_time(line.minutes),
        ticked,
        not_with: document.conflicts.iter().filter_map(other).filter_map(named).collect(),
        rows: line
            .explanation
            .iter()
            .filter(|_| full)
            .map(|row| (row.label.clone(), explained(row, currency)))
            .collect(),
        basis,
    }
}
