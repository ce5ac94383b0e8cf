//! Exact fractions of minor units, and rounding them to whole ones.

use super::{LIMIT, Money, NotMoney};
use crate::word::words;

words! {
    /// Rounding of a fraction of a minor unit.
    pub enum Rounding("way of rounding") {
        /// To the nearest, halves away from zero: RULES: money, and EN 16931-1.
        HalfAwayFromZero = "HALF_AWAY_FROM_ZERO" "halves away from zero",
        /// To the nearest, halves toward zero: an authority that lets half a unit be dropped.
        HalfTowardZero = "HALF_TOWARD_ZERO" "halves toward zero",
        /// To the nearest, halves to the even unit.
        HalfEven = "HALF_EVEN" "halves to even",
        /// The fraction is dropped.
        TowardZero = "TOWARD_ZERO" "fractions dropped",
    }
}

/// The whole number that `numerator ÷ denominator` rounds to, exactly, without a decimal expansion in between, so a
/// value just below a half is never taken for one. `None` if the denominator is zero or the numbers are too large.
pub(crate) fn quotient(numerator: i128, denominator: i128, rounding: Rounding) -> Option<i128> {
    let whole = numerator.checked_div(denominator)?;
    let rest = numerator.checked_rem(denominator)?.unsigned_abs();
    let missing = denominator.unsigned_abs() - rest;
    let away = match rounding {
        Rounding::TowardZero => false,
        Rounding::HalfAwayFromZero => rest >= missing,
        Rounding::HalfTowardZero => rest > missing,
        Rounding::HalfEven => rest > missing || (rest == missing && whole % 2 != 0),
    };
    if rest == 0 || !away {
        return Some(whole);
    }
    whole.checked_add(if (numerator < 0) == (denominator < 0) { 1 } else { -1 })
}

/// [`quotient`] as money.
///
/// # Errors
/// [`NotMoney::TooLarge`] beyond [`LIMIT`], or if the numbers are too large to compute with.
pub(crate) fn money_of(numerator: i128, denominator: i128, rounding: Rounding) -> Result<Money, NotMoney> {
    quotient(numerator, denominator, rounding)
        .and_then(|minor| i64::try_from(minor).ok())
        .filter(|minor| minor.unsigned_abs() <= LIMIT.unsigned_abs())
        .map(Money::from_minor)
        .ok_or(NotMoney::TooLarge)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_rounding_does_as_it_says_on_both_sides_of_zero() {
        // Numerators over 10: the tie 2.5, the tie 3.5, and their neighbours.
        for (numerator, away, toward, even, cut) in
            [(25, 3, 2, 2, 2), (35, 4, 3, 4, 3), (24, 2, 2, 2, 2), (26, 3, 3, 3, 2), (30, 3, 3, 3, 3), (5, 1, 0, 0, 0)]
        {
            for sign in [1, -1] {
                let all = [
                    (Rounding::HalfAwayFromZero, away),
                    (Rounding::HalfTowardZero, toward),
                    (Rounding::HalfEven, even),
                    (Rounding::TowardZero, cut),
                ];
                for (rounding, expected) in all {
                    assert_eq!(quotient(sign * numerator, 10, rounding), Some(sign * expected));
                    assert_eq!(quotient(numerator, sign * 10, rounding), Some(sign * expected));
                }
            }
        }
        assert_eq!(quotient(1, 0, Rounding::HalfEven), None);
        assert_eq!(quotient(i128::MIN, -1, Rounding::HalfEven), None);
    }

    #[test]
    fn a_value_just_below_a_half_is_not_a_half() {
        let big = 10_i128.pow(30);
        assert_eq!(quotient(big / 2 - 1, big, Rounding::HalfAwayFromZero), Some(0));
        assert_eq!(quotient(big / 2, big, Rounding::HalfAwayFromZero), Some(1));
    }
}
