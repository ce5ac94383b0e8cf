//! The front of a plan's orders as it is sent over HTTP.

use baywright_core::plan::kept::{FrontForm, OrderForm};
use baywright_domain::plan::orders_in_words;
use baywright_domain::time::Minutes;
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::Code;

/// Orders of a plan's steps, of which none beats another in both changeover and elapsed time.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlanOrders)]
pub struct PlanOrdersView {
    /// Orders that no other order beats in both changeover and elapsed time, by rising changeover time. The steps of the plan
    /// are in the first of them, in which one person does them.
    #[schema(min_items = 1, max_items = 1000)]
    orders: Vec<PlanOrderView>,
    /// Whether every other order is proven to be beaten or equalled by one of these.
    proven: bool,
    /// Proven lower bound of the elapsed time, in minutes: no order of these steps takes less.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 505)]
    elapsed_bound_minutes: u32,
}

/// Order of a plan's steps.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlanOrder)]
pub struct PlanOrderView {
    /// Codes of the steps, in this order.
    #[schema(max_items = 400, value_type = Vec<Code>)]
    steps: Vec<String>,
    /// Changeover time between steps in total, in minutes.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 30)]
    changeover_minutes: u32,
    /// Time from the first step to the end of the latest step or wait, in minutes, without interruptions.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 505)]
    elapsed_minutes: u32,
    /// Cost and gain of the order compared with the first one, as a sentence; for the first one its own times.
    #[schema(max_length = 200, example = "10 minutes more changeover, finished 230 minutes sooner")]
    words: String,
}

impl From<FrontForm> for PlanOrdersView {
    fn from(front: FrontForm) -> Self {
        let cost = |order: &OrderForm| (Minutes::new(order.changeover_minutes), Minutes::new(order.elapsed_minutes));
        let words = orders_in_words(&front.orders.iter().map(cost).collect::<Vec<_>>());
        let view = |(order, words): (OrderForm, String)| PlanOrderView {
            steps: order.steps,
            changeover_minutes: order.changeover_minutes,
            elapsed_minutes: order.elapsed_minutes,
            words,
        };
        Self {
            orders: front.orders.into_iter().zip(words).map(view).collect(),
            proven: front.proven,
            elapsed_bound_minutes: front.elapsed_bound_minutes,
        }
    }
}
