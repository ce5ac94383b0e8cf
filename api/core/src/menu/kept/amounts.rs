//! The standard form of amounts in a stored menu: `59` and `59.0` become `59.00`, so that menus with the same prices
//! have the same text.

use baywright_domain::money::Currency;

use super::{MenuForm, SizePricesForm};
use crate::platform::kept::Amount;

impl MenuForm {
    /// Writes each amount with the decimals of the currency. One that can't be read stays unchanged, for validation to
    /// report.
    pub fn write_amounts(&mut self, currency: Currency) {
        let services = self.services.iter_mut().filter_map(|service| service.price.amounts.as_mut());
        let packages = self.packages.iter_mut().map(|package| &mut package.price);
        for SizePricesForm { small, medium, large, extra_large } in services.chain(packages) {
            for price in [small, medium, large, extra_large] {
                write(price, currency);
            }
        }
        for product in &mut self.products {
            write(&mut product.price, currency);
        }
    }
}

fn write(price: &mut Option<Amount>, currency: Currency) {
    if let Some(Ok(money)) = price.as_ref().map(|amount| amount.money(currency)) {
        *price = Some(Amount::of(money, currency));
    }
}
