//! Making the document that the customer reads from a draft: priced from the menu that the signed quote froze.

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::learning::Beliefs;
use baywright_domain::money::Money;
use baywright_domain::plan::{ServiceUnits, WorkPlan, plan_if_any};
use baywright_domain::pricing::Line;
use baywright_domain::quote::required_lines;
use baywright_domain::tax::Treatment;
use baywright_domain::variation::{check_draft, share_of_line, sold_again, taken_back};

use crate::agreement::kept::VariationDraft;
use crate::agreement::usecase::Agreed;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::kept::{Amount, Moment};
use crate::platform::tx::Tx;
use crate::quote::kept::{LineExplanation, Offered, QuoteChange, QuoteDocument, QuoteLine, QuoteTaxRounding};
use crate::quote::usecase::{Composed as Composition, SignedLine, SignedQuote, compose_from, totals};
use crate::{booking, job, vehicle};

/// A document that was made from a draft.
#[derive(Debug, Clone)]
pub(super) struct Composed {
    /// The document for the customer.
    pub(super) document: QuoteDocument,
    /// Change of price by the required lines, with tax.
    pub(super) change: Money,
    /// Estimates of its work.
    pub(super) beliefs: Beliefs,
    /// The name of the first line whose work removes paint, if any does.
    pub(super) paint_work: Option<String>,
    /// Full explanation of each line's price, in the document's order.
    pub(super) explanation: Vec<LineExplanation>,
    /// The names of the lines that sell a service which is already agreed.
    pub(super) again: Vec<String>,
    /// The plan of all work that would then be agreed; `None` if no work is left.
    pub(super) work: Option<WorkPlan>,
}

impl Composed {
    /// Asks for a confirmation before a service is sold that is already agreed, which a quote would refuse.
    ///
    /// # Errors
    /// `Conflict`, to be confirmed.
    pub(super) fn sells_nothing_twice(&self, tx: &Tx<'_>) -> Done<()> {
        if self.again.is_empty() {
            return Ok(());
        }
        let detail = format!(
            "The customer would pay twice, because this is already agreed on the quote: {}. To change a quantity, \
             remove the signed line (dropped) and add it with its new quantity.",
            self.again.join(", ")
        );
        tx.must_confirm("service-sold-again", detail)
    }
}

/// Makes the document of a draft that changes what is agreed.
///
/// # Errors
/// `Invalid` with what can't be priced, planned or dropped.
pub(super) fn compose(tx: &mut Tx<'_>, agreed: &Agreed, number: u32, draft: &VariationDraft) -> Done<Composed> {
    let quote = &agreed.quote;
    let dropped = dropped(agreed, draft)?;
    let as_quote = draft.as_quote(agreed.car(), quote.document.prices);
    let of = vehicle::usecase::show(tx, &quote.vehicle)?;
    let name = format!("{}-V{number}", quote.number);
    let mut made = compose_from(tx, &of, &as_quote, &name, quote.revision, quote.menu.clone())?;
    // Tax is rounded as on the quote: together they become one invoice.
    made.offered.terms.profile = quote.document.profile;
    made.document.tax_rounding = QuoteTaxRounding::of(quote.document.profile);
    made.document.variation_of = Some(quote.number.clone());
    // The car is in its bay, so the customer is not asked whether work may start.
    made.document.early_start = None;
    let again = {
        let lines = made.offered.lines.iter().map(|(line, _)| line);
        sold_again(lines, staying(agreed, draft).map(|line| &line.line))
    };
    for line in dropped {
        let (less, shown) = less(quote, line, &made.offered);
        made.offered.lines.push((less, line.treatment));
        made.document.lines.push(shown);
        made.explanation.push(LineExplanation { rows: Vec::new() });
    }
    let required = required_lines(&made.offered.lines);
    let work = planned(agreed, draft, &made.offered, &required)?;
    made.document.change = changes(tx, agreed, work.as_ref())?;
    let (mut change, mut required_totals) = (Money::ZERO, None);
    if !required.is_empty() {
        change = made.offered.terms.sum(&made.offered.lines, &required)?.totals.promised();
        let (offered, car) = (&made.offered, made.document.car());
        required_totals = Some(totals(offered, &quote.menu, &made.beliefs, car, &required)?);
    }
    made.document.required_totals = required_totals;
    let Composition { document, beliefs, paint_work, explanation, .. } = made;
    Ok(Composed { document, change, beliefs, paint_work, explanation, again, work })
}

