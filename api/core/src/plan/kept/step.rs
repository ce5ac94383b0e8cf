//! One stored step of the plan.

use baywright_domain::menu::{Code, Holds, Split, Wait, WaitWhen};
use baywright_domain::plan::{Budget, Hands, PlannedStep};
use baywright_domain::time::Minutes;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::{CautionForm, ProductAmountForm, code, codes, texts};
use crate::platform::fail::DbError;
use crate::platform::kept::{Number, Word};

/// Step of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlanStepForm {
    /// Code of the step.
    pub code: String,
    /// Name of the step.
    pub name: String,
    /// Stage of the step in the usual order of work.
    pub stage: u16,
    /// Time from the beginning of the plan to the step's attended work, in minutes, without interruptions.
    pub start_offset_minutes: u32,
    /// Changeover time before the step, in minutes.
    pub changeover_before_minutes: u32,
    /// Time for clearing up after the plan's last step, in minutes; 0 for all other steps.
    pub changeover_after_minutes: u32,
    /// Budget of attended work, in minutes.
    pub attended_minutes: u32,
    /// Numbers behind the budget.
    pub budget: BudgetForm,
    /// Time that two people need, as a share of the time of one person; null if a second person does not help.
    #[serde(default)]
    pub two_hands: Option<Number>,
    /// Number of people who work on the step: `ONE` or `TWO`.
    #[serde(default)]
    pub hands: Word<Hands>,
    /// Minimum wait after the step.
    pub wait: WaitForm,
    /// Shortest piece of work into which the step may be split, in minutes; null if it cannot be interrupted.
    pub smallest_piece_minutes: Option<u32>,
    /// Skills that one person must have, all of them; a helper needs none.
    pub skills: Vec<String>,
    /// Features that the bay must have.
    pub features: Vec<String>,
    /// Products that the step needs, with their mixes.
    pub products: Vec<ProductAmountForm>,
    /// Cautions for the step.
    pub cautions: Vec<CautionForm>,
    /// Codes of the services that need the step.
    pub services: Vec<String>,
    /// Steps of this plan that must be finished before it.
    pub after: Vec<StepNameForm>,
    /// Code of the last step in the plan that must be finished before this one; null if no step must be.
    #[serde(default)]
    pub held_back_by: Option<StepNameForm>,
}

/// Step with its name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepNameForm {
    /// Code of the step.
    pub code: String,
    /// Name of the step.
    pub name: String,
}

/// Numbers behind a budget: minutes × size × condition × quantity × hands, rounded up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BudgetForm {
    /// Base time for a medium car in fair condition, in minutes.
    pub base_minutes: u32,
    /// Size factor; 1 if size does not matter.
    pub size: Number,
    /// Condition factor; 1 if condition does not matter.
    pub condition: Number,
    /// Number of times the step is done: the quantity of the only service that needs it, or 1 for a step that several
    /// services share.
    #[serde(default = "once")]
    pub quantity: Number,
    /// Time that the booked people need, as a share of the time of one person; 1 for one person.
    pub hands: Number,
}

// Plans that were stored before quantities counted have each step once.
fn once() -> Number {
    Number(Decimal::ONE)
}

/// Minimum wait after a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WaitForm {
    /// Minimum duration of the wait, in minutes.
    pub minutes: u32,
    /// Times that count for the wait: `ANY` for all times, `OPEN` only for times when the shop is open.
    pub when: Word<WaitWhen>,
    /// Work that the wait holds back: `CAR` all other work on the car, `AFTER` only the steps that must come after this
    /// one.
    #[serde(default)]
    pub holds: Word<Holds>,
    /// Whether the car must stay in the bay during the wait.
    pub needs_bay: bool,
    /// Whether the car must be under cover during the wait.
    pub needs_cover: bool,
}

impl PlanStepForm {
    pub(super) fn of(step: &PlannedStep, name: impl Fn(&Code) -> String) -> Self {
        let Budget { base, size, condition, quantity, hands, .. } = step.budget;
        let named = |code: &Code| StepNameForm { code: code.to_string(), name: name(code) };
        Self {
            code: step.code.to_string(),
            name: step.name.clone(),
            stage: step.stage,
            start_offset_minutes: step.start_offset.get(),
            changeover_before_minutes: step.changeover_before.get(),
            changeover_after_minutes: step.changeover_after.get(),
            attended_minutes: step.attended.get(),
            budget: BudgetForm {
                base_minutes: base.get(),
                size: Number(size),
                condition: Number(condition),
                quantity: Number(quantity),
                hands: Number(hands),
            },
            two_hands: step.two_hands.map(Number),
            hands: Word(step.hands),
            wait: WaitForm {
                minutes: step.wait.minutes.get(),
                when: Word(step.wait.when),
                holds: Word(step.wait.holds),
                needs_bay: step.wait.needs_bay,
                needs_cover: step.wait.needs_cover,
            },
            smallest_piece_minutes: step.split.map(|split| split.piece.get()),
            skills: texts(&step.skills),
            features: texts(&step.features),
            products: step.products.iter().map(ProductAmountForm::of).collect(),
            cautions: CautionForm::of_crew(&step.cautions),
            services: texts(&step.services),
            after: step.after.iter().map(named).collect(),
            held_back_by: step.held_back_by.as_ref().map(named),
        }
    }

    pub(super) fn read(&self) -> Result<PlannedStep, DbError> {
        let attended = Minutes::new(self.attended_minutes);
        Ok(PlannedStep {
            code: code(&self.code)?,
            name: self.name.clone(),
            stage: self.stage,
            start_offset: Minutes::new(self.start_offset_minutes),
            changeover_before: Minutes::new(self.changeover_before_minutes),
            changeover_after: Minutes::new(self.changeover_after_minutes),
            attended,
            budget: Budget {
                base: Minutes::new(self.budget.base_minutes),
                size: self.budget.size.0,
                condition: self.budget.condition.0,
                quantity: self.budget.quantity.0,
                hands: self.budget.hands.0,
                minutes: attended,
            },
            two_hands: self.two_hands.map(|share| share.0),
            hands: self.hands.0,
            wait: Wait {
                minutes: Minutes::new(self.wait.minutes),
                when: self.wait.when.0,
                holds: self.wait.holds.0,
                needs_bay: self.wait.needs_bay,
                needs_cover: self.wait.needs_cover,
            },
            split: self.smallest_piece_minutes.map(|piece| Split { piece: Minutes::new(piece) }),
            skills: codes(&self.skills)?,
            features: codes(&self.features)?,
            products: self.products.iter().map(ProductAmountForm::read).collect::<Result<_, _>>()?,
            cautions: self.cautions.iter().map(CautionForm::read).collect(),
            services: codes(&self.services)?,
            after: self.after.iter().map(|first| code(&first.code)).collect::<Result<_, _>>()?,
            held_back_by: self.held_back_by.as_ref().map(|last| code(&last.code)).transpose()?,
        })
    }
}
