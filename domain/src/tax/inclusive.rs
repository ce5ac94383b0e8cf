//! Tax inside gross amounts, without changing the gross.

use alloc::vec::Vec;

use super::{Rate, tax_on};
use crate::money::fraction::money_of;
use crate::money::percent::WHOLE;
use crate::money::split::split_by_shares;
use crate::money::{Money, NotMoney, Rounding};

/// Parts of a gross amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Included {
    /// The net: `gross ÷ (1 + rate)`, rounded half away from zero.
    pub net: Money,
    /// The tax on that net.
    pub tax: Money,
    /// Difference between the gross and the sum of net and tax. For a share of about `rate ÷ (1 + rate)` of all gross
    /// amounts no net fits exactly (99.99 at 19 %: 84.03 + 15.97 is 100.00); the document carries the unit as its
    /// rounding amount (EN 16931-1, BT-114), so that the payable amount is the gross that was signed.
    pub rounding: Money,
}

/// Splits a gross amount (RULES: prices including tax). The three parts always sum to the gross.
///
/// # Errors
/// [`NotMoney::TooLarge`] if the amount is beyond what a document may hold.
pub fn within(gross: Money, rate: Rate, rounding: Rounding) -> Result<Included, NotMoney> {
    let net = money_of(i128::from(gross.minor()) * WHOLE, WHOLE + rate.steps(), Rounding::HalfAwayFromZero)?;
    let tax = tax_on(net, rate, rounding)?;
    Ok(Included { net, tax, rounding: gross - net - tax })
}

/// Splits the net of a category over its gross items by largest remainder; the parts sum to `net`.
///
/// Items of one sign share the net in proportion to their gross. If lines and deductions are mixed, the sum may be near
/// zero while the items are not, so there each item's own `gross ÷ (1 + rate)` is its share.
///
/// # Errors
/// [`NotMoney::TooLarge`] if an amount is beyond what a document may hold.
pub fn net_shares(net: Money, rate: Rate, items: &[Money]) -> Result<Vec<Money>, NotMoney> {
    let wide = |m: &Money| i128::from(m.minor());
    let total: i128 = items.iter().map(wide).sum();
    let mixed = items.iter().any(|m| m.is_negative()) && items.iter().any(|m| *m > Money::ZERO);
    if mixed || total == 0 {
        let shares: Vec<i128> = items.iter().map(|m| wide(m) * WHOLE).collect();
        return split_by_shares(net, &shares, WHOLE + rate.steps());
    }
    let shares: Vec<i128> = items.iter().map(|m| wide(m) * i128::from(net.minor())).collect();
    split_by_shares(net, &shares, total)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minor(amount: i64) -> Money {
        Money::from_minor(amount)
    }

    #[test]
    fn a_gross_that_no_net_reaches_carries_one_unit_as_rounding() {
        let parts = within(minor(9_999), Rate::whole(19), Rounding::HalfAwayFromZero);
        assert_eq!(parts, Ok(Included { net: minor(8_403), tax: minor(1_597), rounding: minor(-1) }));
        let back = within(minor(-9_999), Rate::whole(19), Rounding::HalfAwayFromZero);
        assert_eq!(back, Ok(Included { net: minor(-8_403), tax: minor(-1_597), rounding: minor(1) }));
    }

    #[test]
    fn line_nets_sum_to_the_net_of_their_category() {
        // Three times 33.33 at 19 %: 99.99, net 84.03, and 28.01 each.
        let nets = net_shares(minor(8_403), Rate::whole(19), &[minor(3_333); 3]);
        assert_eq!(nets, Ok(alloc::vec![minor(2_801); 3]));
        // 100.00 less 99.99: a net of one cent, and nobody's line becomes its own gross.
        let nets = net_shares(minor(1), Rate::whole(19), &[minor(10_000), minor(-9_999)]);
        assert_eq!(nets, Ok(alloc::vec![minor(8_403), minor(-8_402)]));
        assert_eq!(net_shares(Money::ZERO, Rate::whole(19), &[]), Ok(Vec::new()));
    }
}
