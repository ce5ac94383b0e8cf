//! Mixing a product with water, and how much of a mix a job takes.
//!
//! "1:4" is one part of product to four parts of water by volume, so a litre holds 200 ml of product (the trade's
//! usual reading; "one part in four in all" is another convention and is not meant here). "50 ml in 10 l" is 50 ml of
//! product made up to ten litres in all. Millilitres are rounded to a tenth, half away from zero: first the whole, then
//! the product; water is the rest, so that the two always sum to the whole.

use alloc::string::{String, ToString};

use rust_decimal::{Decimal, RoundingStrategy};

use crate::refusal::{Kind, Refusal};

/// A mix as its label states it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ratio {
    /// Parts of product to parts of water.
    Parts {
        /// Parts of product, above zero.
        product: Decimal,
        /// Parts of water; zero for a product used neat.
        water: Decimal,
    },
    /// Millilitres of product made up to a total.
    MadeUpTo {
        /// Millilitres of product, above zero.
        product_ml: Decimal,
        /// Millilitres in all, not below the product's.
        total_ml: Decimal,
    },
}

/// Product and water of one mix, in millilitres to a tenth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mixed {
    /// Millilitres of product as bought.
    pub product_ml: Decimal,
    /// Millilitres of water.
    pub water_ml: Decimal,
}

/// Reason why text is not a mix, or an amount can't be mixed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadMix {
    /// The text is neither "1:4" nor "50 ml in 10 l".
    #[error("write the mix as product to water, such as 1:4, or as 50 ml in 10 l")]
    Malformed,
    /// No product at all.
    #[error("the mix needs some product: its first number must be above zero")]
    NoProduct,
    /// More product than the whole.
    #[error("the mix has more product than the total it is made up to")]
    MoreThanWhole,
    /// A number is beyond what is mixed in a studio.
    #[error("the amount must be from 0 to 1,000,000 ml")]
    OutOfRange,
}

impl Refusal for BadMix {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-mix"
    }
}

/// Maximum amount that is mixed at once, a cubic metre; also bounds the numbers of a ratio.
const MOST_ML: u32 = 1_000_000;

impl Ratio {
    /// Reads "1:4", "1:2.5", "50 ml in 10 l" or "50ml in 10000 ml"; blanks don't matter and case doesn't either.
    ///
    /// # Errors
    /// [`BadMix`] if it is neither form, has no product, or more product than whole.
    pub fn parse(text: &str) -> Result<Self, BadMix> {
        let text = text.to_lowercase();
        if let Some((product, water)) = text.split_once(':') {
            return Self::parts(number(product)?, number(water)?);
        }
        let (product, total) = text.split_once(" in ").ok_or(BadMix::Malformed)?;
        Self::made_up_to(millilitres(product)?, millilitres(total)?)
    }

    /// Parts of product to parts of water.
    ///
    /// # Errors
    /// [`BadMix::NoProduct`] or [`BadMix::OutOfRange`].
    pub fn parts(product: Decimal, water: Decimal) -> Result<Self, BadMix> {
        let (product, water) = (within(product)?, within(water)?);
        if product.is_zero() {
            return Err(BadMix::NoProduct);
        }
        Ok(Self::Parts { product, water })
    }

    /// Millilitres of product made up to a total.
    ///
    /// # Errors
    /// [`BadMix::NoProduct`], [`BadMix::MoreThanWhole`] or [`BadMix::OutOfRange`].
    pub fn made_up_to(product_ml: Decimal, total_ml: Decimal) -> Result<Self, BadMix> {
        let (product_ml, total_ml) = (within(product_ml)?, within(total_ml)?);
        match () {
            () if product_ml.is_zero() => Err(BadMix::NoProduct),
            () if product_ml > total_ml => Err(BadMix::MoreThanWhole),
            () => Ok(Self::MadeUpTo { product_ml, total_ml }),
        }
    }

    /// Product, and the whole it is a part of, in the ratio's own unit.
    fn share(self) -> (Decimal, Decimal) {
        match self {
            Self::Parts { product, water } => (product, product + water),
            Self::MadeUpTo { product_ml, total_ml } => (product_ml, total_ml),
        }
    }

    /// The share of product in percent, to a hundredth, half away from zero.
    pub fn percent(self) -> Decimal {
        let (product, whole) = self.share();
        (product * Decimal::ONE_HUNDRED / whole).round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero)
    }

    /// Product and water that make `total_ml` millilitres of the mix.
    ///
    /// # Errors
    /// [`BadMix::OutOfRange`] if the whole is below zero or above a cubic metre.
    pub fn make(self, total_ml: Decimal) -> Result<Mixed, BadMix> {
        let total = tenth(within(total_ml)?);
        let (product, whole) = self.share();
        // Multiplying before dividing keeps a share such as a third exact up to the one rounding.
        let product_ml = tenth(total * product / whole);
        Ok(Mixed { product_ml: product_ml.normalize(), water_ml: (total - product_ml).normalize() })
    }
}

impl core::fmt::Display for Ratio {
    /// Text for a bottle: `1:4`, `50 ml in 10 l`; [`Ratio::parse`] reads it back.
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Parts { product, water } => write!(f, "{}:{}", product.normalize(), water.normalize()),
            Self::MadeUpTo { product_ml, total_ml } => write!(f, "{} in {}", volume(*product_ml), volume(*total_ml)),
        }
    }
}

