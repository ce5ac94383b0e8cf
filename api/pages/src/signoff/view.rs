//! Data for the templates.

use askama::Template;
use baywright_core::platform::kept::Moment;
use baywright_core::platform::refusal::FieldFault;
use baywright_core::quote::kept::{QuoteChange, QuoteDocument, QuoteLine, QuoteTotals};
use baywright_domain::document::Prices;

use super::entered::Entered;
use super::line::{LineView, line_view};
use super::offer::Soonest;
use super::subject::called;
use super::text::{capital, day, last_day, moment, working_time};
use crate::platform::{Frame, filters};

/// A fault of a form, with its field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct FaultView {
    /// The id of the field on the page.
    pub(super) field: &'static str,
    /// Fault and how to correct it.
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

/// Totals of a choice, row by row.
#[derive(Debug, Clone)]
pub(super) struct TotalsView {
    pub(super) rows: Vec<(String, String)>,
    /// Label of the last row.
    pub(super) label: &'static str,
    pub(super) payable: String,
    /// Label of the button that accepts it.
    pub(super) accept: String,
    pub(super) deposit: Option<String>,
    pub(super) time: String,
}

impl TotalsView {
    pub(super) fn of(totals: &QuoteTotals, document: &QuoteDocument) -> Self {
        let is_change = document.variation_of.is_some();
        let mut rows = Vec::new();
        if !totals.discounts.is_zero() {
            rows.push(("Discount".to_owned(), totals.discounts.less()));
        }
        let net = if is_change { "This change, excluding VAT" } else { "Excluding VAT" };
        rows.push((net.to_owned(), totals.net.to_string()));
        for tax in &totals.taxes {
            rows.push((format!("VAT at {} %", tax.rate.0.normalize()), tax.tax.to_string()));
        }
        if !totals.rounding.is_zero() {
            rows.push(("Rounding".to_owned(), totals.rounding.to_string()));
        }
        let whole = document.change.as_ref().and_then(|change| change.total_with(&totals.payable));
        let (label, payable, accept) = match (whole, &document.change) {
            (Some(whole), Some(change)) => {
                rows.push(("This change, including VAT".to_owned(), totals.payable.more()));
                rows.push(("Agreed so far".to_owned(), change.agreed_before.to_string()));
                let accept = format!("Accept, new total {whole}");
                ("New total including VAT", whole.to_string(), accept)
            }
            _ if is_change => {
                ("Change in price, including VAT", totals.payable.to_string(), format!("Accept for {}", totals.payable))
            }
            _ => ("Total including VAT", totals.payable.to_string(), format!("Accept for {}", totals.payable)),
        };
        Self {
            rows,
            label,
            payable,
            accept,
            deposit: totals.deposit.as_ref().map(ToString::to_string),
            time: working_time(totals.minutes),
        }
    }
}

/// The parts of a quote that every page about it shows.
#[derive(Debug, Clone)]
pub(super) struct Facts {
    /// Name of the document, such as `quote Q-2026-0042`.
    pub(super) it: String,
    /// The same name with a capital letter.
    pub(super) title: String,
    /// Number of the quote that it changes; `None` if it is a quote.
    pub(super) changes: Option<String>,
    pub(super) revision: u32,
    pub(super) vehicle: String,
    pub(super) registration: String,
    /// The day on which it was sent.
    pub(super) date: String,
    pub(super) valid_until: String,
    pub(super) customer: String,
    pub(super) prices: &'static str,
    /// Effect of a variation on the time when the car will be ready.
    pub(super) ready: Option<String>,
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
            date: document.sent_at.map(|at| day(&document.studio, at.0)).unwrap_or_default(),
            valid_until: document.holds_until.map(|until| last_day(&document.studio, until.0)).unwrap_or_default(),
            customer: document.customer.name.clone(),
            prices: match document.prices.0 {
                Prices::Gross => "Prices include VAT.",
                Prices::Net => "Prices exclude VAT.",
            },
            ready: document.change.as_ref().map(|change| ready(document, change)),
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

/// Effect of a variation on the time when the car will be ready.
fn ready(document: &QuoteDocument, change: &QuoteChange) -> String {
    let at = |Moment(at): Moment| moment(&document.studio, at);
    match change.ready_after {
        Some(after) if after == change.ready_before => format!("Your car will be ready by {}, as agreed.", at(after)),
        Some(after) => {
            format!("With this change your car will be ready by {} instead of {}.", at(after), at(change.ready_before))
        }
        None => format!(
            "With this change your car can't be ready by {}. We will tell you when it will be.",
            at(change.ready_before)
        ),
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
    /// First possible time of the choice; `None` if none is known.
    pub(super) soonest: Option<Soonest>,
    pub(super) faults: Vec<FaultView>,
}

/// The page to check and accept.
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

impl CheckPage {
    fn fault(&self, field: &str) -> Option<&str> {
        self.faults.iter().find(|fault| fault.field == field).map(|fault| fault.text.as_str())
    }
}

/// The page to decline the offer.
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

/// The page after the acceptance.
#[derive(Template)]
#[template(path = "signoff/views/signed.html")]
pub(super) struct SignedPage {
    pub(super) frame: Frame,
    pub(super) path: String,
    pub(super) code: String,
    /// Next step, depending on the progress of the work.
    pub(super) next: String,
    /// The day before which no work may start, because the customer did not agree to it.
    pub(super) not_before: Option<String>,
    /// Whether they agreed to an earlier start after the signing.
    pub(super) agreed_later: bool,
    /// The question about an earlier start, as it was signed.
    pub(super) early_start: String,
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

/// A page with a single message.
#[derive(Template)]
#[template(path = "signoff/views/notice.html")]
pub(super) struct NoticePage {
    pub(super) frame: Frame,
    pub(super) heading: String,
    pub(super) paragraphs: Vec<String>,
    /// Input of the customer, so that it is not lost.
    pub(super) typed: Vec<(String, String)>,
    /// The next link: label and address.
    pub(super) way_on: Option<(String, String)>,
}

/// Time of the inspection, in words.
pub(super) fn looked_at(document: &QuoteDocument) -> Option<String> {
    document.inspection.as_ref().map(|inspection| moment(&document.studio, inspection.at.0))
}
