//! From the menu's prices to a quote's: with tax, or without it.

use crate::document::Prices;
use crate::money::{Money, NotMoney, Rounding};
use crate::tax::{Rate, tax_on, within};

/// How a menu's price becomes a quote's, where one is without tax and the other with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Way {
    /// What the menu's prices are.
    pub menu: Prices,
    /// What the quote's prices are.
    pub quote: Prices,
    /// The rate of tax on the line.
    pub rate: Rate,
}

impl Way {
    /// Whether prices change on the way.
    pub fn converts(self) -> bool {
        self.menu != self.quote && !self.rate.is_zero()
    }

    /// The menu's price of one, as the quote has it: net × (1 + rate), or gross ÷ (1 + rate), rounded once, half away
    /// from zero. It is rounded before it is multiplied by a quantity, so that the price of one that the customer reads
    /// is the price that the line is made of.
    ///
    /// # Errors
    /// [`NotMoney::TooLarge`] where the amount is beyond what a document may hold.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::money::LIMIT;

    fn way(menu: Prices, quote: Prices, percent: u8) -> Way {
        Way { menu, quote, rate: Rate::whole(percent) }
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
            assert_eq!(way(from, to, 23).price(Money::from_minor(price)), Ok(Money::from_minor(expected)));
        }
        assert_eq!(way(Prices::Net, Prices::Gross, 5).price(Money::from_minor(50)), Ok(Money::from_minor(53)));
        assert_eq!(way(Prices::Net, Prices::Gross, 0).price(Money::from_minor(50)), Ok(Money::from_minor(50)));
        assert!(!way(Prices::Net, Prices::Gross, 0).converts());
    }

    #[test]
    fn a_net_price_is_found_again_in_its_gross() {
        for percent in [5, 9, 10, 15, 19, 20, 21, 23, 25] {
            for minor in (1..200_000).step_by(7) {
                let net = Money::from_minor(minor);
                let gross = way(Prices::Net, Prices::Gross, percent).price(net).unwrap();
                assert_eq!(way(Prices::Gross, Prices::Net, percent).price(gross), Ok(net), "{net} at {percent} %");
            }
        }
    }

    #[test]
    fn a_price_that_grows_too_large_is_refused() {
        let largest = Money::from_minor(LIMIT);
        assert_eq!(way(Prices::Net, Prices::Gross, 23).price(largest), Err(NotMoney::TooLarge));
    }
}
