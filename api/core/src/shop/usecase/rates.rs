//! The shop's rates, which only the owner changes.

use baywright_domain::document::Prices;
use baywright_domain::inspection::ByCondition;
use baywright_domain::menu::Factors;
use baywright_domain::money::Money;
use baywright_domain::vehicle::BySize;
use rust_decimal::Decimal;
use serde_json::json;

use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::faults::Faults;
use crate::platform::record;
use crate::platform::refusal::{Refused, sentence};
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::shop::settings::Rates;
use crate::shop::store;

/// The rates, and when they last changed.
pub fn rates(tx: &mut Tx<'_>) -> Done<(Rates, UtcTime)> {
    Ok(store::rates::find(tx)?)
}

/// Replaces the rates; the version of `rates` is ignored. Existing quotes keep the rates with which they were made.
pub fn replace_rates(tx: &mut Tx<'_>, seen: Seen, rates: &Rates) -> Done<(Rates, UtcTime)> {
    let (before, _) = store::rates::find(tx)?;
    seen.check(before.version)?;
    check_factors(&rates.factors.size, &rates.factors.condition)?;
    check_price_step(rates.factors.price_step)?;
    store::rates::update(tx, &Rates { version: before.version + 1, ..rates.clone() })?;
    let shop = tx.studio.id.to_string();
    record::write(tx, "rates.changed", ("shop", &shop), json!({ "version": (before.version + 1).to_string() }))?;
    warn_of(tx, &rates.factors);
    Ok(store::rates::find(tx)?)
}

/// Whether the factors can be used.
///
/// # Errors
/// `Invalid` with every factor that is out of range.
pub fn check_factors(size: &BySize<Decimal>, condition: &ByCondition<Decimal>) -> Result<(), Refused> {
    let mut faults = Faults::default();
    let sizes = size.iter().map(|(size, factor)| ("size", size.label(), factor));
    for (kind, name, factor) in sizes.chain(condition.iter().map(|(class, f)| ("condition", class.label(), f))) {
        if *factor <= Decimal::ZERO || *factor > Decimal::TEN {
            let detail = format!("The factor for {name} must be above 0 and at most 10.");
            let pointer = format!("/{kind}_factors/{}", name.replace(' ', "_"));
            faults.note(Err::<(), _>(Refused::field(pointer, "out_of_range", detail)));
        }
    }
    faults.all_or(Some(()))
}

/// The price step, if it can be used.
///
/// # Errors
/// `Invalid` for a step of zero.
pub fn check_price_step(step: Money) -> Result<Money, Refused> {
    if step <= Money::ZERO {
        return Err(Refused::field("/price_step/amount", "not_positive", "Write a price step above 0."));
    }
    Ok(step)
}

/// Warns of a labour rate of zero, and of a price step that looks like a typing error.
fn warn_of(tx: &mut Tx<'_>, factors: &Factors) {
    for warning in factors.warnings(tx.studio.currency) {
        tx.warn(&warning.code.replace('_', "-"), warning.pointer, sentence(&warning.detail));
    }
}

/// Changes the tax basis of prices for private customers, together with a labour rate on that basis. The menu's prices
/// are changed by the menu in the same transaction.
pub fn change_basis(tx: &mut Tx<'_>, prices: Prices, labour_rate: Money) -> Done<()> {
    changed(tx, |rates| {
        rates.private_prices = prices;
        rates.factors.labour_rate = labour_rate;
    })
    .map(drop)
}

/// Changes the labour rate and the price step.
///
/// # Errors
/// `Invalid` for a price step of zero.
pub fn change_labour(tx: &mut Tx<'_>, labour_rate: Money, price_step: Money) -> Done<()> {
    check_price_step(price_step)?;
    let now = changed(tx, |rates| {
        rates.factors.labour_rate = labour_rate;
        rates.factors.price_step = price_step;
    })?;
    warn_of(tx, &now.factors);
    Ok(())
}

/// Changes the rates and returns them.
fn changed(tx: &mut Tx<'_>, change: impl FnOnce(&mut Rates)) -> Done<Rates> {
    let (mut rates, _) = store::rates::find(tx)?;
    let version = rates.version + 1;
    change(&mut rates);
    rates.version = version;
    store::rates::update(tx, &rates)?;
    let shop = tx.studio.id.to_string();
    record::write(tx, "rates.changed", ("shop", &shop), json!({ "version": version.to_string() }))?;
    Ok(rates)
}
