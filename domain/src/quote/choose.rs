//! Defaults for a quote's draft: its prices, the tax of each line, and the required lines.

use alloc::vec::Vec;

use chrono::NaiveDate;

use crate::document::Prices;
use crate::menu::{Code, Menu};
use crate::pricing::{Item, Line};
use crate::tax::{NoRate, Rate, RateTable, Treatment};

/// Tax basis of a quote's prices: as its draft says, else as its customer wants them, else as the shop usually quotes
/// such customers.
pub fn choose_prices(draft: Option<Prices>, customer: Option<Prices>, usual: Prices) -> Prices {
    draft.or(customer).unwrap_or(usual)
}

/// The tax of a line, one of the shop's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaxChoice<'a> {
    /// The tax with this code.
    Of(&'a Code),
    /// The shop's usual tax.
    Usual,
}

impl<'a> TaxChoice<'a> {
    /// The tax of a line: as the draft says, else as the menu says for its service or package, else the usual one.
    pub fn of_line(draft: Option<&'a Code>, item: &Item, menu: &'a Menu) -> Self {
        draft.or_else(|| own_tax(item, menu)).map_or(Self::Usual, Self::Of)
    }
}

/// Code of the tax that the menu names for an item; `None` for one that is not on it.
pub fn own_tax<'a>(item: &Item, menu: &'a Menu) -> Option<&'a Code> {
    match item {
        Item::Service(code) => menu.service(code).map(|service| &service.tax),
        Item::Package(code) => menu.package(code).map(|package| &package.tax),
        Item::Custom { .. } => None,
    }
}

/// The rate of tax that is included in an item's price if the menu's prices are with tax. `own` is the tax that the
/// menu names for it; without one, or with one that the shop no longer has, no tax is included: the line itself then
/// needs a tax that exists.
///
/// # Errors
/// [`NoRate::NotYet`] if the tax has no rate on that day.
pub fn own_rate(own: Option<&RateTable>, day: NaiveDate) -> Result<Rate, NoRate> {
    own.map_or(Ok(Rate::ZERO), |table| Ok(table.on(day)?.rate()))
}

/// The indexes of the required lines.
pub fn required_lines(lines: &[(Line, Treatment)]) -> Vec<usize> {
    lines.iter().enumerate().filter(|(_, (line, _))| line.required).map(|(at, _)| at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tax::Category;

    #[test]
    fn the_draft_decides_on_prices_then_the_customer_then_the_shop() {
        let (net, gross) = (Prices::Net, Prices::Gross);
        assert_eq!(choose_prices(Some(net), Some(gross), gross), net);
        assert_eq!(choose_prices(None, Some(net), gross), net);
        assert_eq!(choose_prices(None, None, gross), gross);
    }

    #[test]
    fn a_price_holds_the_rate_of_its_own_tax_on_that_day_or_none() {
        let day = |day| NaiveDate::from_ymd_opt(2026, 3, day).unwrap();
        let table = RateTable::new(Category::Standard, [(day(2), Rate::whole(23))]).unwrap();
        assert_eq!(own_rate(Some(&table), day(2)), Ok(Rate::whole(23)));
        assert!(own_rate(Some(&table), day(1)).is_err());
        assert_eq!(own_rate(None, day(1)), Ok(Rate::ZERO));
    }
}
