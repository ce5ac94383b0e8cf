//! What earlier jobs make of a plan's budgets, as it is kept and shown.

use baywright_domain::learning::{Grounds, Outlook, Quantile, StepOutlook};
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{PlanStepForm, code, corrupt};
use crate::platform::fail::DbError;
use crate::platform::wire::Word;

crate::wire_words! { Grounds => "LearningGrounds" }

/// Whose jobs an estimate comes from, as it travels.
pub type GroundsWord = Word<Grounds>;

/// What is believed of the plan's attended work, without changeovers and waits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = PlanOutlook)]
pub struct OutlookForm {
    /// Every second job takes longer than that.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 510)]
    pub median_minutes: u32,
    /// How many of a hundred jobs need no more work than is promised.
    #[schema(minimum = 50, maximum = 99, example = 80)]
    pub promise_percent: u8,
    /// So many of a hundred jobs take no longer than that. What it has beyond `attended_minutes` is added to the diary's
    /// finish, while the bay is open, for what the customer is promised.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 590)]
    pub promised_minutes: u32,
    /// The steps, in order.
    #[schema(max_items = 400)]
    pub steps: Vec<StepOutlookForm>,
}

/// What is believed of one step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = PlanStepOutlook)]
pub struct StepOutlookForm {
    /// The step's code.
    #[schema(max_length = 40, example = "iron-removal")]
    pub code: String,
    /// Every second job takes longer than that.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 24)]
    pub median_minutes: u32,
    /// How many jobs say so.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 12)]
    pub jobs: u32,
    /// Whose they are.
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
