//! A step of a car as its card shows it: the clock against the budget, what to mix, what to be careful of, and what can be done.

use std::collections::BTreeMap;

use baywright_core::job::usecase::{Job, Step};
use baywright_core::plan::kept::{PlanForm, PlanStepForm, ProductAmountForm};
use baywright_core::platform::clock::UtcTime;
use baywright_domain::booking::BookingState;
use baywright_domain::id::PersonId;
use baywright_domain::job::StepState;
use baywright_domain::menu::Holds;
use baywright_domain::time::Minutes;

use crate::platform::Wall;

/// What the cards of a car have in common.
pub(super) struct Around<'a> {
    pub(super) job: &'a Job,
    pub(super) plan: &'a PlanForm,
    pub(super) wall: &'a Wall,
    pub(super) now: UtcTime,
    /// Id of the person who asks.
    pub(super) me: &'a PersonId,
    /// Names of everyone in the studio.
    pub(super) names: &'a BTreeMap<PersonId, String>,
}

/// A step.
pub(super) struct Card {
    pub(super) code: String,
    pub(super) version: i64,
    pub(super) name: String,
    /// Position among the steps, such as `step 4 of 8`.
    pub(super) place: String,
    /// Sign and word of its state.
    pub(super) state: (&'static str, &'static str),
    /// Minutes that were worked, and the budget.
    pub(super) spent: u32,
    pub(super) budget: u32,
    /// The time that was worked, as a clock shows it: `1:12`.
    pub(super) clock: String,
    /// The time that is left, or by how much the budget is used up.
    pub(super) left: String,
    /// Parts of the picture, in percent: the time that was worked, and the budget.
    pub(super) bar: (u32, u32),
    /// People whose clock is running.
    pub(super) people: String,
    pub(super) mixes: Vec<Mix>,
    /// Products that are not mixed.
    pub(super) products: Vec<String>,
    pub(super) cautions: Vec<String>,
    pub(super) is_settled: bool,
    pub(super) is_running: bool,
    pub(super) can_start: bool,
    pub(super) can_stop: bool,
    pub(super) can_finish: bool,
    /// The moment until which something has to dry before it can start, RFC 3339; empty if nothing has to.
    pub(super) from: String,
    /// Minutes that it dries or cures, what that holds back, and the steps it comes after: the script goes by them while
    /// there is no network.
    pub(super) wait: u32,
    pub(super) holds: &'static str,
    pub(super) after: String,
    /// Why it can't be started now; empty if it can, or has begun.
    pub(super) hindered: String,
    /// The time at which it has dried; empty if nothing dries.
    pub(super) dry: String,
    /// What undoing it would take back; empty if nothing can be undone.
    pub(super) undo: &'static str,
}

/// A product that is mixed with water.
pub(super) struct Mix {
    pub(super) name: String,
    pub(super) ratio: String,
    pub(super) product_ml: String,
    pub(super) water_ml: String,
    /// How long it stays on; empty if its label says nothing.
    pub(super) dwell: String,
}

fn dwell(product: &ProductAmountForm) -> String {
    product.dwell_seconds.map(|seconds| format!("Leave it on for {seconds} seconds.")).unwrap_or_default()
}

fn mix(product: &ProductAmountForm) -> Option<Mix> {
    let mix = product.mix.as_ref()?;
    Some(Mix {
        name: product.name.clone(),
        ratio: mix.ratio.clone(),
        product_ml: mix.product_ml.0.normalize().to_string(),
        water_ml: mix.water_ml.0.normalize().to_string(),
        dwell: dwell(product),
    })
}

/// A product that is taken as it is.
fn plain(product: &ProductAmountForm) -> Option<String> {
    if product.mix.is_some() {
        return None;
    }
    let amount = format!("{}: {} {}", product.name, product.amount.0.normalize(), product.unit.0.label());
    Some(format!("{amount}. {}", dwell(product)).trim_end().to_owned())
}

fn state(state: StepState) -> (&'static str, &'static str) {
    match state {
        StepState::Open => ("", "not begun"),
        StepState::Running => ("on", "running"),
        StepState::Paused => ("wait", "stopped"),
        StepState::Finished => ("done", "finished"),
        StepState::Removed => ("", "removed"),
    }
}

/// The time that is left of a budget, or by how much it is used up.
fn left(spent: u32, budget: u32) -> String {
    let minutes = Minutes::new;
    match budget.checked_sub(spent) {
        Some(left) => format!("{} left of {}", minutes(left), minutes(budget)),
        None => format!("{} over the budget of {}", minutes(spent - budget), minutes(budget)),
    }
}

