//! The stored work plan, as canonical JSON. It has no prices. Everything that was ever stored is read for ever, so
//! nothing here refuses a stored value; the API returns views of it.

mod front;
mod hands;
mod outlook;
mod product;
mod step;
#[cfg(test)]
mod tests;

use baywright_domain::caution::{Caution, Hazard};
use baywright_domain::learning::Outlook;
use baywright_domain::menu::Code;
use baywright_domain::plan::{Measured, PlannedStep, WorkPlan};
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};

use crate::platform::fail::DbError;
use crate::platform::kept::Word;

pub use front::{FrontForm, OrderForm};
pub use outlook::{OutlookForm, StepOutlookForm};
pub use product::{MixForm, ProductAmountForm};
pub use step::{BudgetForm, PlanStepForm, StepNameForm, WaitForm};

/// Steps of all signed work, each once, in the order in which they are done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlanForm {
    /// Steps of the plan, in order.
    pub steps: Vec<PlanStepForm>,
    /// Attended work in total, in minutes.
    pub attended_minutes: u32,
    /// Changeover time between steps in total, in minutes.
    pub changeover_minutes: u32,
    /// Proven lower bound of the changeover time, in minutes: no order of these steps needs less.
    pub changeover_bound_minutes: u32,
    /// Whether the order is proven to need the least changeover time.
    pub proven: bool,
    /// Changeover time that the plain order by stage would need, in minutes; `None` in plans made before this was
    /// stored.
    #[serde(default)]
    pub stage_order_changeover_minutes: Option<u32>,
    /// Time from the first step to the end of the latest step or wait, in minutes, without interruptions.
    pub elapsed_minutes: u32,
    /// Front of orders, of which the first is the order of the steps; none in plans from before plans had a front.
    #[serde(default)]
    pub front: Option<FrontForm>,
    /// Front of orders with two people; none if no step allows a second person.
    #[serde(default)]
    pub front_of_two: Option<FrontForm>,
    /// Features that the bay must have.
    pub features: Vec<String>,
    /// Skills that the job needs.
    pub skills: Vec<String>,
    /// Products of all steps together.
    pub products: Vec<ProductAmountForm>,
    /// All cautions of the plan, each once.
    pub cautions: Vec<CautionForm>,
    /// Expected and promised duration of the work, as learned from finished jobs; null for plans made before this was
    /// stored.
    #[serde(default)]
    pub outlook: Option<OutlookForm>,
    /// Expected and promised duration of the work with two people; null if no step allows a second person.
    #[serde(default)]
    pub outlook_of_two: Option<OutlookForm>,
}

/// Caution: a hazard or advice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CautionForm {
    /// Hazard of the fixed list; null if the caution is in the shop's own words.
    pub hazard: Option<Word<Hazard>>,
    /// Text of the caution. It replaces neither local law nor the product's label.
    pub text: String,
}

impl CautionForm {
    fn of(caution: &Caution) -> Self {
        let hazard = match caution {
            Caution::Known(hazard) => Some(Word(*hazard)),
            Caution::Own(_) | Caution::ForCustomer(_) => None,
        };
        Self { hazard, text: caution.text().to_owned() }
    }

    /// The cautions for the crew, who read the plan.
    fn of_crew(cautions: &[Caution]) -> Vec<Self> {
        cautions.iter().filter(|caution| caution.audience().has_crew()).map(Self::of).collect()
    }

    fn read(&self) -> Caution {
        self.hazard.map_or_else(|| Caution::Own(self.text.clone()), |hazard| Caution::Known(hazard.0))
    }
}

impl PlanForm {
    /// The plan to be stored, with its estimates for one person. If a step allows two people, `of_two` is the plan for
    /// them and its estimates.
    pub fn of(plan: &WorkPlan, outlook: &Outlook, of_two: Option<(&WorkPlan, &Outlook)>) -> Self {
        let front_of_two = of_two.map(|(two, _)| FrontForm::of(two));
        let outlook_of_two = of_two.map(|(_, outlook)| OutlookForm::of(outlook));
        Self { front_of_two, outlook_of_two, ..Self::believed(plan, Some(OutlookForm::of(outlook))) }
    }