/// The price that the customer has agreed to so far, and when the car will be ready without and with the variation's
/// work.
fn changes(tx: &mut Tx<'_>, agreed: &Agreed, work: Option<&WorkPlan>) -> Done<Option<QuoteChange>> {
    let Some(booking) = booking::usecase::of_quote(tx, &agreed.quote.id)? else { return Ok(None) };
    let ready_after = match work {
        Some(work) => job::usecase::ready_with(tx, &booking, work)?,
        None => Some(booking.place.promised),
    };
    let before = agreed.variations.iter().map(|variation| variation.totals.promised());
    let before: Money = before.fold(agreed.quote.totals.promised(), |sum, change| sum + change);
    let moment = |at| Moment(UtcTime::from_minute(at));
    Ok(Some(QuoteChange {
        agreed_before: Amount::of(before, tx.studio.currency),
        ready_before: moment(booking.place.promised),
        ready_after: ready_after.map(moment),
    }))
}

/// The lines that stay agreed: those of the signed quote that are not dropped, and those of signed variations.
fn staying<'a>(agreed: &'a Agreed, draft: &'a VariationDraft) -> impl Iterator<Item = &'a SignedLine> {
    let falls_away = move |line: &&SignedLine| draft.dropped.contains(&line.place);
    let added = agreed.variations.iter().flat_map(|variation| &variation.lines);
    agreed.standing().filter(move |line| !falls_away(line)).chain(added)
}

/// The dropped lines.
///
/// # Errors
/// `Invalid` if the draft changes nothing, has no reason, or drops what is not agreed.
fn dropped<'a>(agreed: &'a Agreed, draft: &VariationDraft) -> Done<Vec<&'a SignedLine>> {
    let standing: BTreeMap<usize, &SignedLine> = agreed.standing().map(|line| (line.place, line)).collect();
    let agreed: BTreeSet<usize> = standing.keys().copied().collect();
    check_draft(!draft.lines.is_empty(), &draft.reason, &agreed, &draft.dropped)?;
    Ok(draft.dropped.iter().filter_map(|place| standing.get(place).copied()).collect())
}

/// The share of the quote's discounts in a line.
fn share(quote: &SignedQuote, line: &SignedLine) -> Money {
    let discounts = quote.totals.allowance_items.iter().map(|item| (item.treatment, item.amount));
    let lines: Vec<(Treatment, Money)> = quote.lines.iter().map(|other| (other.treatment, other.line.amount)).collect();
    let at = quote.lines.iter().position(|other| other.place == line.place);
    at.map_or(Money::ZERO, |at| share_of_line(discounts, &lines, at))
}

/// A line that cancels a dropped one, with its text for the customer.
fn less(quote: &SignedQuote, line: &SignedLine, offered: &Offered) -> (Line, QuoteLine) {
    let less = taken_back(&line.line, share(quote, line));
    let currency = offered.terms.currency;
    let shown = QuoteLine::of(&less, "", line.tax.clone(), less.minutes, Vec::new(), currency);
    (less, shown)
}

/// The plan of all work that would then be agreed; `None` if no work is left.
///
/// # Errors
/// `Invalid` if it can't be planned, such as two services that exclude each other.
fn planned(agreed: &Agreed, draft: &VariationDraft, offered: &Offered, required: &[usize]) -> Done<Option<WorkPlan>> {
    let mut services: Vec<ServiceUnits> = offered.services(required);
    services.extend(staying(agreed, draft).flat_map(|line| line.line.units()));
    Ok(plan_if_any(&agreed.quote.menu, &ServiceUnits::sum(services), agreed.car())?)
}
