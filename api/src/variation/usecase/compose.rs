//! From a draft to the document that the customer reads: priced from the menu that the signed quote froze.

use baywright_domain::learning::Beliefs;
use baywright_domain::menu::Code;
use baywright_domain::money::Money;
use baywright_domain::plan::{Hands, PlanRefusal, work_plan};
use baywright_domain::variation::share_of_discounts;

use super::Agreed;
use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::platform::wire::{Amount, Number, Word};
use crate::quote::form::{Offered, QuoteDocument, QuoteLine, QuoteTaxRounding};
use crate::quote::usecase::{SignedLine, SignedQuote, compose_from, totals};
use crate::variation::form::VariationDraft;
use crate::vehicle;

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
    for line in dropped {
        let (less, shown) = less(quote, line, &made.offered);
        made.offered.lines.push((less, line.treatment));
        made.document.lines.push(shown);
    }
    let required: Vec<usize> =
        made.offered.lines.iter().enumerate().filter(|(_, (line, _))| line.required).map(|(at, _)| at).collect();
    doable(agreed, draft, &made.offered, &required)?;
    if required.is_empty() {
        made.document.required_totals = None;
        let change = Money::ZERO;
        return Ok(Composed { document: made.document, change, beliefs: made.beliefs, paint_work: made.paint_work });
    }
    let sum = made.offered.terms.sum(&made.offered.lines, &required)?;
    let totals = totals(&made.offered, &quote.menu, &made.beliefs, made.document.car(), &required)?;
    made.document.required_totals = Some(totals);
    let change = sum.totals.promised();
    Ok(Composed { document: made.document, change, beliefs: made.beliefs, paint_work: made.paint_work })
}

/// The lines that fall away.
fn dropped<'a>(agreed: &'a Agreed, draft: &VariationDraft) -> Done<Vec<&'a SignedLine>> {
    if draft.lines.is_empty() && draft.dropped.is_empty() {
        return Err(Problem::field("/lines", "missing", "Say what is added, or what falls away.").into());
    }
    if draft.reason.as_str().trim().is_empty() {
        return Err(Problem::field("/reason", "missing", "Say what was found: the customer reads it.").into());
    }
    let standing: Vec<&SignedLine> = agreed.standing().collect();
    let mut found: Vec<&SignedLine> = Vec::with_capacity(draft.dropped.len());
    for (at, place) in draft.dropped.iter().enumerate() {
        let pointer = format!("/dropped/{at}");
        let line = standing.iter().find(|line| line.place == place.get()).ok_or_else(|| {
            let detail = "The signed quote has no such line, or it fell away before.";
            Problem::field(pointer.clone(), "not_agreed", detail)
        })?;
        if found.iter().any(|other| other.place == line.place) {
            return Err(Problem::field(pointer, "repeated", "Name each line once.").into());
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
    let mut shown = QuoteLine::of(&less, "", line.tax.clone(), less.minutes, currency);
    shown.quantity = Number(less.quantity);
    shown.discount = Amount::of(less.discount, currency);
    (less, shown)
}

/// Says no where the work that would be agreed then can't be planned, such as two services that exclude each other.
fn doable(agreed: &Agreed, draft: &VariationDraft, offered: &Offered, required: &[usize]) -> Done<()> {
    let mut services: Vec<Code> = offered.services(required);
    let falls_away = |line: &&SignedLine| draft.dropped.iter().any(|place| place.get() == line.place);
    for line in agreed.standing().filter(|line| !falls_away(line)) {
        services.extend(line.line.services.iter().cloned());
    }
    for line in agreed.variations.iter().flat_map(|variation| &variation.lines) {
        services.extend(line.line.services.iter().cloned());
    }
    match work_plan(&agreed.quote.menu, &services, agreed.car(), Hands::One) {
        Ok(_) | Err(PlanRefusal::NothingToDo) => Ok(()),
        Err(refusal) => Err(refusal.into()),
    }
}
