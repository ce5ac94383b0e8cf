//! Changing the tax basis of prices: every price is converted once, and can be previewed before.
//!
//! The menu has one tax basis, the shop's `private_prices`, and each revision keeps the basis with which it was
//! published. Changing it is a use case of the menu, because it converts every price by its tax; the use case of the
//! rates refuses to change the basis alone.
//!
//! A price is converted to the *nearest* price step: rounding up each time would make prices rise with every change. A
//! price that was only converted since the last revision on the other basis returns to its value there. A line under
//! reverse charge, an export or a supply to another member state starts from the price without the menu's own tax.

mod origins;

use baywright_domain::document::Prices;
use baywright_domain::menu::Code;
use baywright_domain::money::{Currency, Money};
use baywright_domain::pricing::PriceConversion;
use baywright_domain::tax::Rate;
use chrono::NaiveDate;
use serde_json::json;

use self::origins::Origins;
use super::draft::{Draft, draft, edit};
use super::{Revision, Source, find_in_force, kept, publish};
use crate::menu::kept::{MenuForm, SizePricesForm, code};
use crate::menu::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::Amount;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::shop;
use crate::shop::settings::Rates;
use crate::shop::usecase::Settings;

/// A price before and after the change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PriceChange {
    /// Menu that contains the price.
    pub menu: Source,
    /// JSON pointer to the price in that menu.
    pub pointer: String,
    /// Name of the service, package or product.
    pub name: String,
    /// The price before.
    pub before: Money,
    /// The price after.
    pub after: Money,
}

/// Effect of changing the tax basis.
#[derive(Debug, Clone)]
pub struct Rebased {
    /// Tax basis before the change.
    pub from: Prices,
    /// Tax basis after the change.
    pub to: Prices,
    /// Every price of the menu in force and, if it differs, of the draft.
    pub prices: Vec<PriceChange>,
    /// The labour rate before and after.
    pub labour_rate: [Money; 2],
    /// The draft after the change.
    pub draft: Draft,
    /// The revision made from the one in force; `None` if none was in force.
    pub revision: Option<Revision>,
    /// The currency of the amounts.
    pub currency: Currency,
}

/// Replaces the shop's rates. The tax basis changes here only while there is no price to convert.
///
/// # Errors
/// `Conflict` if the basis would change and the menu has prices; `ChangedMeanwhile` if the rates have another version.
pub fn replace_rates(tx: &mut Tx<'_>, seen: Seen, rates: &Rates) -> Done<(Rates, UtcTime)> {
    let (before, _) = shop::usecase::rates(tx)?;
    if rates.private_prices != before.private_prices && has_prices(tx)? {
        seen.check(before.version)?;
        let detail = format!(
            "The menu's prices are {}. Changing this here would read them as {} without changing a number. \
             Use POST /v1/menu/price-basis, which converts each price by its tax and shows the result first.",
            before.private_prices.label(),
            rates.private_prices.label()
        );
        return Err(Refused::conflict("menu-has-prices", detail).into());
    }
    shop::usecase::replace_rates(tx, seen, rates)
}

/// Whether the shop has a menu whose prices a change of basis would have to convert.
fn has_prices(tx: &mut Tx<'_>) -> Done<bool> {
    let form = draft(tx)?.menu;
    let drafted = !(form.services.is_empty() && form.packages.is_empty() && form.products.is_empty());
    Ok(drafted || find_in_force(tx)?.is_some() || store::any_to_come(tx)?)
}

