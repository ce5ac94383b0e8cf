//! One line's amount, in the prices of the document.

use rust_decimal::Decimal;

use super::discount::taken_off;
use super::{BadDocument, Broken, Line, Place};
use crate::money::fraction::money_of;
use crate::money::{Currency, Money, NotMoney, Rounding};

/// A line in the prices of its document.
pub(super) struct Entered {
    /// `quantity × price ÷ base quantity`, rounded once.
    pub(super) listed: Money,
    /// Amount that its discount takes off.
    pub(super) discount: Money,
    /// Amount after the discount, minus the allowance, plus the charge.
    pub(super) amount: Money,
}

/// Computes the line at position `at`.
pub(super) fn entered(line: &Line, at: usize, currency: Currency) -> Result<Entered, BadDocument> {
    let refuse = |field, broken| BadDocument { place: Place::Item { list: "lines", at, field }, broken };
    if line.price.is_sign_negative() && !line.price.is_zero() {
        return Err(refuse("price", Broken::NegativePrice));
    }
    if line.base_quantity.is_zero() || line.base_quantity.is_sign_negative() {
        return Err(refuse("base_quantity", Broken::BaseQuantity));
    }
    let too_large = |_| refuse("price", Broken::TooLarge);
    let listed = listed(line, currency).map_err(too_large)?;
    let discount = match &line.discount {
        None => Money::ZERO,
        Some(discount) => taken_off(discount, listed).map_err(|broken| refuse("discount", broken))?,
    };
    let amount =
        i128::from((listed - discount).minor()) - i128::from(line.allowance.minor()) + i128::from(line.charge.minor());
    let amount = money_of(amount, 1, Rounding::HalfAwayFromZero).map_err(too_large)?;
    Ok(Entered { listed, discount, amount })
}

/// `quantity × price ÷ base quantity` in minor units, as one exact fraction rounded once.
fn listed(line: &Line, currency: Currency) -> Result<Money, NotMoney> {
    let [quantity, price, base] = [line.quantity, line.price, line.base_quantity].map(|d: Decimal| d.normalize());
    let raise = currency.decimals() + base.scale();
    let lower = quantity.scale() + price.scale();
    let power = |exponent: u32| 10_i128.checked_pow(exponent).ok_or(NotMoney::TooLarge);
    let numerator = quantity
        .mantissa()
        .checked_mul(price.mantissa())
        .and_then(|product| product.checked_mul(power(raise.saturating_sub(lower)).ok()?))
        .ok_or(NotMoney::TooLarge)?;
    let denominator = base.mantissa().checked_mul(power(lower.saturating_sub(raise))?).ok_or(NotMoney::TooLarge)?;
    money_of(numerator, denominator, Rounding::HalfAwayFromZero)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{Discount, DiscountSize};
    use crate::money::Percent;
    use crate::tax::{Category, Rate, Treatment};

    fn line(quantity: &str, price: &str, base: &str) -> Line {
        let treatment = Treatment::new(Category::Standard, Rate::whole(25)).unwrap();
        let mut line = Line::new(quantity.parse().unwrap(), price.parse().unwrap(), treatment);
        line.base_quantity = base.parse().unwrap();
        line
    }

    fn amount(line: &Line) -> Result<Money, Broken> {
        entered(line, 0, Currency::EUR).map(|e| e.amount).map_err(|bad| bad.broken)
    }

    #[test]
    fn a_line_is_quantity_times_price_by_base_quantity_rounded_once() {
        for (quantity, price, base, minor) in [
            ("16000", "0.00101", "1", 1_616),
            ("90", "1585", "365", 39_082),
            ("-3", "0.335", "1", -101),
            ("1", "1", "3", 33),
            // An amount just below half a cent stays below it.
            ("1", "0.0049999999999999999999999999", "1", 0),
            ("0", "5", "1", 0),
        ] {
            assert_eq!(amount(&line(quantity, price, base)), Ok(Money::from_minor(minor)), "{quantity} × {price}");
        }
    }

    #[test]
    fn allowance_and_charge_and_discount_of_a_line_change_its_net() {
        let mut some = line("10", "410", "1");
        some.allowance = Money::from_minor(10_100);
        some.charge = Money::from_minor(100);
        assert_eq!(amount(&some), Ok(Money::from_minor(400_000)));
        let size = DiscountSize::Percent(Percent::whole(10));
        some.discount = Some(Discount { size, reason: "fleet".into() });
        assert_eq!(amount(&some), Ok(Money::from_minor(359_000)));
    }

    #[test]
    fn a_line_that_breaks_a_rule_is_refused() {
        assert_eq!(amount(&line("1", "-1", "1")), Err(Broken::NegativePrice));
        assert_eq!(amount(&line("1", "1", "0")), Err(Broken::BaseQuantity));
        assert_eq!(amount(&line("1", "1", "-1")), Err(Broken::BaseQuantity));
        assert_eq!(amount(&line("99999999999", "99999999999", "1")), Err(Broken::TooLarge));
        let digits = "0.1234567890123456789012345678";
        assert_eq!(amount(&line(digits, digits, "1")), Err(Broken::TooLarge));
        let mut huge = line("1", "1", "1");
        huge.charge = Money::from_minor(i64::MAX);
        assert_eq!(amount(&huge), Err(Broken::TooLarge));
    }
}
