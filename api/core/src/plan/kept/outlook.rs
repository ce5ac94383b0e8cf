//! Stored estimates of a plan's duration from earlier jobs.

use baywright_domain::learning::{LearnedFrom, Outlook, Quantile, StepOutlook};
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};

use super::{PlanStepForm, code, corrupt};
use crate::platform::fail::DbError;
use crate::platform::kept::Word;

/// Expected duration of a plan's attended work, without changeovers and waits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OutlookForm {
    /// Median duration, in minutes: half of all jobs take longer.
    pub median_minutes: u32,
    /// Share of jobs, in percent, that need no more work than is promised.
    pub promise_percent: u8,
    /// Promised duration, in minutes: `promise_percent` percent of all jobs take no longer. The part beyond
    /// `attended_minutes` is added to the diary's finish, within the bay's opening hours, to give the finish that the
    /// customer is promised.
    pub promised_minutes: u32,
    /// Steps of the plan, in order.
    pub steps: Vec<StepOutlookForm>,
}

/// Expected duration of one step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepOutlookForm {
    /// Code of the step.
    pub code: String,
    /// Median duration, in minutes: half of all jobs take longer.
    pub median_minutes: u32,
    /// Number of finished jobs that the estimate is based on.
    pub jobs: u32,
    /// Source of the estimate: jobs of this size class, of all classes, or the budget alone.
    #[serde(rename = "grounds")]
    pub learned_from: Word<LearnedFrom>,
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

    /// The outlook for the rules, for steps with those budgets.
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
            learned_from: Word(step.learned_from),
        }
    }

    fn read(&self, planned: &PlanStepForm) -> Result<StepOutlook, DbError> {
        Ok(StepOutlook {
            code: code(&self.code)?,
            budget: Minutes::new(planned.attended_minutes),
            median: Minutes::new(self.median_minutes),
            jobs: usize::try_from(self.jobs).unwrap_or(usize::MAX),
            learned_from: self.learned_from.0,
        })
    }
}
