//! Conversion of the menu's prices to a quote's: with tax, or without it.

use rust_decimal::{Decimal, RoundingStrategy};

use crate::document::Prices;
use crate::money::{Money, NotMoney, Rounding};
use crate::tax::{Rate, Treatment, tax_on, within};

/// Conversion of a menu's price to a quote's, if one is without tax and the other with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PriceConversion {
    /// Tax basis of the menu's prices.
    pub menu: Prices,
    /// Tax basis of the quote's prices.
    pub quote: Prices,
    /// The rate of tax on the line.
    pub rate: Rate,
}

impl PriceConversion {
    /// Converts the menu's price for one line of a quote. `own` is the rate of the tax that the menu names for the
    /// item, `line` the treatment of the line. A line on which the customer owes the tax, such as one under reverse
    /// charge, has the menu's price without its tax, whatever the quote's other prices are.
    pub const fn of_line(menu: Prices, quote: Prices, own: Rate, line: Treatment) -> Self {
        if line.category().starts_from_net() {
            Self { menu, quote: Prices::Net, rate: own }
        } else {
            Self { menu, quote, rate: line.rate() }
        }
    }

    /// A price of the menu after the tax basis of the whole menu changes: converted by the rate, then rounded to the
    /// nearest price step, at least one step. Zero stays zero, and a price that its rate does not change stays as it
    /// is.
    ///
    /// # Errors
    /// [`NotMoney::TooLarge`] if the amount is beyond what a document may hold.
    pub fn listed(self, price: Money, step: Money) -> Result<Money, NotMoney> {
        if !self.converts() || price == Money::ZERO || step <= Money::ZERO {
            return Ok(price);
        }
        let converted = self.price(price)?.decimal();
        let steps = (converted / step.decimal()).round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
        Money::round(steps.max(Decimal::ONE).checked_mul(step.decimal()).ok_or(NotMoney::TooLarge)?)
    }

    /// The conversion of the quote's prices to the menu's.
    pub const fn back(self) -> Self {
        Self { menu: self.quote, quote: self.menu, rate: self.rate }
    }

    /// A price of the menu after the tax basis of the whole menu changes, to the minor unit. Of the amounts that
    /// convert back to `price` the roundest is chosen, so that an amount of whole units that is converted back and
    /// forth stays the same.
    ///
    /// # Errors
    /// [`NotMoney::TooLarge`] if the amount is beyond what a document may hold.
    pub fn roundest(self, price: Money) -> Result<Money, NotMoney> {
        let exact = self.price(price)?;
        let near = [0, -1, 1].map(|minor| exact + Money::from_minor(minor));
        let leads_back = |near: &Money| !near.is_negative() && self.back().price(*near) == Ok(price);
        // The first of equals is kept, which is the exact one.
        let rounder = |best: Money, near: Money| if roundness(near) > roundness(best) { near } else { best };
        Ok(near.into_iter().filter(leads_back).reduce(rounder).unwrap_or(exact))
    }

    /// Whether the conversion changes prices.
    pub fn converts(self) -> bool {
        self.menu != self.quote && !self.rate.is_zero()
    }

    /// The menu's price of one, on the quote's tax basis: net × (1 + rate), or gross ÷ (1 + rate), rounded once, half
    /// away from zero. It is rounded before it is multiplied by a quantity, so that the line is computed from the unit
    /// price that the customer reads.
    ///
    /// # Errors
    /// [`NotMoney::TooLarge`] if the amount is beyond what a document may hold.
    pub fn price(self, menu: Money) -> Result<Money, NotMoney> {
        match (self.menu, self.quote) {
            (Prices::Net, Prices::Gross) => {
                let gross = menu + tax_on(menu, self.rate, Rounding::HalfAwayFromZero)?;
                Money::round(gross.decimal())
            }
            (Prices::Gross, Prices::Net) => Ok(within(menu, self.rate, Rounding::HalfAwayFromZero)?.net),
            _ => Ok(menu),
        }
    }
}

