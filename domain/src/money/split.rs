//! Splitting an amount so that the parts sum to the whole: the method of the largest remainder.

use alloc::vec::Vec;

use super::Money;

/// Splits `whole` in proportion to `weights`: each part gets its quota rounded toward zero, and the units left over go
/// to the largest remainders, earlier parts first where remainders are equal. The parts always sum to `whole`.
///
/// Negative weights count as their size, so that a list with a credit line still splits. Where all weights are zero
/// the first part takes the whole; no weights give no parts.
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
}
