//! Beliefs about a step: before any job, and after some.

use alloc::vec::Vec;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};

use super::{LogRatio, Quantile};
use crate::refusal::{Kind, Refusal};
use crate::time::Minutes;

/// Belief before any job: budgets are right on average. Its strength is a number of imagined jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Prior {
    jobs: Decimal,
    spread: Decimal,
}

/// Reason why two numbers are no [`Prior`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadPrior {
    /// The prior has no strength, or more than any evidence could outweigh.
    #[error("the budget counts for more than 0 and at most 1,000 jobs")]
    Jobs,
    /// There is no spread, or one that no budget has.
    #[error("the usual spread is more than 0 and at most 2")]
    Spread,
}

impl Refusal for BadPrior {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-prior"
    }
}

impl Prior {
    /// The defaults of a new shop (common practice, no source): the budget counts for five jobs, and two jobs of three
    /// take between 1 ÷ 1.28 and 1.28 times it.
    pub const USUAL: Self =
        Self { jobs: Decimal::from_parts(5, 0, 0, false, 0), spread: Decimal::from_parts(25, 0, 0, false, 2) };

    /// Makes a prior by which the budget counts as `jobs` jobs; `spread` is the usual standard deviation of the
    /// logarithm of actual ÷ budget.
    ///
    /// # Errors
    /// [`BadPrior`] if one of them is out of range.
    pub fn new(jobs: Decimal, spread: Decimal) -> Result<Self, BadPrior> {
        if jobs <= Decimal::ZERO || jobs > Decimal::ONE_THOUSAND {
            return Err(BadPrior::Jobs);
        }
        if spread <= Decimal::ZERO || spread > Decimal::TWO {
            return Err(BadPrior::Spread);
        }
        Ok(Self { jobs, spread })
    }

    /// Number of jobs that the budget counts as.
    pub const fn jobs(self) -> Decimal {
        self.jobs
    }

    /// The usual spread.
    pub const fn spread(self) -> Decimal {
        self.spread
    }
}

/// Belief about the next job's minutes ÷ budget, which is lognormal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Mean of the logarithm.
    pub(super) mean: f64,
    /// Standard deviation of the logarithm of the next job, that of its mean being one part of it.
    pub(super) spread: f64,
    /// Number of jobs that the estimate was learned from.
    jobs: usize,
}

/// Belief about the next job after some jobs; the module's doc has the formulas.
pub fn estimate(prior: Prior, learned: impl IntoIterator<Item = LogRatio>) -> Estimate {
    let mut logs: Vec<f64> = learned.into_iter().map(|log| log.0).collect();
    logs.sort_unstable_by(f64::total_cmp);
    let imagined = prior.jobs.to_f64().unwrap_or(0.0);
    let usual = prior.spread.to_f64().unwrap_or(0.0);
    let all = imagined + logs.iter().map(|_| 1.0).sum::<f64>();
    let mean = logs.iter().sum::<f64>() / all;
    let about_mean: f64 = logs.iter().map(|log| (log - mean) * (log - mean)).sum();
    let variance = (imagined * (usual * usual + mean * mean) + about_mean) / all;
    Estimate { mean, spread: libm::sqrt(variance * (1.0 + 1.0 / all)), jobs: logs.len() }
}

impl Estimate {
    /// Certainty that the work takes exactly its budget.
    pub const CERTAIN: Self = Self { mean: 0.0, spread: 0.0, jobs: 0 };

    /// The stored estimate: [`Estimate::mean_log`], [`Estimate::spread_log`] and [`Estimate::jobs`].
    pub fn kept(mean_log: Decimal, spread_log: Decimal, jobs: usize) -> Self {
        let number = |decimal: Decimal| decimal.to_f64().unwrap_or(0.0);
        Self { mean: number(mean_log), spread: number(spread_log).max(0.0), jobs }
    }

    /// The same, rounded to the nine decimals that are stored.
    pub fn as_kept(&self) -> Self {
        Self::kept(self.mean_log(), self.spread_log(), self.jobs)
    }

    /// Number of jobs that the estimate was learned from.
    pub const fn jobs(&self) -> usize {
        self.jobs
    }

    /// The mean of the logarithm, to nine decimals.
    pub fn mean_log(&self) -> Decimal {
        decimal(self.mean)
    }

    /// The standard deviation of the logarithm of the next job, to nine decimals.
    pub fn spread_log(&self) -> Decimal {
        decimal(self.spread)
    }

    /// Median factor: half of all jobs take longer than the budget times this factor; to nine decimals.
    pub fn median_factor(&self) -> Decimal {
        self.factor_at(Quantile::MEDIAN)
    }

    /// Factor by which the budget is multiplied so that the share `quantile` of all jobs takes no longer; to nine
    /// decimals.
    pub fn factor_at(&self, quantile: Quantile) -> Decimal {
        decimal(self.multiple(quantile))
    }

    /// The median of a step with that budget, to the nearest minute, halves up.
    pub fn median(&self, budget: Minutes) -> Minutes {
        nearest(f64::from(budget.get()) * self.multiple(Quantile::MEDIAN))
    }

    /// Minutes that the share `quantile` of all jobs with that budget does not exceed, rounded up.
    pub fn minutes_at(&self, budget: Minutes, quantile: Quantile) -> Minutes {
        up(f64::from(budget.get()) * self.multiple(quantile))
    }

    fn multiple(&self, quantile: Quantile) -> f64 {
        libm::exp(self.mean + quantile.deviations() * self.spread)
    }
}

/// Whole minutes, the nearest; halves go up.
pub(super) fn nearest(minutes: f64) -> Minutes {
    whole(libm::floor(minutes + 0.5))
}

/// Whole minutes, rounded up; up to a millionth of a minute above a whole one is ignored as an error of floating point.
pub(super) fn up(minutes: f64) -> Minutes {
    whole(libm::ceil(minutes - 1e-6))
}

fn whole(minutes: f64) -> Minutes {
    Minutes::new(minutes.to_u32().unwrap_or(u32::MAX))
}

fn decimal(number: f64) -> Decimal {
    let exact = Decimal::try_from(number).unwrap_or(Decimal::MAX);
    exact.round_dp_with_strategy(9, RoundingStrategy::MidpointAwayFromZero).normalize()
}
