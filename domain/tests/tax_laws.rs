//! What holds for tax whatever the amounts.

use baywright_domain::money::{Money, Percent, Rounding, split};
use baywright_domain::tax::{net_shares, tax_on, within};
use proptest::prelude::*;
use rust_decimal::Decimal;

/// The rates of RULES: tax, in hundredths of a percent.
const RATES: [i64; 10] = [2500, 2300, 2100, 2000, 1900, 1500, 1350, 1000, 900, 500];

fn rate(hundredths: i64) -> Percent {
    Percent::new(Decimal::new(hundredths, 2)).unwrap()
}

/// `(2a + b) ÷ 2b` rounded down is `a ÷ b` rounded half up: for what is not negative.
fn half_up(a: i64, b: i64) -> i64 {
    (2 * a + b) / (2 * b)
}

/// Every price with tax from 0.01 to 10,000.00 at ten rates: the parts are what the rule says, they sum to the gross,
/// and a unit is left for the rounding exactly if no net reaches the gross, which is a share of about `rate ÷ (1 +
/// rate)` of all prices.
#[test]
fn every_gross_price_is_kept_to_the_cent() {
    for hundredths in RATES {
        let rate = rate(hundredths);
        let gross_of = |net: i64| net + half_up(net * hundredths, 10_000);
        let mut unreached = 0;
        for gross in 1..=1_000_000_i64 {
            let parts = within(Money::from_minor(gross), rate, Rounding::HalfAwayFromZero).unwrap();
            let net = half_up(gross * 10_000, 10_000 + hundredths);
            assert_eq!(parts.net.minor(), net, "net of {gross} at {rate} %");
            assert_eq!(parts.tax.minor(), half_up(net * hundredths, 10_000), "tax of {gross} at {rate} %");
            assert_eq!((parts.net + parts.tax + parts.rounding).minor(), gross);
            if parts.rounding.is_zero() {
                continue;
            }
            unreached += 1;
            assert_eq!(parts.rounding.minor().abs(), 1, "{gross} at {rate} %");
            let reached = (net - 1..=net + 1).any(|near| gross_of(near) == gross);
            assert!(!reached, "a net reaches {gross} at {rate} %");
        }
        let share = 1_000_000 * hundredths / (10_000 + hundredths);
        assert!((unreached - share).abs() <= 2, "{unreached} unreached at {rate} %, about {share} expected");
    }
}

fn any_rounding() -> impl Strategy<Value = Rounding> {
    prop_oneof![
        Just(Rounding::HalfAwayFromZero),
        Just(Rounding::HalfTowardZero),
        Just(Rounding::HalfEven),
        Just(Rounding::TowardZero),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn tax_of_a_negative_amount_mirrors_the_positive(
        minor in 0..1_000_000_000_000_i64, steps in 0..=1_000_000_i64, rounding in any_rounding(),
    ) {
        let rate = Percent::new(Decimal::new(steps, 4)).unwrap();
        let tax = |minor| tax_on(Money::from_minor(minor), rate, rounding).unwrap();
        prop_assert_eq!(tax(-minor), -tax(minor));
        let parts = |minor| within(Money::from_minor(minor), rate, rounding).unwrap();
        prop_assert_eq!(parts(-minor).net, -parts(minor).net);
        prop_assert_eq!(parts(minor).net + parts(minor).tax + parts(minor).rounding, Money::from_minor(minor));
    }

    #[test]
    fn roundings_differ_by_less_than_a_unit(
        minor in -1_000_000_000_000..1_000_000_000_000_i64, steps in 0..=1_000_000_i64, rounding in any_rounding(),
    ) {
        let rate = Percent::new(Decimal::new(steps, 4)).unwrap();
        let tax = tax_on(Money::from_minor(minor), rate, rounding).unwrap();
        // Error in millionths of a unit, against the exact product.
        let error = i128::from(tax.minor()) * 1_000_000 - i128::from(minor) * i128::from(steps);
        let most = if rounding == Rounding::TowardZero { 999_999 } else { 500_000 };
        prop_assert!(error.abs() <= most);
    }

    #[test]
    fn line_nets_sum_to_the_net_and_stay_within_a_unit_of_their_share(
        items in prop::collection::vec(-1_000_000..1_000_000_i64, 1..20), steps in 0..=1_000_000_i64,
    ) {
        let rate = Percent::new(Decimal::new(steps, 4)).unwrap();
        let items: Vec<Money> = items.into_iter().map(Money::from_minor).collect();
        let whole = within(items.iter().copied().sum(), rate, Rounding::HalfAwayFromZero).unwrap();
        let nets = net_shares(whole.net, rate, &items).unwrap();
        prop_assert_eq!(nets.iter().copied().sum::<Money>(), whole.net);
        for (item, net) in items.iter().zip(&nets) {
            let exact = i128::from(item.minor()) * 1_000_000;
            let error = i128::from(net.minor()) * i128::from(1_000_000 + steps) - exact;
            prop_assert!(error.abs() < 2 * i128::from(1_000_000 + steps), "{} of {}", net, item);
        }
    }

    #[test]
    fn a_split_of_one_sign_is_the_split_by_weight(
        items in prop::collection::vec(0..1_000_000_i64, 1..20), steps in 0..=1_000_000_i64,
    ) {
        let rate = Percent::new(Decimal::new(steps, 4)).unwrap();
        let items: Vec<Money> = items.into_iter().map(Money::from_minor).collect();
        let net = within(items.iter().copied().sum(), rate, Rounding::HalfAwayFromZero).unwrap().net;
        prop_assert_eq!(net_shares(net, rate, &items).unwrap(), split(net, &items));
    }
}
