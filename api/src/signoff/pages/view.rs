//! What the templates are filled with.

use askama::Template;

use super::subject::called;
use super::text::{capital, duration, explained, last_day, moment};
use crate::pages::Frame;
use crate::platform::problem::FieldFault;
use crate::quote::form::{QuoteDocument, QuoteLine, QuoteTotals};

/// A fault above a form, with the field it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct FaultView {
    /// The id of the field on the page.
    pub(super) field: &'static str,
    /// What is wrong and how to mend it.
    pub(super) text: String,
}

impl From<&FieldFault> for FaultView {
    fn from(fault: &FieldFault) -> Self {
        let field = match fault.pointer.as_str() {
            "/name" => "name",
            "/intent" => "intent",
            "/early_start" => "early-start-yes",
            "/strokes" => "drawing",
            "/reason" => "reason",
            _ => "options",
        };
        Self { field, text: super::text::sentence(&fault.detail) }
    }
}

/// A line as the page shows it.
#[derive(Debug, Clone)]
pub(super) struct LineView {
    pub(super) place: usize,
    pub(super) name: String,
    pub(super) summary: String,
    pub(super) amount: String,
    pub(super) discount: Option<String>,
    pub(super) time: String,
    pub(super) ticked: bool,
    pub(super) not_with: Vec<String>,
    pub(super) rows: Vec<(String, String)>,
}

/// What a choice comes to, row by row.
#[derive(Debug, Clone)]
pub(super) struct TotalsView {
    pub(super) rows: Vec<(String, String)>,
    /// What the last row is called.
    pub(super) label: &'static str,
    pub(super) payable: String,
    pub(super) deposit: Option<String>,
    pub(super) time: String,
}

impl TotalsView {
    pub(super) fn of(totals: &QuoteTotals, document: &QuoteDocument) -> Self {
        let mut rows = Vec::new();
        if !totals.discounts.is_zero() {
            rows.push(("Discounts on the whole".to_owned(), totals.discounts.less()));
        }
        rows.push(("Without tax".to_owned(), totals.net.to_string()));
        for tax in &totals.taxes {
            rows.push((format!("Tax at {} %", tax.rate.0.normalize()), tax.tax.to_string()));
        }
        if !totals.rounding.is_zero() {
            rows.push(("Rounding".to_owned(), totals.rounding.to_string()));
        }
        Self {
            rows,
            label: if document.variation_of.is_some() { "Change of the price, with tax" } else { "To pay, with tax" },
            payable: totals.payable.to_string(),
            deposit: totals.deposit.as_ref().map(ToString::to_string),
            time: duration(totals.minutes),
        }
    }
}

/// The parts of a quote that every page about it shows.
#[derive(Debug, Clone)]
pub(super) struct Facts {
    /// What it is called, such as `quote Q-2026-0042`.
    pub(super) it: String,
    /// The same with a capital.
    pub(super) title: String,
    /// The quote that it changes, where it is a variation.
    pub(super) changes: Option<String>,
    pub(super) revision: u32,
    pub(super) vehicle: String,
    pub(super) registration: String,
    pub(super) holds_until: String,
    pub(super) customer: String,
    pub(super) prices: &'static str,
    pub(super) required: Vec<LineView>,
    pub(super) optional: Vec<LineView>,
}

impl Facts {
    pub(super) fn of(document: &QuoteDocument, ticked: &[usize]) -> Self {
        let view = |(place, line): (usize, &QuoteLine)| line_view(document, place, line, ticked.contains(&place));
        let (required, optional): (Vec<_>, Vec<_>) =
            document.lines.iter().enumerate().partition(|(_, line)| line.required);
        Self {
            it: called(document),
            title: capital(&called(document)),
            changes: document.variation_of.clone(),
            revision: document.revision,
            vehicle: document.vehicle.name.clone(),
            registration: document.vehicle.registration.clone(),
            holds_until: document.holds_until.map(|until| last_day(&document.studio, until.0)).unwrap_or_default(),
            customer: document.customer.name.clone(),
            prices: document.prices.0.label(),
            required: required.into_iter().map(view).collect(),
            optional: optional.into_iter().map(view).collect(),
        }
    }

    /// The lines that are taken, required and ticked, in the quote's order.
    pub(super) fn taken(&self) -> Vec<&LineView> {
        let mut taken: Vec<&LineView> =
            self.required.iter().chain(self.optional.iter().filter(|line| line.ticked)).collect();
        taken.sort_by_key(|line| line.place);
        taken
    }
}

