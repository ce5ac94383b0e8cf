//! Learns from actual minutes how far the budgets of steps are off, and what can be promised.
//!
//! **Model** (RULES: learning). The logarithm of actual minutes ÷ budget is normal with an unknown mean. Before any job
//! the mean is believed to be 0, as strongly as `k` jobs would say it: the conjugate normal prior. With `n` jobs of
//! logarithms x₁ … xₙ the mean is then believed to be `m = Σx ÷ (k + n)`, with the variance `σ² ÷ (k + n)`; the next job
//! is normal about `m` with the variance `σ² (1 + 1 ÷ (k + n))`, which is the posterior predictive. Source: any textbook
//! of Bayesian statistics, under the normal model with known variance (stated from memory; checked against `scipy`).
//!
//! **What σ is.** In the model only the mean is unknown, so σ must be given. It is computed from the same `k + n` jobs, around
//! `m`: the `k` imagined ones, which took their budget on average with the usual spread σ₀ of the shop's settings, and the
//! `n` real ones: `σ² = (k (σ₀² + m²) + Σ(x − m)²) ÷ (k + n)`. Without jobs it is σ₀, with many it is the spread of the shop's
//! own jobs. The full answer to an unknown σ would be Student's t distribution, but its exponential has no mean, and the sum
//! of a plan is computed from means and variances.
//!
//! **Budgets that change.** A ratio divides by the budget that the menu in question would give the same car, not by the
//! budget at the time of the job. So an applied budget isn't multiplied by the same jobs again. The prior applies again
//! to each budget, so that applying a second time moves further towards the actual times, and never beyond them.
//!
//! **Pooling.** A size class is estimated from its own jobs once it has as many of them as the prior counts for; until then,
//! from the jobs of all classes.
//!
//! **Floating point** is used only in this module. It never touches money, and no decision compares floating-point numbers:
//! outliers are found in exact decimals. Logarithms and exponentials are those of `libm`, the same on every machine;
//! logarithms are added in order of size, so that the order of jobs changes nothing. Results are rounded: factors to nine
//! decimals, medians to the nearest minute, promises up to whole minutes.

#![allow(clippy::float_arithmetic, reason = "statistics; see the module's doc")]

mod beliefs;
mod estimate;
mod lesson;
mod normal;
mod outlook;
mod ratio;
mod sum;

pub use beliefs::Beliefs;
pub use estimate::{BadPrior, Estimate, Prior, estimate};
pub use lesson::{Learned, LearnedEstimate, LearnedFrom, Lesson, Misfit};
pub use normal::{NotQuantile, Quantile};
pub use outlook::{Outlook, Policy, StepOutlook, outlook};
pub use ratio::{LogRatio, NotRatio, Outlier, Ratio};
pub use sum::{Part, Total, total};
