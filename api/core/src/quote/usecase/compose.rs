//! Making the document that the customer reads from a draft: priced from the menu in force, by the shop's current
//! settings.

use baywright_domain::calendar::ZoneRules;
use baywright_domain::customer::CustomerKind;
use baywright_domain::learning::Beliefs;
use baywright_domain::menu::{Code, Menu};
use baywright_domain::money::Currency;
use baywright_domain::plan::{WorkPlan, customer_cautions, plan_if_any};
use baywright_domain::pricing::{Item, Line, PriceConversion, Quoted, build_converted};
use baywright_domain::quote::{TaxChoice, Terms, choose_prices, own_rate, own_tax, required_lines};
use baywright_domain::signoff::has_words;
use baywright_domain::tax::{Parties, Rate, Treatment};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::Car;
use chrono::NaiveDate;

use super::parties;
use crate::platform::fail::Done;
use crate::platform::kept::Word;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::quote::kept::{
    ExplainedRow, FORM, LineExplanation, LineTax, Offered, QuoteConflict, QuoteDeposit, QuoteDiscount, QuoteDocument,
    QuoteDraft, QuoteLine, QuoteTaxRounding, QuoteTotals,
};
use crate::shop::usecase::{Settings, TaxCategory};
use crate::vehicle::usecase::Vehicle;
use crate::{customer, shop};
use crate::{learning, menu};

/// A draft made into a document; sending freezes both parts.
#[derive(Debug, Clone)]
pub struct Composed {
    /// The document for the customer.
    pub document: QuoteDocument,
    /// The same for the rules.
    pub offered: Offered,
    /// The menu from which it was priced.
    pub menu: Menu,
    /// Estimates of its work.
    pub beliefs: Beliefs,
    /// The shop's settings with which it was priced.
    pub settings: Settings,
    /// What decides whether the customer can owe the tax of a line.
    pub parties: Parties,
    /// The name of the first line whose work removes paint, if any does.
    pub paint_work: Option<String>,
    /// Full explanation of each line's price, in the document's order.
    pub explanation: Vec<LineExplanation>,
}

/// Makes the document of a draft. `number` and `revision` are printed on it.
///
/// # Errors
/// `Conflict` without a menu in force or a rate of tax for today; `Invalid` with every fault of the draft.
pub fn compose(tx: &mut Tx<'_>, of: &Vehicle, draft: &QuoteDraft, number: &str, revision: u32) -> Done<Composed> {
    // Faults of the menu are reported first: no draft can be priced without it.
    let menu = menu::usecase::current(tx)?;
    composed(tx, of, draft, (number, revision), menu, false)
}

/// The same with a menu of the caller's choice, such as the one that a signed quote froze, and also without any line.
///
/// # Errors
/// `Conflict` without a rate of tax for today; `Invalid` with every fault of the draft.
pub fn compose_from(
    tx: &mut Tx<'_>,
    of: &Vehicle,
    draft: &QuoteDraft,
    number: &str,
    revision: u32,
    menu: Menu,
) -> Done<Composed> {
    composed(tx, of, draft, (number, revision), menu, true)
}

fn composed(
    tx: &mut Tx<'_>,
    of: &Vehicle,
    draft: &QuoteDraft,
    (number, revision): (&str, u32),
    menu: Menu,
    allows_none: bool,
) -> Done<Composed> {
    let settings = shop::usecase::settings(tx)?;
    let buyer = customer::usecase::standing(tx, &of.details.customer_id)?;
    let (inspection, condition) = parties::inspected(tx, draft, &of.id)?;
    let currency = settings.currency;
    let size = draft.size_class.map_or(of.details.size, |size| size.0);
    let car = Car { size, condition, powertrain: of.details.powertrain };
    let kind = buyer.details.kind;
    let prices = choose_prices(draft.prices.map(|word| word.0), buyer.details.prices, settings.prices(kind));
    let today = settings.zone.to_local(tx.now.minute()).date();
    let choices = draft.choices(currency)?;
    let taxes = taxes(draft, &choices_items(&choices), &menu, &settings, today)?;
    let own_rates = own_rates(&choices_items(&choices), &menu, &settings, today)?;
    let conversion =
        |at: usize| Some(PriceConversion::of_line(menu.prices, prices, *own_rates.get(at)?, taxes.get(at)?.1));
    // Only a variation has no lines of its own, if it only drops lines.
    let priced = if choices.is_empty() && allows_none {
        Quoted { lines: Vec::new(), conflicts: Vec::new() }
    } else {
        build_converted(&menu, car, &choices, conversion)?
    };
    let Quoted { lines, conflicts } = priced;
    let terms = Terms {
        currency,
        prices,
        profile: settings.rates.tax_profile,
        discounts: draft.document_discounts(currency)?,
        deposit: draft.deposit_size(currency, settings.terms.deposit)?,
    };
    let services: Vec<Code> = lines.iter().flat_map(|line| line.services.iter().cloned()).collect();
    let beliefs = learning::usecase::beliefs(tx, &menu, &services, size, settings.terms.learning.prior)?;
    let plan_of = |line: &Line| plan_if_any(&menu, &line.units().collect::<Vec<_>>(), car);
    let plans: Vec<Option<WorkPlan>> = lines.iter().map(plan_of).collect::<Result<_, _>>()?;
    let shown_line = |((line, tax), plan): ((&Line, _), &Option<WorkPlan>)| {
        let minutes = plan.as_ref().map_or(Minutes::ZERO, |plan| beliefs.median(plan));
        let rows = settings.terms.price_detail.rows(&line.explanation, car);
        shown_line(line, tax, minutes, ExplainedRow::all(&rows, currency), &menu, currency)
    };
    let shown_lines: Vec<QuoteLine> = lines.iter().zip(&taxes).zip(&plans).map(shown_line).collect();
    let takes_paint = |plan: Option<&WorkPlan>| plan.is_some_and(WorkPlan::takes_paint);
    let mut on_paint = lines.iter().zip(&plans).filter(|(_, plan)| takes_paint(plan.as_ref()));
    let paint_work = on_paint.next().map(|(line, _)| line.name.clone());
    let mut cautions = customer_cautions(plans.iter().flatten());
    if paint_work.is_some() {
        cautions.extend(parties::paint_cautions(tx, &of.id, draft)?);
    }
    let treatments = taxes.iter().map(|(_, treatment)| *treatment);
    let explanation = lines.iter().map(|line| LineExplanation::of(line, currency)).collect();
    let shown_conflicts = conflicts.iter().map(QuoteConflict::of).collect();
    let offered = Offered { lines: lines.into_iter().zip(treatments).collect(), conflicts, terms };
    let required = required_lines(&offered.lines);
    let required_totals =
        if required.is_empty() { None } else { Some(totals(&offered, &menu, &beliefs, car, &required)?) };
    let document = QuoteDocument {
        form: FORM,
        number: number.to_owned(),
        revision,
        variation_of: None,
        change: None,
        sent_at: None,
        holds_until: None,
        studio: parties::studio(&settings),
        customer: parties::customer(&buyer),
        vehicle: parties::vehicle(of, size),
        prices: Word(prices),
        tax_rounding: QuoteTaxRounding::of(offered.terms.profile),
        inspection,
        condition: Word(condition),
        lines: shown_lines,
        conflicts: shown_conflicts,
        discounts: offered.terms.discounts.iter().map(|discount| QuoteDiscount::of(discount, currency)).collect(),
        deposit: offered.terms.deposit.map(|size| QuoteDeposit::of(size, currency)),
        required_totals,
        notes: draft.notes.clone(),
        conditions: settings.terms.conditions.clone(),
        cautions,
        consent: settings.terms.consent.clone(),
        early_start: has_words(kind, settings.terms.asks_express_wish).then(|| EARLY_START.to_owned()),
    };
    let parties = Parties {
        buyer_is_business: kind == CustomerKind::Trade,
        buyer_has_vat_id: buyer.details.vat_id.is_some(),
        seller_has_vat_id: settings.profile.vat_id.is_some(),
    };
    Ok(Composed { document, offered, menu, beliefs, settings, parties, paint_work, explanation })
}

