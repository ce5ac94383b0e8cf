//! The prices of an earlier revision on the basis that a change leads to. A price that was only converted since returns
//! to its value there: rounding to a price step can't be undone by converting once more.

use std::collections::BTreeMap;

use baywright_domain::money::{Currency, Money, NotMoney};

use crate::menu::kept::{MenuForm, SizePricesForm};
use crate::platform::kept::Amount;

/// Prices by list, code and size class.
#[derive(Debug, Default)]
pub(super) struct Origins(BTreeMap<String, Money>);

impl Origins {
    /// The prices of a menu.
    pub(super) fn of(menu: &MenuForm, currency: Currency) -> Self {
        let mut all = BTreeMap::new();
        let mut keep = |key: String, price: Option<&Amount>| {
            if let Some(Ok(money)) = price.map(|price| price.money(currency)) {
                all.insert(key, money);
            }
        };
        for product in &menu.products {
            keep(format!("products/{}", product.code), product.price.as_ref());
        }
        let services = menu.services.iter().filter_map(|service| {
            service.price.amounts.as_ref().map(|amounts| (format!("services/{}", service.code), amounts))
        });
        let packages = menu.packages.iter().map(|package| (format!("packages/{}", package.code), &package.price));
        for (item, prices) in services.chain(packages) {
            let SizePricesForm { small, medium, large, extra_large } = prices;
            for (price, size) in [(small, "small"), (medium, "medium"), (large, "large"), (extra_large, "extra_large")]
            {
                keep(format!("{item}/{size}"), price.as_ref());
            }
        }
        Self(all)
    }

    /// The earlier price if `convert` turns it into `before`, else `after`.
    pub(super) fn instead_of(
        &self,
        after: Money,
        key: &str,
        before: Money,
        convert: impl Fn(Money) -> Result<Money, NotMoney>,
    ) -> Money {
        self.0.get(key).copied().filter(|origin| convert(*origin) == Ok(before)).unwrap_or(after)
    }
}
