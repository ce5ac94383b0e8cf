//! The starter menu: services, steps, times, waits, products by kind and cautions.
//!
//! Its values are common practice without a published source, and starting points: each item is marked until somebody
//! has checked it. Cautions are reminders; local law, the product's own label and its safety data sheet come first. The
//! demo studio's menu is the same file; the demo's prices are left out here, because every shop sets its own.
//!
//! So there is only one list of steps to maintain. Prices are built from time and a labour rate, because no other
//! studio's prices would fit.

use std::collections::BTreeSet;

use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{Code, Menu};
use baywright_domain::money::{Currency, Money};
use baywright_domain::pricing::service_price;
use baywright_domain::refusal::Fault;
use baywright_domain::vehicle::{BySize, Car, Powertrain, SizeClass};
use rust_decimal::Decimal;
use serde_json::json;

use super::draft::{Draft, draft, edit};
use super::numbers;
use crate::menu::kept::{MenuForm, PackageForm, PriceForm, PriceKind, SizePricesForm};
use crate::platform::fail::{Done, Fail};
use crate::platform::faults::Faults;
use crate::platform::kept::Word;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::shop;

const MENU: &str = include_str!("../../../../../demo-data/menu.json");

/// The services that most studios offer; the others are loaded on request.
const USUAL: &[&str] = &[
    "maintenance-wash",
    "wash-and-wax",
    "full-decontamination",
    "engine-bay-clean",
    "underbody-rinse",
    "water-spot-removal",
    "paint-health-check",
    "polish-one-step",
    "correction-two-step",
    "stone-chip-touch-up",
    "headlamp-restoration",
    "windscreen-polish",
    "trim-restoration",
    "paint-sealant",
    "carnauba-wax",
    "coating-one-layer",
    "coating-two-layer",
    "glass-coating",
    "soft-top-care",
    "interior-refresh",
    "interior-detail",
    "seat-and-carpet-extraction",
    "leather-care",
    "pet-hair-removal",
    "headliner-clean",
    "odour-treatment",
];

/// Price of a package as a share of the sum of its services (common practice, no source).
///
/// A package therefore has no mark `common_practice`: its services have theirs, and its price is the shop's labour rate
/// and price step, which its owner has just entered, with this discount. The warning `dearer_than_parts` guards it from
/// then on.
const PACKAGE_SHARE: Decimal = Decimal::from_parts(95, 0, 0, false, 2);

/// Settings for loading the starter menu.
#[derive(Debug, Clone)]
pub struct FirstMenu {
    /// Price of one hour of work by one person, on the tax basis of the shop's menu.
    pub labour_rate: Money,
    /// Step to which prices are rounded up.
    pub price_step: Money,
    /// Codes of the services to load; empty for those that most studios offer.
    pub services: Vec<Code>,
}

/// The whole starter menu, and the codes of the services that are loaded by default.
pub fn first_menu() -> Done<(MenuForm, &'static [&'static str])> {
    let mut menu: MenuForm = serde_json::from_str(MENU).map_err(Fail::unexpected)?;
    for product in &mut menu.products {
        (product.price, product.common_practice) = (None, true);
    }
    for step in &mut menu.steps {
        step.common_practice = true;
    }
    for service in &mut menu.services {
        // The minutes already grow with the condition, so the price must not grow again.
        service.price = PriceForm { kind: Word(PriceKind::Built), amounts: None };
        (service.condition.priced, service.common_practice) = (false, true);
    }
    for package in &mut menu.packages {
        package.price = SizePricesForm::default();
    }
    Ok((menu, USUAL))
}

/// Writes the starter menu into the draft and sets the shop's labour rate and price step. Services are priced from
/// their time at that rate, under the shop's usual tax; packages slightly below the sum of their services. Products
/// have no price until the shop enters what it pays for them.
///
/// # Errors
/// `Conflict`, to be confirmed, if the draft is not empty; `ChangedMeanwhile` if it has another version; `Invalid` with
/// each service that is not in the starter menu, and a price step of zero.
pub fn load_first(tx: &mut Tx<'_>, seen: Seen, wanted: &FirstMenu) -> Done<Draft> {
    let before = draft(tx)?;
    seen.check(before.version)?;
    if before.menu != MenuForm::empty() {
        tx.must_confirm("draft-not-empty", "The draft of the menu is not empty, and the first menu would replace it.")?;
    }
    let (menu, usual) = first_menu()?;
    let mut faults = Faults::default();
    let step = faults.note(shop::usecase::check_price_step(wanted.price_step));
    let known = faults.note(known_of(&menu, &wanted.services));
    faults.all_or(step.zip(known))?;
    let named: Vec<&str> = wanted.services.iter().map(Code::as_str).collect();
    let chosen = if named.is_empty() { usual.to_vec() } else { named };
    let mut menu = only(menu, &chosen);
    let settings = shop::usecase::settings(tx)?;
    let tax = settings.usual_tax().ok_or_else(|| Fail::unexpected("a shop without a usual tax"))?;
    let tax = tax.code.to_string();
    for service in &mut menu.services {
        service.tax.clone_from(&tax);
    }
    shop::usecase::change_labour(tx, wanted.labour_rate, wanted.price_step)?;
    let priced = menu.read(&numbers(tx)?)?;
    for package in &mut menu.packages {
        package.tax.clone_from(&tax);
        package.price = package_prices(&priced, package, settings.currency)?;
    }
    edit(tx, seen, json!({ "first_menu": true, "services": menu.services.len() }), |draft| {
        *draft = menu.clone();
        Ok(())
    })
}

