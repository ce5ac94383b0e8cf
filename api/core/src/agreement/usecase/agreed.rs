//! Everything that is agreed on a quote: the signed revision and its signed variations.

use std::collections::BTreeSet;

use baywright_domain::document::{Document, Totals};
use baywright_domain::id::{InspectionId, QuoteId, RevisionId, SignoffId, VariationId};
use baywright_domain::plan::ServiceUnits;
use baywright_domain::vehicle::Car;

use super::{Variation, frozen, store};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done};
use crate::platform::tx::Tx;
use crate::quote;
use crate::quote::kept::QuoteDocument;
use crate::quote::usecase::{SignedLine, SignedQuote};
use crate::signoff::usecase::{self as signoff, Subject};

/// A signed variation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedVariation {
    /// The variation.
    pub id: VariationId,
    /// Its number, such as `Q-2026-0042-V1`.
    pub number: String,
    /// Number of the variation within the quote, from 1.
    pub place: u32,
    /// The sign-off with which it was agreed.
    pub signoff: SignoffId,
    /// Time when it was signed.
    pub signed_at: UtcTime,
    /// The lines that were taken, in order. A line dropped from the signed quote is listed here with a negative
    /// quantity, so that the lines of quote and variations add up to what is owed.
    pub lines: Vec<SignedLine>,
    /// Indexes of the dropped lines of the signed revision.
    pub dropped: Vec<usize>,
    /// Document of the lines that were taken; its total may be negative.
    pub document: Document,
    /// Totals of the document.
    pub totals: Totals,
    /// The whole document as the customer read it.
    pub shown: QuoteDocument,
}

/// Everything that is agreed on a quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Agreed {
    /// The signed quote.
    pub quote: SignedQuote,
    /// The signed variations of that revision, first one first.
    pub variations: Vec<SignedVariation>,
}

impl Agreed {
    /// Indexes of the dropped lines of the signed revision.
    pub fn dropped(&self) -> BTreeSet<usize> {
        self.variations.iter().flat_map(|variation| variation.dropped.iter().copied()).collect()
    }

    /// The lines of the signed quote that are still to be done.
    pub fn standing(&self) -> impl Iterator<Item = &SignedLine> {
        let dropped = self.dropped();
        self.quote.lines.iter().filter(move |line| !dropped.contains(&line.place))
    }

    /// The services of all work that is to be done, each once, in order. If a variation sells a service again, both
    /// quantities are added.
    pub fn services(&self) -> Vec<ServiceUnits> {
        let added = self.variations.iter().flat_map(|variation| &variation.lines);
        ServiceUnits::sum(self.standing().chain(added).flat_map(|line| line.line.units()))
    }

    /// The inspections on which the quote and its variations are based, and one more, each once.
    pub fn inspections(&self, more: Option<InspectionId>) -> Vec<InspectionId> {
        let of_variations = self.variations.iter().filter_map(|variation| variation.shown.inspection_id());
        let mut found = Vec::new();
        for id in self.quote.inspection.clone().into_iter().chain(of_variations).chain(more) {
            if !found.contains(&id) {
                found.push(id);
            }
        }
        found
    }

    /// The car that budgets are computed for, in the condition that the latest document states.
    pub fn car(&self) -> Car {
        self.variations.last().map_or(self.quote.car, |variation| variation.shown.car())
    }
}

/// Everything that is agreed on a quote.
///
/// # Errors
/// `NotFound` if the shop has no such quote, `Conflict` if no revision of it is signed.
pub fn agreed(tx: &mut Tx<'_>, id: &QuoteId) -> Done<Agreed> {
    let quote = quote::usecase::signed(tx, id)?;
    let variations = of_revision(tx, &quote.revision_id)?;
    Ok(Agreed { quote, variations })
}

fn of_revision(tx: &mut Tx<'_>, revision: &RevisionId) -> Done<Vec<SignedVariation>> {
    let rows = store::signed(tx, revision)?;
    rows.into_iter().map(|row| signed(tx, row)).collect()
}

fn signed(tx: &mut Tx<'_>, row: Variation) -> Done<SignedVariation> {
    let corrupt = |what: &str| DbError::Corrupt(format!("signed variation {}: {what}", row.id));
    let signoff = signoff::find(tx, &Subject::variation(row.id.as_str()))?.ok_or_else(|| corrupt("no sign-off"))?;
    let shown = QuoteDocument::parse(&frozen(&row)?.document)?;
    let offered = shown.offered()?;
    let sum = offered.terms.sum(&offered.lines, &signoff.choices)?;
    Ok(SignedVariation {
        number: shown.number.clone(),
        place: row.number,
        signoff: signoff.id.clone(),
        signed_at: signoff.signed_at,
        lines: SignedLine::taken(&shown, &offered, &signoff.choices),
        dropped: row.draft.dropped,
        document: sum.document,
        totals: sum.totals,
        id: row.id,
        shown,
    })
}