/// Changes the tax basis of the shop's prices. Fixed prices and packages are converted by the tax that the menu names
/// for them and rounded to the nearest price step; the labour rate and the prices of products by the shop's usual tax,
/// to the minor unit. The draft is changed, and the revision in force is followed by a converted one at once.
///
/// # Errors
/// `Conflict` if prices already have that basis, or a published revision is not in force yet; `ChangedMeanwhile` if the
/// draft changed meanwhile.
pub fn rebase(tx: &mut Tx<'_>, seen: Option<Seen>, to: Prices) -> Done<Rebased> {
    let before = draft(tx)?;
    if let Some(seen) = &seen {
        seen.check(before.version)?;
    }
    let settings = shop::usecase::settings(tx)?;
    let from = settings.rates.private_prices;
    if from == to {
        let detail = format!("The menu's prices are already {}, so there is nothing to convert.", to.label());
        return Err(Refused::conflict("prices-already-so", detail).into());
    }
    if store::any_to_come(tx)? {
        let detail = "A published revision of the menu is not in force yet and can't be changed. Withdraw it first, or \
                      convert the prices once it is in force.";
        return Err(Refused::conflict("revision-to-come", detail).into());
    }
    let converter = Converter::new(tx, &settings, from, to)?;
    let in_force = find_in_force(tx)?;
    let mut prices = Vec::new();
    let converted = in_force.as_ref().map(|now| converter.menu(&now.form, Source::InForce, &mut prices)).transpose()?;
    let same = in_force.as_ref().is_some_and(|now| now.form == before.menu);
    let mut draft_prices = Vec::new();
    let drafted = converter.menu(&before.menu, Source::Draft, &mut draft_prices)?;
    if !same {
        prices.append(&mut draft_prices);
    }
    let labour = settings.rates.factors.labour_rate;
    let labour_rate = [labour, converter.usual(labour)?];
    shop::usecase::change_basis(tx, to, labour_rate[1])?;
    let after = if before.version == 0 {
        before
    } else {
        let what = json!({ "prices": to.as_str() });
        edit(tx, Seen(before.version), what, |menu| {
            *menu = drafted.clone();
            Ok(())
        })?
    };
    let note = format!("Prices {}", to.label());
    let now = tx.now;
    let revision = converted.map(|menu| publish::insert(tx, &menu, to, now, &note)).transpose()?;
    Ok(Rebased { from, to, prices, labour_rate, draft: after, revision, currency: settings.currency })
}

/// A menu of an earlier revision, with its prices on the shop's current tax basis.
pub(super) fn in_todays_basis(tx: &mut Tx<'_>, from: Prices, menu: MenuForm) -> Done<MenuForm> {
    let settings = shop::usecase::settings(tx)?;
    let to = settings.rates.private_prices;
    if from == to {
        return Ok(menu);
    }
    let converter = Converter::new(tx, &settings, from, to)?;
    converter.menu(&menu, Source::Draft, &mut Vec::new())
}

struct Converter<'s> {
    settings: &'s Settings,
    today: NaiveDate,
    from: Prices,
    to: Prices,
    origins: Origins,
}

impl<'s> Converter<'s> {
    fn new(tx: &mut Tx<'_>, settings: &'s Settings, from: Prices, to: Prices) -> Done<Self> {
        let earlier = store::last_in_force_with(tx, to)?.map(|content| kept(&content)).transpose()?;
        let origins = earlier.map(|menu| Origins::of(&menu, settings.currency)).unwrap_or_default();
        Ok(Self { settings, today: tx.today()?, from, to, origins })
    }
}