/// The question about an early start: Directive 2011/83/EU, articles 8(8), 14(3) and 16(a), in our own words.
const EARLY_START: &str = "You have 14 days to cancel. May we start before then? If you cancel after we have started, you \
     pay for the work done so far. Once all of it is done you can no longer cancel.";

/// Totals of a choice of lines, with the expected duration of its work.
///
/// # Errors
/// `Invalid` if totals or a plan can't be computed.
pub fn totals(offered: &Offered, menu: &Menu, beliefs: &Beliefs, car: Car, taken: &[usize]) -> Done<QuoteTotals> {
    let sum = offered.terms.sum(&offered.lines, taken)?;
    let plan = plan_if_any(menu, &offered.services(taken), car)?;
    let minutes = plan.map_or(Minutes::ZERO, |plan| beliefs.median(&plan));
    Ok(QuoteTotals::of(&sum, minutes.get(), offered.terms.currency))
}

fn choices_items(choices: &[baywright_domain::pricing::Choice]) -> Vec<&Item> {
    choices.iter().map(|choice| &choice.item).collect()
}

/// Today's tax of each line.
fn taxes<'s>(
    draft: &QuoteDraft,
    items: &[&Item],
    menu: &Menu,
    settings: &'s Settings,
    today: NaiveDate,
) -> Done<Vec<(&'s TaxCategory, Treatment)>> {
    let mut taxes = Vec::with_capacity(items.len());
    for (at, (line, item)) in draft.lines.iter().zip(items).enumerate() {
        let said = line.tax.as_deref().map(Code::parse).transpose()?;
        let found = match TaxChoice::of_line(said.as_ref(), item, menu) {
            TaxChoice::Of(code) => settings.tax(code),
            TaxChoice::Usual => settings.usual_tax(),
        };
        let found = found.ok_or_else(|| {
            let detail = "The shop has no such tax. Choose one of the taxes in its settings.";
            Refused::field(format!("/lines/{at}/tax"), "unknown", detail)
        })?;
        taxes.push((found, found.table.on(today)?));
    }
    Ok(taxes)
}

/// The rate of the tax that the menu names for each item, which is included in its price if the menu's prices are with
/// tax.
fn own_rates(items: &[&Item], menu: &Menu, settings: &Settings, today: NaiveDate) -> Done<Vec<Rate>> {
    let own = |item: &&Item| -> Done<Rate> {
        let tax = own_tax(item, menu).and_then(|code| settings.tax(code));
        Ok(own_rate(tax.map(|tax| &tax.table), today)?)
    };
    items.iter().map(own).collect()
}

fn shown_line(
    line: &Line,
    tax: &(&TaxCategory, Treatment),
    minutes: Minutes,
    explanation: Vec<ExplainedRow>,
    menu: &Menu,
    currency: Currency,
) -> QuoteLine {
    let summary = match &line.item {
        Item::Service(code) => menu.service(code).map(|service| service.summary.as_str()),
        Item::Package(code) => menu.package(code).map(|package| package.summary.as_str()),
        Item::Custom { .. } => None,
    };
    let (category, treatment) = tax;
    let tax = LineTax::of(category.code.as_str(), *treatment, category.reason.clone());
    QuoteLine::of(line, summary.unwrap_or_default(), tax, minutes, explanation, currency)
}
