//! Splitting an amount so that the parts sum to the whole: the method of the largest remainder.

use alloc::vec::Vec;

use super::fraction::money_of;
use super::{Money, NotMoney};

/// Splits `whole` in proportion to `weights`: each part gets its quota rounded toward zero, and the remaining units go
/// to the largest remainders, earlier parts first if remainders are equal. The parts always sum to `whole`.
///
/// Negative weights count by their absolute value, so that a list with a credit line can still be split. If all weights
/// are zero the first part takes the whole; no weights give no parts.
pub fn split(whole: Money, weights: &[Money]) -> Vec<Money> {
    let Some(size) = weights.len().checked_sub(1).map(|_| weights.len()) else {
        return Vec::new();
    };
    let weights: Vec<i128> = weights.iter().map(|w| i128::from(w.minor()).abs()).collect();
    let total: i128 = weights.iter().sum();
    let mut parts = alloc::vec![Money::ZERO; size];
    if total == 0 {
        parts[0] = whole;
        return parts;
    }
    let amount = i128::from(whole.minor()).abs();
    let sign = if whole.is_negative() { -1 } else { 1 };
    let mut order: Vec<(i128, usize)> = Vec::with_capacity(size);
    let mut left = amount;
    for (at, weight) in weights.iter().enumerate() {
        let product = amount * weight;
        let quota = product / total;
        left -= quota;
        order.push((product % total, at));
        parts[at] = from_wide(sign * quota);
    }
    order.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, at) in order {
        if left == 0 {
            break;
        }
        left -= 1;
        parts[at] += from_wide(sign);
    }
    parts
}

/// Splits `whole` into parts that should be `shares[i] ÷ denominator` of a minor unit, by the largest remainder: each
/// gets its share rounded down, and the remaining units go to the largest remainders, earlier parts first if they are
/// equal. Shares may be of either sign; a split of the opposite signs is the mirror image.
///
/// If the shares together differ from `whole` by less than one unit, no part is a whole unit off its share.
///
/// # Errors
/// [`NotMoney::TooLarge`] if a part is beyond what a document may hold, or the shares are a unit for each part or more
/// away from `whole`.
pub(crate) fn split_by_shares(whole: Money, shares: &[i128], denominator: i128) -> Result<Vec<Money>, NotMoney> {
    let total = shares.iter().try_fold(0_i128, |sum, s| sum.checked_add(*s)).ok_or(NotMoney::TooLarge)?;
    let mirror = if (total < 0) == (denominator < 0) { 1 } else { -1 };
    let size = denominator.checked_abs().filter(|d| *d != 0).ok_or(NotMoney::TooLarge)?;
    let direction = mirror * denominator.signum();
    let mut left = mirror * i128::from(whole.minor());
    let mut parts = Vec::with_capacity(shares.len());
    let mut order: Vec<(i128, usize)> = Vec::with_capacity(shares.len());
    for (at, share) in shares.iter().enumerate() {
        let share = share.checked_mul(direction).ok_or(NotMoney::TooLarge)?;
        let floor = share.div_euclid(size);
        left -= floor;
        parts.push(floor);
        order.push((share.rem_euclid(size), at));
    }
    order.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    let spare = usize::try_from(left).ok().filter(|&l| l <= parts.len()).ok_or(NotMoney::TooLarge)?;
    for &(_, at) in order.iter().take(spare) {
        parts[at] += 1;
    }
    parts.into_iter().map(|part| money_of(mirror * part, 1, super::Rounding::TowardZero)).collect()
}

/// A quota never exceeds the whole, so it fits; the fallback is not reached.
fn from_wide(minor: i128) -> Money {
    Money::from_minor(i64::try_from(minor).unwrap_or(i64::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn money(minor: &[i64]) -> Vec<Money> {
        minor.iter().copied().map(Money::from_minor).collect()
    }

    #[test]
    fn the_parts_sum_to_the_whole_and_ties_go_to_the_first() {
        assert_eq!(split(Money::from_minor(100), &money(&[1, 1, 1])), money(&[34, 33, 33]));
        assert_eq!(split(Money::from_minor(-100), &money(&[1, 1, 1])), money(&[-34, -33, -33]));
        assert_eq!(split(Money::from_minor(7), &money(&[0, 0])), money(&[7, 0]));
        assert!(split(Money::from_minor(7), &[]).is_empty());
    }

    #[test]
    fn shares_of_both_signs_split_to_the_whole_and_mirror() {
        // 100.00 less 10.00, tax included at 19 %: 84.033.. and -8.403.. of a net of 75.63.
        let shares = [10_000 * 100, -1_000 * 100];
        let parts = split_by_shares(Money::from_minor(7563), &shares, 119).unwrap();
        assert_eq!(parts, money(&[8403, -840]));
        let back = split_by_shares(Money::from_minor(-7563), &shares.map(|s| -s), 119).unwrap();
        assert_eq!(back, money(&[-8403, 840]));
        assert_eq!(split_by_shares(Money::ZERO, &[], 1), Ok(Vec::new()));
        assert!(split_by_shares(Money::from_minor(9), &[1, 1], 1).is_err());
    }

    #[test]
    fn shares_in_proportion_split_as_weights_do() {
        for (whole, weights) in [(100_i64, [1_i64, 1, 1]), (7, [3, 2, 9]), (1, [5, 5, 4])] {
            let total: i64 = weights.iter().sum();
            let shares = weights.map(|w| i128::from(w * whole));
            let parts = split_by_shares(Money::from_minor(whole), &shares, i128::from(total)).unwrap();
            assert_eq!(parts, split(Money::from_minor(whole), &money(&weights)));
        }
    }
}