impl Converter<'_> {
    fn conversion(&self, rate: Rate) -> PriceConversion {
        PriceConversion { menu: self.from, quote: self.to, rate }
    }

    fn usual_rate(&self) -> Done<Rate> {
        self.settings.usual_tax().map_or(Ok(Rate::ZERO), |tax| Ok(tax.table.on(self.today)?.rate()))
    }

    /// An amount converted with the shop's usual tax, to the minor unit.
    fn usual(&self, amount: Money) -> Done<Money> {
        self.conversion(self.usual_rate()?).roundest(amount).map_err(|error| too_large("/labour_rate", &error))
    }

    fn menu(&self, menu: &MenuForm, source: Source, changes: &mut Vec<PriceChange>) -> Done<MenuForm> {
        let mut menu = menu.clone();
        for (at, product) in menu.products.iter_mut().enumerate() {
            let (name, pointer) = (product.name.clone(), format!("/products/{at}/price"));
            if let Some(price) = &mut product.price {
                let key = format!("products/{}", product.code);
                let back = self.conversion(self.usual_rate()?).back();
                let usual = |before: Money| -> Done<Money> {
                    Ok(self.origins.instead_of(self.usual(before)?, &key, before, |origin| back.roundest(origin)))
                };
                let mut place = Place { menu: source, name: &name, pointer, changes: &mut *changes };
                place.convert(price, self.settings.currency, usual)?;
            }
        }
        for (at, service) in menu.services.iter_mut().enumerate() {
            let (name, pointer) = (service.name.clone(), format!("/services/{at}"));
            if let Some(amounts) = &mut service.price.amounts {
                let place = Place {
                    menu: source,
                    name: &name,
                    pointer: format!("{pointer}/price/amounts"),
                    changes: &mut *changes,
                };
                let key = format!("services/{}", service.code);
                self.sizes(amounts, &service.tax, (&pointer, &key), place)?;
            }
        }
        for (at, package) in menu.packages.iter_mut().enumerate() {
            let (name, pointer) = (package.name.clone(), format!("/packages/{at}"));
            let place =
                Place { menu: source, name: &name, pointer: format!("{pointer}/price"), changes: &mut *changes };
            let key = format!("packages/{}", package.code);
            self.sizes(&mut package.price, &package.tax, (&pointer, &key), place)?;
        }
        Ok(menu)
    }

    /// Converts the prices of an item; `item` is its position and the key to its earlier prices.
    fn sizes(&self, prices: &mut SizePricesForm, tax: &str, (item, key): (&str, &str), place: Place<'_>) -> Done<()> {
        let rate = self.rate(&code(tax)?, &format!("{item}/tax"))?;
        let (conversion, step) = (self.conversion(rate), self.settings.rates.factors.price_step);
        let Place { menu, name, pointer, changes } = place;
        let SizePricesForm { small, medium, large, extra_large } = prices;
        for (price, size) in [(small, "small"), (medium, "medium"), (large, "large"), (extra_large, "extra_large")] {
            let Some(price) = price else { continue };
            let mut place = Place { menu, name, pointer: format!("{pointer}/{size}"), changes: &mut *changes };
            let pointer = place.pointer.clone();
            let key = format!("{key}/{size}");
            let listed = |before: Money| -> Done<Money> {
                let after = conversion.listed(before, step).map_err(|error| too_large(&pointer, &error))?;
                Ok(self.origins.instead_of(after, &key, before, |origin| conversion.back().listed(origin, step)))
            };
            place.convert(price, self.settings.currency, listed)?;
        }
        Ok(())
    }

    fn rate(&self, code: &Code, pointer: &str) -> Done<Rate> {
        let tax = self.settings.tax(code).ok_or_else(|| {
            let detail =
                format!("The shop has no tax {code}, so this price can't be converted. Correct the draft first.");
            Refused::field(pointer, "unknown", detail)
        })?;
        Ok(tax.table.on(self.today)?.rate())
    }
}

/// Position of a price, and the list of changes.
struct Place<'a> {
    menu: Source,
    name: &'a str,
    pointer: String,
    changes: &'a mut Vec<PriceChange>,
}

impl Place<'_> {
    fn convert(&mut self, price: &mut Amount, currency: Currency, to: impl FnOnce(Money) -> Done<Money>) -> Done<()> {
        let before = price.sent(currency, &self.pointer)?;
        let after = to(before)?;
        *price = Amount::of(after, currency);
        let (name, pointer) = (self.name.to_owned(), self.pointer.clone());
        self.changes.push(PriceChange { menu: self.menu, pointer, name, before, after });
        Ok(())
    }
}

fn too_large(pointer: &str, error: &impl std::fmt::Display) -> Fail {
    Refused::field(pointer, "too_large", format!("{error}.")).into()
}
