//! Use cases of the menu, and the functions that other features call: [`current`], [`in_force`], [`at`].

mod basis;
mod changes;
mod draft;
mod first;
mod preview;
mod publish;
mod withdraw;
mod words;

use std::collections::BTreeMap;

use baywright_domain::document::Prices;
use baywright_domain::id::{MenuRevisionId, PersonId};
use baywright_domain::menu::Menu;

use super::kept::{MenuForm, Numbers};
use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop;

pub use basis::{PriceChange, Rebased, rebase, replace_rates};
pub use changes::{Change, ChangeKind, Changes, FieldChange, changes};
pub use draft::{
    Draft, Judged, MOST_BYTES, MOST_MINUTES, draft, drafted, put_checkpoints, put_package, put_product, put_service,
    put_step, remove_package, remove_product, remove_service, remove_step, replace, rescale_step, restore, validated,
};
pub use first::{FirstMenu, first_menu, has_first_services, load_first};
pub use preview::{Ask, Preview, Source, chosen_work, price};
pub use publish::{is_in_force, publish, revisions, show_revision};
pub use withdraw::withdraw;
pub use words::{KnownWords, known_words};

/// A published revision of the menu; it never changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// Its id.
    pub id: MenuRevisionId,
    /// Number of the revision, counted from 1 in the shop.
    pub number: i64,
    /// Time from which it is in force, until a later one replaces it.
    pub from: UtcTime,
    /// Note for the shop's own people about what has changed.
    pub note: String,
    /// SHA-256 over its canonical JSON, in hex.
    pub digest: String,
    /// Person who published it; `None` if a command of the program did.
    pub published_by: Option<PersonId>,
    /// Time when it was published.
    pub published_at: UtcTime,
    /// Whether its prices are without tax or with it.
    pub prices: Prices,
    /// Time when it was withdrawn; from then on it is never in force.
    pub withdrawn_at: Option<UtcTime>,
}

/// The revision in force, for the rules.
#[derive(Debug, Clone)]
pub struct InForce {
    /// The revision.
    pub revision: Revision,
    /// Its menu as it was published.
    pub form: MenuForm,
    /// The menu of the rules, with the factors and rates of the shop's settings as they are now.
    pub menu: Menu,
}

/// The menu in force now, with the shop's current factors and rates.
///
/// # Errors
/// `Conflict` if the shop has published none.
pub fn current(tx: &mut Tx<'_>) -> Done<Menu> {
    Ok(in_force(tx)?.menu)
}

/// The revision in force now with its menu.
///
/// # Errors
/// `Conflict` if the shop has published none.
pub fn in_force(tx: &mut Tx<'_>) -> Done<InForce> {
    find_in_force(tx)?.ok_or_else(|| {
        Refused::conflict("no-menu", "The shop has no menu in force yet. Publish one first: POST /v1/menu/publish.")
            .into()
    })
}

/// The revision in force now, if there is one.
pub fn find_in_force(tx: &mut Tx<'_>) -> Done<Option<InForce>> {
    let now = tx.now;
    find_in_force_at(tx, now)
}

/// The revision in force at a moment, with the factors and rates that the shop has now.
fn find_in_force_at(tx: &mut Tx<'_>, moment: UtcTime) -> Done<Option<InForce>> {
    let Some((revision, content)) = store::in_force_at(tx, moment)? else { return Ok(None) };
    let form = kept(&content)?;
    let numbers = Numbers { prices: revision.prices, ..numbers(tx)? };
    let menu = form.read(&numbers).map_err(unreadable)?;
    Ok(Some(InForce { revision, form, menu }))
}

/// Names of the steps of the menu in force.
#[derive(Debug, Clone, Default)]
pub struct StepNames(BTreeMap<String, String>);

impl StepNames {
    /// Name of the step with that code; the code itself if the menu has no such step any more.
    pub fn of(&self, code: &str) -> String {
        self.0.get(code).cloned().unwrap_or_else(|| code.to_owned())
    }
}

/// Names of the steps of the menu in force; of none without a menu.
pub fn step_names(tx: &mut Tx<'_>) -> Done<StepNames> {
    let steps = find_in_force(tx)?.map(|in_force| in_force.menu.steps).unwrap_or_default();
    Ok(StepNames(steps.into_iter().map(|step| (step.code.to_string(), step.name)).collect()))
}

/// The menu of one revision, in force or not, with the shop's current factors and rates. A quote that must not change
/// stores [`to_json`](super::to_json) instead.
///
/// # Errors
/// `NotFound` if the shop has no such revision.
pub fn at(tx: &mut Tx<'_>, id: &MenuRevisionId) -> Done<Menu> {
    let (revision, form) = show_revision(tx, id)?;
    let numbers = Numbers { prices: revision.prices, ..numbers(tx)? };
    form.read(&numbers).map_err(unreadable)
}

/// Tax basis of the menu that was in force at a given time. Before the first revision it is the shop's current one.
pub fn basis_at(tx: &mut Tx<'_>, moment: UtcTime) -> Done<Prices> {
    Ok(match store::in_force_at(tx, moment)? {
        Some((revision, _)) => revision.prices,
        None => numbers(tx)?.prices,
    })
}

/// The shop's own numbers, from which prices and budgets are computed.
fn numbers(tx: &mut Tx<'_>) -> Done<Numbers> {
    let settings = shop::usecase::settings(tx)?;
    let rates = settings.rates;
    Ok(Numbers {
        factors: rates.factors,
        changeovers: rates.changeovers,
        currency: settings.currency,
        prices: rates.private_prices,
    })
}

/// A form from the database.
fn kept(content: &str) -> Done<MenuForm> {
    serde_json::from_str(content).map_err(|error| Fail::Db(DbError::Corrupt(format!("a menu: {error}"))))
}

/// A stored form was read before it was stored, so it can be read again.
fn unreadable(problem: Refused) -> Fail {
    Fail::Db(DbError::Corrupt(format!("a menu: {problem}")))
}
