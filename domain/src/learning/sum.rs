//! The minutes of many steps together.
//!
//! A sum of lognormal quantities is not lognormal, but nearly so. Fenton and Wilkinson approximate it by the lognormal
//! distribution with the same mean and variance, which are the sums of the means and of the variances if the steps are
//! independent:
//! `M = Σ b e^(m + s²/2)`, `V = Σ b² e^(2m + s²) (e^(s²) − 1)`, then `σ² = ln(1 + V ÷ M²)` and `μ = ln M − σ² ÷ 2`.
//! Source: L. F. Fenton, The sum of log-normal probability distributions in scatter transmission systems, IRE
//! Transactions on Communications Systems CS-8, 1960 (from memory; checked against simulation). It is most exact if the
//! spreads are below 1 and the quantile lies above the middle, as here.

use rust_decimal::prelude::ToPrimitive;

use super::estimate::{nearest, up};
use super::{Estimate, Quantile};
use crate::time::Minutes;

/// A step's budget and the belief about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Its budget.
    pub budget: Minutes,
    /// Estimate of actual ÷ budget.
    pub estimate: Estimate,
}

/// The minutes of several steps together: lognormal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Total {
    /// Mean of the logarithm.
    mean: f64,
    /// Standard deviation of the logarithm.
    spread: f64,
}

/// The total of these steps; `None` if none has a budget.
pub fn total(parts: impl IntoIterator<Item = Part>) -> Option<Total> {
    let (mut mean, mut variance) = (0.0, 0.0);
    for part in parts {
        let budget = part.budget.get().to_f64()?;
        let own = part.estimate.spread * part.estimate.spread;
        let one = budget * libm::exp(part.estimate.mean + own / 2.0);
        mean += one;
        variance += one * one * libm::expm1(own);
    }
    let square = libm::log1p(variance / (mean * mean));
    (mean > 0.0).then(|| Total { mean: libm::log(mean) - square / 2.0, spread: libm::sqrt(square) })
}

impl Total {
    /// Median, to the nearest minute, halves up.
    pub fn median(&self) -> Minutes {
        nearest(libm::exp(self.mean))
    }

    /// Minutes that the share `quantile` of all jobs does not exceed, rounded up.
    pub fn minutes_at(&self, quantile: Quantile) -> Minutes {
        up(libm::exp(self.mean + quantile.deviations() * self.spread))
    }
}