/// A volume in words: litres from one litre on, millilitres below.
pub fn volume(ml: Decimal) -> String {
    let thousand = Decimal::ONE_THOUSAND;
    if ml >= thousand {
        alloc::format!("{} l", (ml / thousand).normalize())
    } else {
        alloc::format!("{} ml", ml.normalize())
    }
}

/// Amount of a mix or product for one job: `units` (square metres, or a count such as four wheels) × `rate` per unit ×
/// size factor, to a tenth, half away from zero (RULES: mixing).
///
/// # Errors
/// [`BadMix::OutOfRange`] if a number is negative or the amount is above a cubic metre.
pub fn amount_for_job(units: Decimal, rate: Decimal, size_factor: Decimal) -> Result<Decimal, BadMix> {
    let product = units.checked_mul(rate).and_then(|x| x.checked_mul(size_factor)).ok_or(BadMix::OutOfRange)?;
    if units.is_sign_negative() || rate.is_sign_negative() {
        return Err(BadMix::OutOfRange);
    }
    Ok(tenth(within(product)?).normalize())
}

fn tenth(value: Decimal) -> Decimal {
    value.round_dp_with_strategy(1, RoundingStrategy::MidpointAwayFromZero)
}

fn within(value: Decimal) -> Result<Decimal, BadMix> {
    let fits = value >= Decimal::ZERO && value <= Decimal::from(MOST_ML);
    fits.then_some(value).ok_or(BadMix::OutOfRange)
}

/// A plain decimal number of at most eight digits, at most three of them after the point.
fn number(text: &str) -> Result<Decimal, BadMix> {
    let text = text.trim();
    let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
    let plain =
        |digits: &str, most: usize| (1..=most).contains(&digits.len()) && digits.chars().all(|c| c.is_ascii_digit());
    if !plain(whole, 7) || !plain(part, 3) {
        return Err(BadMix::Malformed);
    }
    text.parse().map_err(|_| BadMix::Malformed)
}

fn millilitres(text: &str) -> Result<Decimal, BadMix> {
    let text = text.trim();
    match text.strip_suffix("ml") {
        Some(ml) => number(ml),
        None => Ok(number(text.strip_suffix('l').ok_or(BadMix::Malformed)?)? * Decimal::ONE_THOUSAND),
    }
}

/// The mix in a sentence for the bay: `1:4: 200 ml of product and 800 ml of water`.
pub fn recipe(ratio: Ratio, mixed: Mixed) -> String {
    let water = if mixed.water_ml.is_zero() { "no water".to_string() } else { volume(mixed.water_ml) + " of water" };
    alloc::format!("{ratio}: {} of product and {water}", volume(mixed.product_ml))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(ratio: &str, total_ml: i64) -> (String, String) {
        let mixed = Ratio::parse(ratio).unwrap().make(Decimal::from(total_ml)).unwrap();
        (mixed.product_ml.to_string(), mixed.water_ml.to_string())
    }

    #[test]
    fn one_to_four_is_a_fifth_of_product() {
        assert_eq!(made("1:4", 1000), ("200".into(), "800".into()));
        assert_eq!(Ratio::parse("1 : 4").unwrap().percent(), Decimal::from(20));
    }

    #[test]
    fn an_amount_in_litres_is_made_up_to_the_whole() {
        assert_eq!(made("50 ml in 10 l", 10_000), ("50".into(), "9950".into()));
        assert_eq!(made("0.05 L in 10000ML", 20_000), ("100".into(), "19900".into()));
    }

    #[test]
    fn product_is_rounded_to_a_tenth_and_water_is_the_rest() {
        assert_eq!(made("1:10", 1000), ("90.9".into(), "909.1".into()));
        assert_eq!(made("1:2", 100), ("33.3".into(), "66.7".into()));
        assert_eq!(made("1:0", 75), ("75".into(), "0".into()));
    }

    #[test]
    fn text_that_is_no_mix_is_refused() {
        for text in ["", "4", ":4", "1:", "1:4:2", "-1:4", "1e2:4", "a:b", "50 in 10", "50 ml 10 l", "1,5:4", "+1:4"] {
            assert_eq!(Ratio::parse(text), Err(BadMix::Malformed), "{text:?}");
        }
        assert_eq!(Ratio::parse("0:4"), Err(BadMix::NoProduct));
        assert_eq!(Ratio::parse("2 l in 1 l"), Err(BadMix::MoreThanWhole));
        assert_eq!(Ratio::parse("1:9000000"), Err(BadMix::OutOfRange));
        assert_eq!(Ratio::parse("1:4").unwrap().make(Decimal::from(-1)), Err(BadMix::OutOfRange));
    }

    #[test]
    fn amounts_per_job_are_units_times_rate_times_size_factor() {
        let amount = amount_for_job(Decimal::from(4), Decimal::from(50), Decimal::new(125, 2));
        assert_eq!(amount, Ok(Decimal::from(250)));
        assert_eq!(amount_for_job(Decimal::NEGATIVE_ONE, Decimal::ONE, Decimal::ONE), Err(BadMix::OutOfRange));
    }

    #[test]
    fn a_mix_reads_back_as_it_is_written() {
        for text in ["1:4", "1:2.5", "50 ml in 10 l", "1:0"] {
            let ratio = Ratio::parse(text).unwrap();
            assert_eq!(ratio.to_string(), text);
            assert_eq!(Ratio::parse(&ratio.to_string()), Ok(ratio));
        }
        let mixed = Ratio::parse("1:4").unwrap().make(Decimal::from(5000)).unwrap();
        assert_eq!(recipe(Ratio::parse("1:4").unwrap(), mixed), "1:4: 1 l of product and 4 l of water");
    }
}
