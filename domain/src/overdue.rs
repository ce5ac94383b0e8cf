//! Overdue amounts: their age, and the interest and compensation that a business owes for paying late.

mod ageing;
mod half_year;
mod interest;

pub use ageing::{Age, ageing};
pub use half_year::{HalfYear, NotReferenceRate, ReferenceRate, ReferenceRates};
pub use interest::{Interest, InterestSpan, LEAST_COMPENSATION_EUR, LEAST_MARGIN, LateClaim, NoInterest};
