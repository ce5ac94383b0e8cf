//! The shop's taxes: categories of EN 16931-1 with dated rates.

use baywright_domain::id::TaxCategoryId;
use baywright_domain::menu::Code;
use baywright_domain::money::Percent;
use baywright_domain::tax::{Category, RateTable};
use chrono::NaiveDate;
use serde_json::json;

use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::shop::settings::TaxCategory;
use crate::shop::store;

/// Maximum number of taxes that a shop has: each is loaded with every quote.
const MOST: usize = 30;

/// Details of a tax.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaxDetails {
    /// Its short name.
    pub code: Code,
    /// Name of the tax as people read it.
    pub name: String,
    /// The category of EN 16931-1.
    pub category: Category,
    /// Reason why no tax is charged, if the category needs a reason.
    pub reason: Option<String>,
    /// Whether a new service takes it; the tax that was the usual one before no longer is.
    pub usual: bool,
    /// Rates, each with the day from which it applies.
    pub rates: Vec<(NaiveDate, Percent)>,
}

/// Every tax of the shop, by code.
pub fn taxes(tx: &mut Tx<'_>) -> Done<Vec<TaxCategory>> {
    Ok(store::tax::all(tx)?)
}

/// The tax with that id.
pub fn show_tax(tx: &mut Tx<'_>, id: &TaxCategoryId) -> Done<TaxCategory> {
    let found = store::tax::all(tx)?.into_iter().find(|tax| tax.id == *id);
    Ok(found.ok_or_else(|| Refused::not_found("tax"))?)
}

/// Adds a tax.
pub fn add_tax(tx: &mut Tx<'_>, details: &TaxDetails) -> Done<TaxCategory> {
    if store::tax::all(tx)?.len() >= MOST {
        return Err(Refused::conflict("too-many-taxes", format!("A shop has at most {MOST} taxes.")).into());
    }
    let id = insert_tax(tx, details)?;
    show_tax(tx, &id)
}

pub(super) fn insert_tax(tx: &mut Tx<'_>, details: &TaxDetails) -> Done<TaxCategoryId> {
    let tax = checked(details, ids::new(), 1)?;
    if tax.usual {
        store::tax::only_usual(tx, &tax.id)?;
    }
    store::tax::insert(tx, &tax).map_err(code_taken)?;
    record::write(tx, "tax.added", ("tax", tax.id.as_str()), summary(details))?;
    Ok(tax.id)
}

/// Replaces a tax. Existing documents keep the rates with which they were made.
pub fn replace_tax(tx: &mut Tx<'_>, id: &TaxCategoryId, seen: Seen, details: &TaxDetails) -> Done<TaxCategory> {
    let before = show_tax(tx, id)?;
    seen.check(before.version)?;
    if before.usual && !details.usual {
        let detail = "One tax must be the usual one. To change it, make another tax the usual one.";
        return Err(Refused::field("/usual", "last_usual", detail).into());
    }
    if details.usual {
        store::tax::only_usual(tx, id)?;
    }
    let tax = checked(details, id.clone(), before.version + 1)?;
    store::tax::update(tx, &tax).map_err(code_taken)?;
    record::write(tx, "tax.changed", ("tax", id.as_str()), summary(details))?;
    show_tax(tx, id)
}

fn checked(details: &TaxDetails, id: TaxCategoryId, version: i64) -> Done<TaxCategory> {
    if details.rates.is_empty() {
        let detail = "Give at least one rate and the day from which it applies. Use 0 if no tax is charged.";
        return Err(Refused::field("/rates", "empty", detail).into());
    }
    if details.category.needs_reason() && details.reason.is_none() {
        let detail = format!("Category {} needs the reason why no tax is charged.", details.category);
        return Err(Refused::field("/reason", "missing", detail).into());
    }
    Ok(TaxCategory {
        id,
        code: details.code.clone(),
        name: details.name.clone(),
        table: RateTable::new(details.category, details.rates.iter().copied())?,
        reason: details.reason.clone(),
        usual: details.usual,
        version,
    })
}

fn code_taken(error: DbError) -> Fail {
    if error.is_taken() {
        Refused::field("/code", "taken", "The shop has a tax of this code. Use another code.").into()
    } else {
        error.into()
    }
}

fn summary(details: &TaxDetails) -> serde_json::Value {
    let rates: Vec<_> = details.rates.iter().map(|(from, rate)| format!("{from} {rate}")).collect();
    json!({ "code": details.code.as_str(), "category": details.category.code(), "rates": rates })
}