    /// The plan with its estimates for one person, and without those for two people.
    fn believed(plan: &WorkPlan, outlook: Option<OutlookForm>) -> Self {
        let name = |code: &Code| {
            plan.steps.iter().find(|step| step.code == *code).map_or_else(|| code.to_string(), |step| step.name.clone())
        };
        Self {
            steps: plan.steps.iter().map(|step| PlanStepForm::of(step, name)).collect(),
            attended_minutes: plan.attended.get(),
            changeover_minutes: plan.changeover.get(),
            changeover_bound_minutes: plan.changeover_bound.get(),
            proven: plan.proven,
            stage_order_changeover_minutes: Some(plan.stage_order_changeover.get()),
            elapsed_minutes: plan.elapsed.get(),
            front: Some(FrontForm::of(plan)),
            front_of_two: None,
            features: texts(&plan.features),
            skills: texts(&plan.skills),
            products: plan.products.iter().map(ProductAmountForm::of).collect(),
            cautions: CautionForm::of_crew(&plan.cautions),
            outlook,
            outlook_of_two: None,
        }
    }

    /// The plan for the rules.
    ///
    /// # Errors
    /// If it contains something that this program can't have written.
    pub fn read(&self) -> Result<WorkPlan, DbError> {
        let steps = self.steps.iter().map(PlanStepForm::read).collect::<Result<Vec<PlannedStep>, _>>()?;
        let products = self.products.iter().map(ProductAmountForm::read).collect::<Result<Vec<Measured>, _>>()?;
        let mut plan = WorkPlan {
            steps,
            attended: Minutes::new(self.attended_minutes),
            changeover: Minutes::new(self.changeover_minutes),
            changeover_bound: Minutes::new(self.changeover_bound_minutes),
            proven: self.proven,
            stage_order_changeover: Minutes::new(self.stage_order_changeover()),
            elapsed: Minutes::new(self.elapsed_minutes),
            orders: Vec::new(),
            orders_proven: false,
            elapsed_bound: Minutes::ZERO,
            features: codes(&self.features)?,
            skills: codes(&self.skills)?,
            products,
            cautions: self.cautions.iter().map(CautionForm::read).collect(),
        };
        self.front().put_into(&mut plan)?;
        Ok(plan)
    }
}

impl PlanForm {
    /// Changeover time that the plain order by stage would need, in minutes; the plan's own if it was not stored.
    pub fn stage_order_changeover(&self) -> u32 {
        self.stage_order_changeover_minutes.unwrap_or(self.changeover_minutes)
    }

    /// Front of orders; only the plan's own order if the stored plan has no front.
    pub fn front(&self) -> FrontForm {
        self.front.clone().unwrap_or_else(|| self.own_order())
    }

    // In plans without a front every wait holds the whole car, so only less changeover can make the work finish sooner.
    fn own_order(&self) -> FrontForm {
        let last = self.steps.last().map_or(0, |step| step.changeover_after_minutes);
        let only = OrderForm {
            steps: self.steps.iter().map(|step| step.code.clone()).collect(),
            changeovers_minutes: self.steps.iter().map(|step| step.changeover_before_minutes).chain([last]).collect(),
            changeover_minutes: self.changeover_minutes,
            elapsed_minutes: self.elapsed_minutes,
        };
        let spared = self.changeover_minutes.saturating_sub(self.changeover_bound_minutes);
        let elapsed_bound_minutes = self.elapsed_minutes.saturating_sub(spared);
        FrontForm { orders: vec![only], proven: self.proven, elapsed_bound_minutes }
    }

    /// Estimates of the work from the time when the plan was made.
    ///
    /// # Errors
    /// If it contains something that this program can't have written.
    pub fn outlook(&self) -> Result<Option<Outlook>, DbError> {
        let read = |kept: &OutlookForm| kept.read(Minutes::new(self.attended_minutes), &self.steps);
        self.outlook.as_ref().map(read).transpose()
    }
}

fn corrupt(what: impl std::fmt::Display) -> DbError {
    DbError::Corrupt(format!("a kept plan: {what}"))
}

fn texts(codes: &[Code]) -> Vec<String> {
    codes.iter().map(ToString::to_string).collect()
}

fn code(text: &str) -> Result<Code, DbError> {
    Code::parse(text).map_err(corrupt)
}

fn codes(texts: &[String]) -> Result<Vec<Code>, DbError> {
    texts.iter().map(|text| code(text)).collect()
}
