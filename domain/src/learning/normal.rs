//! The part of the normal distribution that promises need.

use core::fmt;

use crate::refusal::{Kind, Refusal};

/// Quantile of a promise: the share of jobs, in whole percent, that are done by the promised time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Quantile(u8);

/// A number that is not a [`Quantile`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a promise is kept in 50 to 99 of a hundred jobs: choose a number from 50 to 99")]
pub struct NotQuantile;

impl Refusal for NotQuantile {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "not-a-quantile"
    }
}

impl Quantile {
    /// The median: half of all jobs are done by then.
    pub const MEDIAN: Self = Self(50);
    /// The default of a new shop (common practice, no source).
    pub const USUAL: Self = Self(80);

    /// A share of whole percent.
    ///
    /// # Errors
    /// [`NotQuantile`] below 50, where it would be no promise, and above 99.
    pub fn new(percent: u8) -> Result<Self, NotQuantile> {
        if (50..=99).contains(&percent) { Ok(Self(percent)) } else { Err(NotQuantile) }
    }

    /// In percent.
    pub const fn percent(self) -> u8 {
        self.0
    }

    /// Number of standard deviations above the mean at which that quantile of a normal distribution lies, by bisection:
    /// the share below is monotonic, and no coefficients of an approximation are needed.
    pub(super) fn deviations(self) -> f64 {
        if self == Self::MEDIAN {
            return 0.0;
        }
        let wanted = f64::from(self.0) / 100.0;
        let (mut low, mut high) = (0.0, 8.0);
        for _ in 0..64 {
            let middle = f64::midpoint(low, high);
            if share_below(middle) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }
}

impl fmt::Display for Quantile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", self.0)
    }
}

/// The share of a normal distribution below that number of standard deviations above its mean.
fn share_below(deviations: f64) -> f64 {
    libm::erfc(-deviations / core::f64::consts::SQRT_2) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_of_the_tables() {
        // The table of the standard normal distribution that every textbook has.
        for (percent, deviations) in [(50, 0.0), (75, 0.674_490), (80, 0.841_621), (90, 1.281_552), (99, 2.326_348)] {
            assert!((Quantile(percent).deviations() - deviations).abs() < 5e-7, "{percent}");
        }
    }

    #[test]
    fn a_promise_lies_between_every_second_job_and_all_but_one_in_a_hundred() {
        for percent in 0..=u8::MAX {
            assert_eq!(Quantile::new(percent).is_ok(), (50..100).contains(&percent), "{percent}");
        }
    }
}
