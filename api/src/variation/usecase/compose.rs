//! From a draft to the document that the customer reads: priced from the menu that the signed quote froze.

use std::collections::BTreeSet;

use baywright_domain::learning::Beliefs;
use baywright_domain::menu::Code;
use baywright_domain::money::Money;
use baywright_domain::plan::{Hands, PlanRefusal, ServiceUnits, WorkPlan, work_plan};
use baywright_domain::variation::share_of_discounts;

use crate::agreement::form::VariationDraft;
use crate::agreement::usecase::Agreed;
use crate::http::wire::{Amount, Instant, Number, Word};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::quote::form::{LineExplanation, Offered, QuoteChange, QuoteDocument, QuoteLine, QuoteTaxRounding};
use crate::quote::usecase::{Composed as Composition, SignedLine, SignedQuote, compose_from, totals};
use crate::{booking, job, vehicle};

/// A draft made into a document.
#[derive(Debug, Clone)]
pub(super) struct Composed {
    /// What the customer reads.
    pub(super) document: QuoteDocument,
    /// What the required lines change the price by, with tax.
    pub(super) change: Money,
    /// What was believed of the work in it.
    pub(super) beliefs: Beliefs,
    /// The name of the first line whose work takes paint away, if any does.
    pub(super) paint_work: Option<String>,
    /// How each line's price was made, in full and in the document's order.
    pub(super) explanation: Vec<LineExplanation>,
    /// The names of the lines that sell a service that is agreed already.
    pub(super) again: Vec<String>,
}

impl Composed {
    /// Asks before a service is sold that is agreed already, which a quote would refuse.
    ///
    /// # Errors
    /// 409 to be confirmed.
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
/// 422 with what can't be priced, planned or dropped.
pub(super) fn compose(tx: &mut Tx<'_>, agreed: &Agreed, number: u32, draft: &VariationDraft) -> Done<Composed> {
    let quote = &agreed.quote;
    let dropped = dropped(agreed, draft)?;
    let as_quote = draft.as_quote(agreed.car(), quote.document.prices);
    let of = vehicle::usecase::show(tx, &quote.vehicle)?;
    let name = format!("{}-V{number}", quote.number);
    let mut made = compose_from(tx, &of, &as_quote, &name, quote.revision, quote.menu.clone())?;
    // Tax is rounded as on the quote: together they become one invoice.
    made.offered.terms.profile = quote.document.profile;
    made.document.tax_rounding =
        QuoteTaxRounding { basis: Word(quote.document.profile.basis), rounding: Word(quote.document.profile.rounding) };
    made.document.variation_of = Some(quote.number.clone());
    // The car is in its bay: nobody is asked whether work may start.
    made.document.early_start = None;
    let again = again(agreed, draft, &made.offered);
    for line in dropped {
        let (less, shown) = less(quote, line, &made.offered);
        made.offered.lines.push((less, line.treatment));
        made.document.lines.push(shown);
        made.explanation.push(LineExplanation { rows: Vec::new() });
    }
    let required: Vec<usize> =
        made.offered.lines.iter().enumerate().filter(|(_, (line, _))| line.required).map(|(at, _)| at).collect();
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
    Ok(Composed { document, change, beliefs, paint_work, explanation, again })
}

/// What the customer has agreed to so far, and when the car will be ready without and with the variation's work.
fn changes(tx: &mut Tx<'_>, agreed: &Agreed, work: Option<&WorkPlan>) -> Done<Option<QuoteChange>> {
    let Some(booking) = booking::usecase::of_quote(tx, &agreed.quote.id)? else { return Ok(None) };
    let ready_after = match work {
        Some(work) => job::usecase::ready_with(tx, &booking, work)?,
        None => Some(booking.place.promised),
    };
    let before = agreed.variations.iter().map(|variation| variation.totals.promised());
    let before: Money = before.fold(agreed.quote.totals.promised(), |sum, change| sum + change);
    let instant = |at| Instant(UtcTime::from_minute(at));
    Ok(Some(QuoteChange {
        agreed_before: Amount::of(before, tx.studio.currency),
        ready_before: instant(booking.place.promised),
        ready_after: ready_after.map(instant),
    }))
}

/// The lines that stay agreed: those of the signed quote that don't fall away, and those of signed variations.
fn staying<'a>(agreed: &'a Agreed, draft: &'a VariationDraft) -> impl Iterator<Item = &'a SignedLine> {
    let falls_away = move |line: &&SignedLine| draft.dropped.iter().any(|place| place.get() == line.place);
    let added = agreed.variations.iter().flat_map(|variation| &variation.lines);
    agreed.standing().filter(move |line| !falls_away(line)).chain(added)
}

/// The names of the draft's lines that sell a service that stays agreed.
fn again(agreed: &Agreed, draft: &VariationDraft, offered: &Offered) -> Vec<String> {
    let sold: BTreeSet<&Code> = staying(agreed, draft).flat_map(|line| &line.line.services).collect();
    let twice = offered.lines.iter().filter(|(line, _)| line.services.iter().any(|code| sold.contains(code)));
    twice.map(|(line, _)| line.name.clone()).collect()
}

/// The lines that fall away.
fn dropped<'a>(agreed: &'a Agreed, draft: &VariationDraft) -> Done<Vec<&'a SignedLine>> {
    if draft.lines.is_empty() && draft.dropped.is_empty() {
        return Err(Refused::field("/lines", "missing", "Give at least one line to add or to remove.").into());
    }
    if draft.reason.as_str().trim().is_empty() {
        return Err(Refused::field("/reason", "missing", "Write what was found. The customer reads it.").into());
    }
    let standing: Vec<&SignedLine> = agreed.standing().collect();
    let mut found: Vec<&SignedLine> = Vec::with_capacity(draft.dropped.len());
    for (at, place) in draft.dropped.iter().enumerate() {
        let pointer = format!("/dropped/{at}");
        let line = standing.iter().find(|line| line.place == place.get()).ok_or_else(|| {
            let detail = "The signed quote has no such line, or it was removed before.";
            Refused::field(pointer.clone(), "not_agreed", detail)
        })?;
        if found.iter().any(|other| other.place == line.place) {
            return Err(Refused::field(pointer, "repeated", "Name each line once.").into());
        }
        found.push(line);
    }
    Ok(found)
}