/// Number of zeros an amount ends with, two at most: whole units are as round as it gets.
const fn roundness(amount: Money) -> u8 {
    match amount.minor() {
        minor if minor % 100 == 0 => 2,
        minor if minor % 10 == 0 => 1,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::money::LIMIT;
    use crate::tax::Category;

    fn conversion(menu: Prices, quote: Prices, percent: u8) -> PriceConversion {
        PriceConversion { menu, quote, rate: Rate::whole(percent) }
    }

    #[test]
    fn an_amount_of_whole_units_stays_what_it_was_there_and_back() {
        let net = conversion(Prices::Gross, Prices::Net, 23);
        // By hand: 65.00 ÷ 1.23 = 52.8455, and 52.85 × 1.23 = 65.0055, which alone would be 65.01.
        assert_eq!(net.roundest(Money::from_minor(6_500)), Ok(Money::from_minor(5_285)));
        assert_eq!(net.back().price(Money::from_minor(5_285)), Ok(Money::from_minor(6_501)));
        for whole in 0..2_000 {
            let before = Money::from_minor(whole * 100);
            let there = net.roundest(before).unwrap();
            assert_eq!(net.back().roundest(there), Ok(before));
        }
        let same = conversion(Prices::Net, Prices::Net, 23);
        assert_eq!(same.roundest(Money::from_minor(6_501)), Ok(Money::from_minor(6_501)));
    }

    #[test]
    fn a_price_is_converted_by_the_rate_of_its_line() {
        // By hand at 23 %: 100.00 net is 123.00 gross; 100.00 gross is 81.3008… net.
        for (from, to, price, expected) in [
            (Prices::Net, Prices::Gross, 10_000, 12_300),
            (Prices::Gross, Prices::Net, 12_300, 10_000),
            (Prices::Gross, Prices::Net, 10_000, 8_130),
            (Prices::Gross, Prices::Gross, 10_000, 10_000),
            (Prices::Net, Prices::Net, 10_000, 10_000),
            // Half a cent of tax goes up: 0.50 at 5 % is 0.525.
        ] {
            assert_eq!(conversion(from, to, 23).price(Money::from_minor(price)), Ok(Money::from_minor(expected)));
        }
        assert_eq!(conversion(Prices::Net, Prices::Gross, 5).price(Money::from_minor(50)), Ok(Money::from_minor(53)));
        assert_eq!(conversion(Prices::Net, Prices::Gross, 0).price(Money::from_minor(50)), Ok(Money::from_minor(50)));
        assert!(!conversion(Prices::Net, Prices::Gross, 0).converts());
    }

    #[test]
    fn a_net_price_is_found_again_in_its_gross() {
        for percent in [5, 9, 10, 15, 19, 20, 21, 23, 25] {
            for minor in (1..200_000).step_by(7) {
                let net = Money::from_minor(minor);
                let gross = conversion(Prices::Net, Prices::Gross, percent).price(net).unwrap();
                assert_eq!(
                    conversion(Prices::Gross, Prices::Net, percent).price(gross),
                    Ok(net),
                    "{net} at {percent} %"
                );
            }
        }
    }

    #[test]
    fn a_line_under_reverse_charge_starts_from_the_net() {
        let own = Rate::whole(19);
        let line = |category, rate| Treatment::new(category, rate).unwrap();
        let conversion = |menu, quote, treatment| {
            PriceConversion::of_line(menu, quote, own, treatment).price(Money::from_minor(11_900))
        };
        let reverse = line(Category::ReverseCharge, Rate::ZERO);
        for quote in [Prices::Net, Prices::Gross] {
            assert_eq!(
                conversion(Prices::Gross, quote, reverse),
                Ok(Money::from_minor(10_000)),
                "119.00 holds 19.00 of tax"
            );
            assert_eq!(
                conversion(Prices::Net, quote, reverse),
                Ok(Money::from_minor(11_900)),
                "the menu is net already"
            );
            let abroad = line(Category::IntraCommunity, Rate::ZERO);
            assert_eq!(conversion(Prices::Gross, quote, abroad), Ok(Money::from_minor(10_000)));
        }
        // Other lines have their own rate, as before.
        let standard = line(Category::Standard, own);
        assert_eq!(conversion(Prices::Gross, Prices::Gross, standard), Ok(Money::from_minor(11_900)));
        assert_eq!(conversion(Prices::Gross, Prices::Net, standard), Ok(Money::from_minor(10_000)));
        assert_eq!(
            conversion(Prices::Gross, Prices::Gross, line(Category::Exempt, Rate::ZERO)),
            Ok(Money::from_minor(11_900))
        );
    }

    #[test]
    fn a_menu_that_changes_its_basis_has_prices_of_whole_steps() {
        let euro = Money::from_minor(100);
        let to_net = conversion(Prices::Gross, Prices::Net, 19);
        // 59.00 ÷ 1.19 = 49.58, nearest 50.00; 59.00 × 1.19 = 70.21, nearest 70.00.
        assert_eq!(to_net.listed(Money::from_minor(5_900), euro), Ok(Money::from_minor(5_000)));
        assert_eq!(
            conversion(Prices::Net, Prices::Gross, 19).listed(Money::from_minor(5_900), euro),
            Ok(Money::from_minor(7_000))
        );
        assert_eq!(to_net.listed(Money::from_minor(5_900), Money::from_minor(1)), Ok(Money::from_minor(4_958)));
        assert_eq!(to_net.listed(Money::from_minor(40), euro), Ok(euro), "a price never becomes nothing");
        assert_eq!(to_net.listed(Money::ZERO, euro), Ok(Money::ZERO));
        let untaxed = conversion(Prices::Gross, Prices::Net, 0);
        assert_eq!(untaxed.listed(Money::from_minor(5_950), euro), Ok(Money::from_minor(5_950)));
    }

    #[test]
    fn a_price_that_grows_too_large_is_refused() {
        let largest = Money::from_minor(LIMIT);
        assert_eq!(conversion(Prices::Net, Prices::Gross, 23).price(largest), Err(NotMoney::TooLarge));
    }
}
