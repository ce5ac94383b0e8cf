//! What earlier jobs make of a plan's budgets, as it is kept and shown.

use baywright_domain::learning::{Grounds, Outlook, Quantile, StepOutlook};
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{PlanStepForm, code, corrupt};
use crate::http::wire::Word;
use crate::platform::fail::DbError;

/// Whose jobs an estimate comes from, as it travels.
pub type GroundsWord = Word<Grounds>;

/// Expected duration of a plan's attended work, without changeovers and waits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = PlanOutlook)]
pub struct OutlookForm {
    /// Median duration, in minutes: half of all jobs take longer.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 510)]
    pub median_minutes: u32,
    /// Share of jobs, in percent, that need no more work than is promised.
    #[schema(minimum = 50, maximum = 99, example = 80)]
    pub promise_percent: u8,
    /// Promised duration, in minutes: `promise_percent` percent of all jobs take no longer. The part beyond
    /// `attended_minutes` is added to the diary's finish, within the bay's opening hours, to give the finish that the
    /// customer is promised.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 590)]
    pub promised_minutes: u32,
    /// Steps of the plan, in order.
    #[schema(max_items = 400)]
    pub steps: Vec<StepOutlookForm>,
}

/// Expected duration of one step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = PlanStepOutlook)]
pub struct StepOutlookForm {
    /// Code of the step.
    #[schema(max_length = 40, example = "iron-removal")]
    pub code: String,
    /// Median duration, in minutes: half of all jobs take longer.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 24)]
    pub median_minutes: u32,
    /// Number of finished jobs that the estimate is based on.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 12)]
    pub jobs: u32,
    /// Source of the estimate: jobs of this size class, of all classes, or the budget alone.
    pub grounds: GroundsWord,
}

impl OutlookForm {
    pub(super) fn of(outlook: &Outlook) -> Self {
        Self {
            median_minutes: outlook.median.get(),
            promise_percent: outlook.quantile.percent(),
            promised_minutes: outlook.promised.get(),
            steps: outlook.steps.iter().map(StepOutlookForm::of).collect(),
        }
    }

    /// The rules' own outlook, for steps with those budgets.
    pub(super) fn read(&self, budget: Minutes, planned: &[PlanStepForm]) -> Result<Outlook, DbError> {
        Ok(Outlook {
            budget,
            median: Minutes::new(self.median_minutes),
            quantile: Quantile::new(self.promise_percent).map_err(corrupt)?,
            promised: Minutes::new(self.promised_minutes),
            steps: planned.iter().zip(&self.steps).map(|(step, kept)| kept.read(step)).collect::<Result<_, _>>()?,
        })
    }
}

impl StepOutlookForm {
    fn of(step: &StepOutlook) -> Self {
        Self {
            code: step.code.to_string(),
            median_minutes: step.median.get(),
            jobs: u32::try_from(step.jobs).unwrap_or(u32::MAX),
            grounds: Word(step.grounds),
        }
    }

    fn read(&self, planned: &PlanStepForm) -> Result<StepOutlook, DbError> {
        Ok(StepOutlook {
            code: code(&self.code)?,
            budget: Minutes::new(planned.attended_minutes),
            median: Minutes::new(self.median_minutes),
            jobs: usize::try_from(self.jobs).unwrap_or(usize::MAX),
            grounds: self.grounds.0,
        })
    }
}
