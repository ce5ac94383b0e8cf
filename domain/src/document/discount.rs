//! Amounts of discounts, and how a discount on the document is split over the tax treatments of its lines.

use alloc::vec::Vec;

use super::{Adjustment, BadDocument, Broken, Discount, DiscountSize, Place};
use crate::money::split::split_by_shares;
use crate::money::{Money, Rounding};
use crate::tax::Treatment;

/// Amount of a discount on a given amount.
pub(super) fn taken_off(discount: &Discount, from: Money) -> Result<Money, Broken> {
    if discount.reason.trim().is_empty() {
        return Err(Broken::NoReason);
    }
    let amount = match discount.size {
        DiscountSize::Amount(amount) => amount,
        DiscountSize::Percent(percent) => percent.of(from, Rounding::HalfAwayFromZero).map_err(|_| Broken::TooLarge)?,
    };
    let same_way = amount.is_zero() || amount.is_negative() == from.is_negative();
    if same_way && amount.minor().unsigned_abs() <= from.minor().unsigned_abs() {
        Ok(amount)
    } else {
        Err(Broken::DiscountTooLarge)
    }
}

/// Distributes a document's discounts over the sums of its lines per treatment, by largest remainder: one allowance for
/// each treatment that a share falls on. All discounts are measured on the same sum; together they never exceed it.
pub(super) fn shared(discounts: &[Discount], groups: &[(Treatment, Money)]) -> Result<Vec<Adjustment>, BadDocument> {
    let whole: Money = groups.iter().map(|&(_, sum)| sum).sum();
    let mut allowances = Vec::new();
    let mut left = whole;
    for (at, discount) in discounts.iter().enumerate() {
        let refuse = |broken| BadDocument { place: Place::Item { list: "discounts", at, field: "off" }, broken };
        let amount = taken_off(discount, whole).map_err(refuse)?;
        if amount.minor().unsigned_abs() > left.minor().unsigned_abs() {
            return Err(refuse(Broken::DiscountTooLarge));
        }
        left = left - amount;
        if amount.is_zero() {
            continue;
        }
        let wide = |m: Money| i128::from(m.minor());
        let shares: Vec<i128> = groups.iter().map(|&(_, sum)| wide(sum) * wide(amount)).collect();
        let parts = split_by_shares(amount, &shares, wide(whole)).map_err(|_| refuse(Broken::TooLarge))?;
        let parts = groups.iter().zip(parts).filter(|(_, part)| !part.is_zero());
        allowances.extend(parts.map(|(&(treatment, _), amount)| Adjustment {
            amount,
            treatment,
            reason: Some(discount.reason.clone()),
        }));
    }
    Ok(allowances)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::money::Percent;
    use crate::tax::{Category, Rate};

    fn minor(amount: i64) -> Money {
        Money::from_minor(amount)
    }

    fn discount(size: DiscountSize) -> Discount {
        Discount { size, reason: "loyal customer".into() }
    }

    fn groups(sums: &[i64]) -> Vec<(Treatment, Money)> {
        let rates = [25, 12, 6].map(|r| Treatment::new(Category::Standard, Rate::whole(r)).unwrap());
        rates.into_iter().zip(sums.iter().map(|&s| minor(s))).collect()
    }

    #[test]
    fn a_document_discount_is_split_over_categories_and_its_parts_sum_to_it() {
        let ten = discount(DiscountSize::Percent(Percent::whole(10)));
        let parts = shared(&[ten], &groups(&[10_005, 5_005, 333])).unwrap();
        let amounts: Vec<i64> = parts.iter().map(|a| a.amount.minor()).collect();
        // 10 % of 153.43 is 15.34: quotas 10.003, 5.004 and 0.332.
        assert_eq!(amounts, [1_000, 501, 33]);
        // One of the lines is given back.
        let eight = discount(DiscountSize::Amount(minor(800)));
        let parts = shared(&[eight], &groups(&[10_000, -2_000])).unwrap();
        assert_eq!(parts.iter().map(|a| a.amount.minor()).collect::<Vec<_>>(), [1_000, -200]);
    }

    #[test]
    fn a_discount_never_exceeds_what_it_is_taken_off() {
        let amount = |m| discount(DiscountSize::Amount(minor(m)));
        let broken = |all: &[Discount], sums: &[i64]| shared(all, &groups(sums)).map_err(|bad| bad.broken);
        assert_eq!(broken(&[amount(101)], &[100]), Err(Broken::DiscountTooLarge));
        assert_eq!(broken(&[amount(-1)], &[100]), Err(Broken::DiscountTooLarge));
        assert_eq!(broken(&[amount(60), amount(60)], &[100]), Err(Broken::DiscountTooLarge));
        assert_eq!(broken(&[amount(1)], &[100, -100]), Err(Broken::DiscountTooLarge));
        assert_eq!(broken(&[amount(0)], &[100, -100]), Ok(Vec::new()));
        assert!(broken(&[amount(-60), amount(-40)], &[-100]).is_ok());
    }

    #[test]
    fn a_discount_has_a_reason() {
        let silent = Discount { size: DiscountSize::Percent(Percent::whole(5)), reason: "  ".into() };
        assert_eq!(taken_off(&silent, minor(100)), Err(Broken::NoReason));
    }
}
