//! Tax on top of net amounts.

use super::Rate;
use crate::money::{Money, NotMoney, Rounding};

/// The tax on a taxable amount: `taxable × rate`, rounded once (EN 16931-1, BR-S-9 and BR-CO-17).
///
/// # Errors
/// [`NotMoney::TooLarge`] if the amount is beyond what a document may hold.
pub fn tax_on(taxable: Money, rate: Rate, rounding: Rounding) -> Result<Money, NotMoney> {
    rate.of(taxable, rounding)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tax_is_taxable_times_rate_rounded_half_away_from_zero() {
        // 5,012.42 at 25 % is 1,253.105.
        let tax = |minor, rounding| tax_on(Money::from_minor(minor), Rate::whole(25), rounding);
        assert_eq!(tax(501_242, Rounding::HalfAwayFromZero), Ok(Money::from_minor(125_311)));
        assert_eq!(tax(-501_242, Rounding::HalfAwayFromZero), Ok(Money::from_minor(-125_311)));
        assert_eq!(tax(501_242, Rounding::HalfEven), Ok(Money::from_minor(125_310)));
        assert_eq!(tax(501_242, Rounding::TowardZero), Ok(Money::from_minor(125_310)));
    }
}