/// The parts of a budget's picture, in percent of the longer one of both.
fn bar(spent: u32, budget: u32) -> (u32, u32) {
    let whole = spent.max(budget).max(1);
    let percent = |part: u32| u32::try_from(u64::from(part) * 100 / u64::from(whole)).unwrap_or(100);
    (percent(spent), percent(budget))
}

impl Card {
    /// The card of the step at that position.
    pub(super) fn of(around: &Around<'_>, at: usize, step: &Step) -> Self {
        let (rules, now) = (&step.step, around.now.datetime());
        let planned: Option<&PlanStepForm> = around.plan.steps.iter().find(|known| known.code == rules.code.as_str());
        let products: &[ProductAmountForm] = planned.map_or(&[], |step| &step.products);
        let (spent, budget) = (rules.attended(now).get(), step.budget.get());
        let at_work = around.job.booking.state == BookingState::InBay;
        let running = || rules.pieces.iter().filter(|piece| piece.until.is_none());
        let people: Vec<&str> =
            running().filter_map(|piece| around.names.get(&piece.who)).map(String::as_str).collect();
        let mine = running().any(|piece| piece.who == *around.me);
        let open: Vec<&str> = around
            .job
            .steps
            .iter()
            .filter(|other| rules.after.contains(&other.step.code) && !other.step.state.is_settled())
            .map(|other| other.step.name.as_str())
            .collect();
        let dries = held_until(around, step);
        let can_start = at_work && !mine && rules.state != StepState::Running;
        let can_start = can_start && around.job.rules().startable(now).iter().any(|one| one.code == rules.code);
        let joins = at_work && !mine && rules.state == StepState::Running;
        let hindered = match dries {
            _ if can_start || joins || mine || rules.state.is_settled() => String::new(),
            _ if !open.is_empty() => format!("First finish {}.", open.join(", ")),
            Some(until) => format!("Something dries or cures. This can begin at {}.", around.wall.when(until.minute())),
            None => String::new(),
        };
        let clear = rules.clear_from.map(UtcTime::from).filter(|clear| *clear > around.now);
        Self {
            code: rules.code.to_string(),
            version: step.version,
            name: rules.name.clone(),
            place: format!("step {} of {}", at + 1, around.job.steps.len()),
            state: state(rules.state),
            spent,
            budget,
            clock: format!("{}:{:02}", spent / 60, spent % 60),
            left: left(spent, budget),
            bar: bar(spent, budget),
            people: people.join(", "),
            mixes: products.iter().filter_map(mix).collect(),
            products: products.iter().filter_map(plain).collect(),
            cautions: planned.map_or(&[][..], |step| &step.cautions).iter().map(|one| one.text.clone()).collect(),
            is_settled: rules.state.is_settled(),
            is_running: rules.state == StepState::Running,
            can_start: can_start || joins,
            can_stop: at_work && mine,
            can_finish: at_work && matches!(rules.state, StepState::Running | StepState::Paused),
            from: dries.map(|until| until.to_string()).unwrap_or_default(),
            wait: step.wait.get(),
            holds: rules.holds.as_str(),
            after: rules.after.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
            hindered,
            dry: clear.map(|clear| around.wall.when(clear.minute())).unwrap_or_default(),
            undo: if at_work { step.last_move.map_or("", |made| made.label()) } else { "" },
        }
    }

    /// Whether the step is the one to do now: it runs, or it can be started.
    pub(super) fn is_at_hand(&self) -> bool {
        self.is_running || self.can_start || self.can_finish
    }
}

/// The time until which something that was finished has to dry before the step can begin.
fn held_until(around: &Around<'_>, step: &Step) -> Option<UtcTime> {
    let holds = |other: &&Step| other.step.holds == Holds::Car || step.step.after.contains(&other.step.code);
    let clear = around.job.steps.iter().filter(holds).filter_map(|other| other.step.clear_from.map(UtcTime::from));
    clear.filter(|clear| *clear > around.now).max()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_is_set_against_the_budget() {
        assert_eq!(left(72, 200), "2 h 8 min left of 3 h 20 min");
        assert_eq!(left(212, 200), "12 min over the budget of 3 h 20 min");
        assert_eq!((bar(50, 200), bar(250, 200), bar(0, 0)), ((25, 100), (100, 80), (0, 0)));
    }
}
