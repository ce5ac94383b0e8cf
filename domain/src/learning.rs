//! What actual minutes teach: how far the budgets of steps are off, and what may be promised in spite of it.
//!
//! **Model** (RULES: learning). The logarithm of actual minutes ÷ budget is normal with an unknown mean. Before any job
//! the mean is believed to be 0, as strongly as `k` jobs would say it: the conjugate normal prior. With `n` jobs of
//! logarithms x₁ … xₙ the mean is then believed to be `m = Σx ÷ (k + n)`, with the variance `σ² ÷ (k + n)`; the next job
//! is normal about `m` with the variance `σ² (1 + 1 ÷ (k + n))`, which is the posterior predictive. Source: any textbook
//! of Bayesian statistics, under the normal model with known variance (stated from memory; checked against `scipy`).
//!
//! **What σ is.** The rule leaves only the mean unknown, so σ is a number that is put in, and it is that of the same
//! `k + n` jobs: the `k` imagined ones, which took their budget on average with the usual spread σ₀ of the shop's
//! settings, and the `n` real ones, all about `m`: `σ² = (k (σ₀² + m²) + Σ(x − m)²) ÷ (k + n)`. Without jobs it is σ₀,
//! with many it is what the shop's own jobs show. The full answer to an unknown σ, Student's t, is of no use here: its
//! exponential has no mean, and the sum of a plan is made from means and variances.
//!
//! **Budgets that change.** A ratio is against what the menu asked about would give that very car, not against what was
//! planned then: a budget that was taken over isn't multiplied by the same jobs again. The prior counts anew for each budget,
//! so that taking over once more goes on towards what the jobs took, and never beyond it.
//!
//! **Pooling.** A size class speaks for itself once it has as many jobs as the prior counts for; below that the jobs of
//! all classes speak for it.
//!
//! **Floating point** is used in this module alone. It never touches money, and nothing is compared in it: outliers are
//! told in exact decimals. Logarithms and exponentials are `libm`'s, the same on every machine; logarithms are added in
//! order of size, so that the order of jobs changes nothing. What leaves the module is rounded: factors to nine
//! decimals, medians to the nearest minute, what is promised up to whole minutes.

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
pub use lesson::{Grounded, Grounds, Learned, Lesson, Misfit};
pub use normal::{NotQuantile, Quantile};
pub use outlook::{Outlook, Policy, StepOutlook, outlook};
pub use ratio::{LogRatio, NotRatio, Outlier, Ratio};
pub use sum::{Part, Total, total};