/// The warning of a menu whose values nobody has checked yet.
pub(super) fn unchecked(menu: &MenuForm) -> Option<Fault> {
    let products = menu.products.iter().filter(|one| one.common_practice).count();
    let steps = menu.steps.iter().filter(|one| one.common_practice).count();
    let services = menu.services.iter().filter(|one| one.common_practice).count();
    let detail = format!(
        "{steps} steps, {products} products and {services} services still have common-practice values: check their \
         times, waits, mixes, amounts and cautions against your own work, each product's label and local law, then \
         clear common_practice on each"
    );
    let all = products + steps + services;
    (all > 0).then(|| Fault { pointer: String::new(), code: "common_practice", detail })
}

/// Whether the starter menu has these services.
///
/// # Errors
/// `Invalid` with each one that it doesn't have.
pub fn has_first_services(services: &[Code]) -> Done<()> {
    Ok(known_of(&first_menu()?.0, services)?)
}

fn known_of(menu: &MenuForm, services: &[Code]) -> Result<(), Refused> {
    let mut faults = Faults::default();
    for (at, code) in services.iter().enumerate() {
        if !menu.services.iter().any(|service| service.code == code.as_str()) {
            let detail =
                format!("The first menu has no service {code}. Choose one that GET /v1/menu/first-menu lists.");
            faults.note(Err::<(), _>(Refused::field(format!("/services/{at}"), "unknown", detail)));
        }
    }
    faults.all_or(Some(()))
}

/// The menu with only those services, and what they need.
fn only(mut menu: MenuForm, chosen: &[&str]) -> MenuForm {
    let chosen: BTreeSet<&str> = chosen.iter().copied().collect();
    menu.services.retain(|service| chosen.contains(service.code.as_str()));
    menu.packages.retain(|package| package.services.iter().all(|code| chosen.contains(code.as_str())));
    for service in &mut menu.services {
        service.excludes.retain(|code| chosen.contains(code.as_str()));
    }
    let steps: BTreeSet<String> =
        menu.services.iter().flat_map(|service| &service.steps).map(|used| used.step.clone()).collect();
    let all = menu.steps.clone();
    menu.steps.retain(|step| steps.contains(&step.code));
    for step in &mut menu.steps {
        // A step that is removed passes on the steps that it waits for, so that the order of the others stays.
        let mut open: Vec<String> = step.after.clone();
        let mut after: Vec<String> = Vec::new();
        while let Some(code) = open.pop() {
            if steps.contains(&code) {
                if !after.contains(&code) {
                    after.push(code);
                }
            } else if let Some(gone) = all.iter().find(|other| other.code == code) {
                open.extend(gone.after.iter().cloned());
            }
        }
        after.sort();
        step.after = after;
    }
    let products: BTreeSet<String> =
        menu.steps.iter().flat_map(|step| &step.doses).map(|dose| dose.product.clone()).collect();
    menu.products.retain(|product| products.contains(&product.code));
    for product in &mut menu.products {
        product.never_with.retain(|code| products.contains(code));
    }
    menu
}

/// A package's price for each size: its share of the services' prices for a car in fair condition, down to the price step.
fn package_prices(menu: &Menu, package: &PackageForm, currency: Currency) -> Done<SizePricesForm> {
    let step = menu.factors.price_step;
    let price = |size: SizeClass| -> Done<Option<Money>> {
        let car = Car { size, condition: ConditionClass::Fair, powertrain: Powertrain::Unknown };
        let mut sum = Money::ZERO;
        for code in &package.services {
            let service = menu.services.iter().find(|service| service.code.as_str() == code);
            let service = service.ok_or_else(|| Fail::unexpected("a package names a service that is not there"))?;
            sum += service_price(menu, service, car)?.price;
        }
        let steps = (sum.decimal() * PACKAGE_SHARE / step.decimal()).floor().max(Decimal::ONE);
        Ok(Some(Money::round(steps * step.decimal()).map_err(Fail::unexpected)?))
    };
    let prices = BySize {
        small: price(SizeClass::Small)?,
        medium: price(SizeClass::Medium)?,
        large: price(SizeClass::Large)?,
        extra_large: price(SizeClass::ExtraLarge)?,
    };
    Ok(SizePricesForm::of(&prices, currency))
}
