//! The agreed content, for the plan, the booking and the invoice.

use baywright_domain::document::{Document, Totals};
use baywright_domain::id::{CustomerId, InspectionId, QuoteId, RevisionId, SignoffId, VehicleId};
use baywright_domain::menu::Menu;
use baywright_domain::money::Money;
use baywright_domain::plan::ServiceUnits;
use baywright_domain::pricing::Line;
use baywright_domain::quote::{RevisionState, current_revision};
use baywright_domain::tax::Treatment;
use baywright_domain::time::Minute;
use baywright_domain::vehicle::Car;

use super::Quote;
use super::read::state_now;
use super::start::start_terms;
use crate::menu;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::quote::kept::{LineTax, Offered, QuoteDocument};
use crate::quote::store;
use crate::signoff;
use crate::signoff::usecase::Subject;

/// A signed quote: everything that follows from the customer's acceptance. It comes from the frozen revision, so that
/// later changes of the shop's menu or settings don't affect it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedQuote {
    /// The quote.
    pub id: QuoteId,
    /// Its number, such as `Q-2026-0042`.
    pub number: String,
    /// The revision that is agreed: the latest signed one.
    pub revision: u32,
    /// That revision's id.
    pub revision_id: RevisionId,
    /// The sign-off with which it was agreed.
    pub signoff: SignoffId,
    /// Time when it was signed.
    pub signed_at: UtcTime,
    /// Id of the customer.
    pub customer: CustomerId,
    /// For which vehicle.
    pub vehicle: VehicleId,
    /// The inspection that it was priced from, if any.
    pub inspection: Option<InspectionId>,
    /// Size, condition and powertrain that prices and budgets are for.
    pub car: Car,
    /// The menu when the quote was sent: the work plan is made from its steps, products and factors.
    pub menu: Menu,
    /// The services of the lines that were taken, each once with its quantity, in order: the work plan is made from
    /// these.
    pub services: Vec<ServiceUnits>,
    /// The lines taken, in the quote's order.
    pub lines: Vec<SignedLine>,
    /// The document of the lines taken, with the discounts on the whole.
    pub document: Document,
    /// Totals of the document.
    pub totals: Totals,
    /// Agreed deposit, with tax.
    pub deposit: Option<Money>,
    /// Time before which work may not start, because the customer can still withdraw and has not agreed to an earlier
    /// start.
    pub not_before: Option<Minute>,
    /// The whole document as the customer read it.
    pub shown: QuoteDocument,
}

/// A line that was taken. `totals.lines` of the quote has its amounts at the same index.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedLine {
    /// Index among all lines of the revision, from 0.
    pub place: usize,
    /// The agreed item: name, services, quantity, price, discount, amount in the quote's prices, minutes.
    pub line: Line,
    /// Tax category and rate.
    pub treatment: Treatment,
    /// The same with the shop's own name for it, and the reason for charging no tax if one must be stated.
    pub tax: LineTax,
}

impl SignedLine {
    /// The lines of a document at those places.
    pub fn taken(shown: &QuoteDocument, offered: &Offered, places: &[usize]) -> Vec<Self> {
        let line = |place: &usize| {
            let (line, treatment) = offered.lines.get(*place)?;
            let tax = shown.lines.get(*place)?.tax.clone();
            Some(Self { place: *place, line: line.clone(), treatment: *treatment, tax })
        };
        places.iter().filter_map(line).collect()
    }
}

/// The agreed content of a quote.
///
/// # Errors
/// `NotFound` if the shop has no such quote, `Conflict` if no revision of it is signed.
pub fn signed(tx: &mut Tx<'_>, id: &QuoteId) -> Done<SignedQuote> {
    let quote = store::find(tx, id)?.ok_or_else(|| Refused::not_found("quote"))?;
    let Some(row) = store::latest_signed(tx, id)? else { return Err(not_signed(tx, &quote)?.into()) };
    let corrupt = |what: &str| DbError::Corrupt(format!("signed revision {}: {what}", row.id));
    let frozen = row.frozen.as_ref().ok_or_else(|| corrupt("not frozen"))?;
    let signoff = signoff::usecase::find(tx, &Subject::quote(row.id.as_str()))?;
    let signoff = signoff.ok_or_else(|| corrupt("no sign-off"))?;
    let not_before = start_terms(tx, &signoff)?.not_before;
    let shown = QuoteDocument::parse(&frozen.document)?;
    let offered = shown.offered()?;
    let sum = offered.terms.sum(&offered.lines, &signoff.choices)?;
    let sent_at = shown.sent_at.map_or(signoff.signed_at, |at| at.0);
    let basis = menu::usecase::basis_at(tx, sent_at)?;
    Ok(SignedQuote {
        id: quote.id,
        number: quote.number,
        revision: row.number,
        revision_id: row.id.clone(),
        signoff: signoff.id,
        signed_at: signoff.signed_at,
        customer: quote.customer,
        vehicle: quote.vehicle,
        inspection: shown.inspection_id(),
        car: shown.car(),
        menu: menu::from_json(&store::frozen_basis(tx, &row.id)?.menu, basis)?,
        services: offered.services(&signoff.choices),
        lines: SignedLine::taken(&shown, &offered, &signoff.choices),
        document: sum.document,
        totals: sum.totals,
        deposit: sum.deposit,
        not_before,
        shown,
    })
}

/// Reason why nothing is agreed on a quote, and what would change that.
fn not_signed(tx: &mut Tx<'_>, quote: &Quote) -> Done<Refused> {
    let revisions = store::numbers(tx, &quote.id)?;
    let last = match current_revision(&revisions) {
        Some((number, _)) => store::find_revision(tx, &quote.id, number)?,
        None => None,
    };
    let number = &quote.number;
    let detail = match last.map(|row| state_now(tx, &row)) {
        None => format!("Quote {number} has not been sent yet. Send it, so that the customer can sign it."),
        Some(RevisionState::Declined) => {
            format!("Quote {number} was declined by the customer. Make a new revision to offer other terms.")
        }
        Some(RevisionState::Lapsed) => {
            format!("Quote {number} is no longer valid: it was not signed in time. Make a new revision and send it.")
        }
        Some(RevisionState::Withdrawn) => {
            format!("Quote {number} was withdrawn. Make a new revision and send it.")
        }
        Some(_) => format!("Quote {number} is not signed yet. The customer signs it first."),
    };
    Ok(Refused::conflict("quote-not-signed", detail))
}

/// Document and digest of up to `most` revisions that were ever sent, after that id: what [`crate::seal`] verifies.
pub fn sealed_documents(tx: &mut Tx<'_>, after: &str, most: i64) -> Done<Vec<(String, String, String)>> {
    Ok(store::sealed(tx, after, most)?)
}