/// What of the quote's discounts fell on a line.
fn share(quote: &SignedQuote, line: &SignedLine) -> Money {
    let items = quote.totals.allowance_items.iter();
    let discounts = items.filter(|item| item.treatment == line.treatment).map(|item| item.amount).sum();
    let alike: Vec<&SignedLine> = quote.lines.iter().filter(|other| other.treatment == line.treatment).collect();
    let amounts: Vec<Money> = alike.iter().map(|other| other.line.amount).collect();
    let at = alike.iter().position(|other| other.place == line.place).unwrap_or_default();
    share_of_discounts(discounts, &amounts, at)
}

/// A line that takes another one back: the same with its quantity below zero, its share of the discounts on the whole
/// quote taken into account, and no work behind it.
fn less(quote: &SignedQuote, line: &SignedLine, offered: &Offered) -> (baywright_domain::pricing::Line, QuoteLine) {
    let mut less = line.line.clone();
    let share = share(quote, line);
    if !share.is_zero() {
        less.discount += share;
        less.amount = less.amount - share;
        let reason = less.discount_reason.take().map_or_else(String::new, |reason| format!("{reason}; "));
        less.discount_reason = Some(format!("{reason}its share of the quote's discounts"));
    }
    less.name = format!("Not done: {}", less.name);
    less.services = Vec::new();
    less.quantity = -less.quantity;
    less.discount = -less.discount;
    less.amount = -less.amount;
    less.minutes = baywright_domain::time::Minutes::ZERO;
    less.required = true;
    less.explanation = Vec::new();
    let currency = offered.terms.currency;
    let mut shown = QuoteLine::of(&less, "", line.tax.clone(), less.minutes, Vec::new(), currency);
    shown.quantity = Number(less.quantity);
    shown.discount = Amount::of(less.discount, currency);
    (less, shown)
}

/// The plan of all work that would be agreed then; none if nothing is left to do.
///
/// # Errors
/// 422 if it can't be planned, such as two services that exclude each other.
fn planned(agreed: &Agreed, draft: &VariationDraft, offered: &Offered, required: &[usize]) -> Done<Option<WorkPlan>> {
    let mut services: Vec<ServiceUnits> = offered.services(required);
    services.extend(staying(agreed, draft).flat_map(|line| line.line.units()));
    match work_plan(&agreed.quote.menu, &ServiceUnits::sum(services), agreed.car(), Hands::One) {
        Ok(plan) => Ok(Some(plan)),
        Err(PlanRefusal::NothingToDo) => Ok(None),
        Err(refusal) => Err(refusal.into()),
    }
}
