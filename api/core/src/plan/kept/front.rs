//! The stored front of orders.

use baywright_domain::plan::{PlanOrder, WorkPlan};
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};

use super::{codes, texts};
use crate::platform::fail::DbError;

/// Orders of a plan's steps that no other order beats in both changeover and elapsed time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FrontForm {
    /// The orders, by rising changeover time.
    pub orders: Vec<OrderForm>,
    /// Whether the front is complete: every other order is beaten or equalled by one of these.
    pub proven: bool,
    /// Proven lower bound of the elapsed time, in minutes: no order of these steps takes less.
    pub elapsed_bound_minutes: u32,
}

/// Order of a plan's steps.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OrderForm {
    /// Codes of the steps, in this order.
    pub steps: Vec<String>,
    /// Changeover time before each step, and then that after the last one, in minutes.
    pub changeovers_minutes: Vec<u32>,
    /// Changeover time in total, in minutes.
    pub changeover_minutes: u32,
    /// Time from the first step to the end of the latest step or wait, in minutes, without interruptions.
    pub elapsed_minutes: u32,
}

impl FrontForm {
    pub(super) fn of(plan: &WorkPlan) -> Self {
        Self {
            orders: plan.orders.iter().map(OrderForm::of).collect(),
            proven: plan.orders_proven,
            elapsed_bound_minutes: plan.elapsed_bound.get(),
        }
    }

    /// Sets it as the front of a plan of the same steps.
    pub(super) fn put_into(&self, plan: &mut WorkPlan) -> Result<(), DbError> {
        plan.orders = self.orders.iter().map(OrderForm::read).collect::<Result<_, _>>()?;
        plan.orders_proven = self.proven;
        plan.elapsed_bound = Minutes::new(self.elapsed_bound_minutes);
        Ok(())
    }
}

impl OrderForm {
    fn of(order: &PlanOrder) -> Self {
        Self {
            steps: texts(&order.steps),
            changeovers_minutes: order.changeovers.iter().map(|minutes| minutes.get()).collect(),
            changeover_minutes: order.changeover.get(),
            elapsed_minutes: order.elapsed.get(),
        }
    }

    fn read(&self) -> Result<PlanOrder, DbError> {
        Ok(PlanOrder {
            steps: codes(&self.steps)?,
            changeovers: self.changeovers_minutes.iter().map(|minutes| Minutes::new(*minutes)).collect(),
            changeover: Minutes::new(self.changeover_minutes),
            elapsed: Minutes::new(self.elapsed_minutes),
        })
    }
}