fn line_view(document: &QuoteDocument, place: usize, line: &QuoteLine, ticked: bool) -> LineView {
    let currency = &document.studio.currency;
    let here = u32::try_from(place).unwrap_or(u32::MAX);
    let other = |conflict: &crate::quote::form::QuoteConflict| match (conflict.one, conflict.other) {
        (one, other) if one == here => Some(other),
        (one, other) if other == here => Some(one),
        _ => None,
    };
    let named = |at: u32| document.lines.get(usize::try_from(at).unwrap_or(usize::MAX)).map(|line| line.name.clone());
    let name = match line.quantity.0.normalize() {
        one if one == rust_decimal::Decimal::ONE => line.name.clone(),
        many => format!("{many} × {}", line.name),
    };
    LineView {
        place,
        name,
        summary: line.summary.clone(),
        amount: line.amount.to_string(),
        discount: line.discount_reason.as_ref().map(|reason| format!("{reason}: {}", line.discount.less())),
        time: duration(line.minutes),
        ticked,
        not_with: document.conflicts.iter().filter_map(other).filter_map(named).collect(),
        rows: line.explanation.iter().map(|row| (row.label.clone(), explained(row, currency))).collect(),
    }
}

/// The page with the whole offer.
#[derive(Template)]
#[template(path = "signoff/views/offer.html")]
pub(super) struct OfferPage {
    pub(super) frame: Frame,
    pub(super) path: String,
    pub(super) code: String,
    pub(super) document: QuoteDocument,
    pub(super) facts: Facts,
    pub(super) looked_at: Option<String>,
    pub(super) totals: Option<TotalsView>,
    pub(super) faults: Vec<FaultView>,
}

/// The page to check once more and accept.
#[derive(Template)]
#[template(path = "signoff/views/check.html")]
pub(super) struct CheckPage {
    pub(super) frame: Frame,
    pub(super) path: String,
    pub(super) back: String,
    pub(super) code: String,
    pub(super) digest: String,
    pub(super) document: QuoteDocument,
    pub(super) looked_at: Option<String>,
    pub(super) facts: Facts,
    pub(super) consent: String,
    pub(super) early_start: Option<String>,
    pub(super) totals: TotalsView,
    pub(super) entered: Entered,
    pub(super) faults: Vec<FaultView>,
}

/// What was entered on the form that signs, so that nothing typed is lost.
#[derive(Debug, Clone, Default)]
pub(super) struct Entered {
    pub(super) name: String,
    pub(super) intent: bool,
    pub(super) early_start: Option<bool>,
    pub(super) strokes: String,
}

impl CheckPage {
    fn fault(&self, field: &str) -> Option<&str> {
        self.faults.iter().find(|fault| fault.field == field).map(|fault| fault.text.as_str())
    }
}

/// The page to turn the offer down.
#[derive(Template)]
#[template(path = "signoff/views/decline.html")]
pub(super) struct DeclinePage {
    pub(super) frame: Frame,
    pub(super) path: String,
    pub(super) code: String,
    pub(super) digest: String,
    pub(super) facts: Facts,
    pub(super) reason: String,
    pub(super) faults: Vec<FaultView>,
}

/// The page after the yes.
#[derive(Template)]
#[template(path = "signoff/views/signed.html")]
pub(super) struct SignedPage {
    pub(super) frame: Frame,
    pub(super) path: String,
    pub(super) facts: Facts,
    pub(super) totals: TotalsView,
    pub(super) signed_at: String,
    pub(super) typed_name: String,
    pub(super) method: &'static str,
    pub(super) copy_to: Option<String>,
    pub(super) document_digest: String,
    pub(super) evidence_digest: String,
    /// Whether somebody pressed the button a second time.
    pub(super) again: bool,
    pub(super) newer: bool,
}

/// A page that says one thing.
#[derive(Template)]
#[template(path = "signoff/views/notice.html")]
pub(super) struct NoticePage {
    pub(super) frame: Frame,
    pub(super) heading: String,
    pub(super) paragraphs: Vec<String>,
    /// What had been typed, so that it is not lost.
    pub(super) typed: Vec<(String, String)>,
    /// A way on: label and address.
    pub(super) way_on: Option<(String, String)>,
}

/// When the vehicle was looked at, in words.
pub(super) fn looked_at(document: &QuoteDocument) -> Option<String> {
    document.inspection.as_ref().map(|inspection| moment(&document.studio, inspection.at.0))
}
