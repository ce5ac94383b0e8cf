//! The work plan: the steps of all signed services, each once, in an order without doubling back.

mod amount;
mod budget;
mod changeover;
mod front;
mod hands;
mod merge;
mod offered;
mod orders;
mod rest;
mod scheduled;
mod sequence;
mod units;
mod wanted;

use alloc::collections::{BTreeMap, BTreeSet};
use alloc::string::String;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use crate::caution::{Caution, Hazard, takes_paint};
use crate::menu::{COVER, Chemistry, Code, Menu, Split, Wait};
use crate::precedence::Precedence;
use crate::refusal::{Kind, Refusal};
use crate::time::Minutes;
use crate::vehicle::Car;
use budget::share;

pub use amount::{Measured, measure};
pub use budget::{Budget, Hands, budget};
pub use changeover::changeover;
pub use front::{Front, FrontOrder, PlanOrder, Timing, USUAL_FRONT_BUDGET, elapsed_of, front, orders_in_words};
pub use merge::{Merged, merge};
pub use offered::{customer_cautions, plan_if_any};
pub use rest::{Left, Rest};
pub use scheduled::without_one;
pub use sequence::{Order, Problem, USUAL_BUDGET, order};
pub use units::ServiceUnits;
pub use wanted::PlaceWanted;

/// Reason why no work plan can be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlanRefusal {
    /// A service that the menu doesn't have.
    #[error("the menu has no service {0}: choose one that is on it")]
    UnknownService(Code),
    /// A service names a step that the menu doesn't have.
    #[error("the service {service} needs the step {step}, which the menu doesn't have: correct the menu first")]
    UnknownStep {
        /// The service's name.
        service: String,
        /// The code of the missing step.
        step: Code,
    },
    /// A step takes a product that the menu doesn't have.
    #[error("the step {step} uses the product {product}, which the menu doesn't have: correct the menu first")]
    UnknownProduct {
        /// The step's name.
        step: String,
        /// The code of the missing product.
        product: Code,
    },
    /// Two services that exclude each other.
    #[error(
        "{one} (steps: {}) and {other} (steps: {}) exclude each other: leave one of them out",
        one_steps.join(", "), other_steps.join(", ")
    )]
    Excluded {
        /// One service's name.
        one: String,
        /// The names of its steps.
        one_steps: Vec<String>,
        /// The other service's name.
        other: String,
        /// The names of its steps.
        other_steps: Vec<String>,
    },
    /// Steps that wait for one another, in a shortest circle.
    #[error("these steps wait for one another, so no order exists: {} → {}", .0.join(" → "), .0.first().map_or("", String::as_str))]
    Cycle(Vec<String>),
    /// Nothing that takes time.
    #[error("these services have no step that takes time: choose one that does")]
    NothingToDo,
    /// An amount beyond what is mixed in a studio.
    #[error("the amount of {product} for the step {step} is out of range: check its rate on the menu")]
    Amount {
        /// The step's name.
        step: String,
        /// The product's code.
        product: Code,
    },
}

impl Refusal for PlanRefusal {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        match self {
            Self::UnknownService(_) => "unknown-service",
            Self::UnknownStep { .. } | Self::UnknownProduct { .. } | Self::Amount { .. } => "menu-faulty",
            Self::Excluded { .. } => "services-exclude-each-other",
            Self::Cycle(_) => "steps-in-a-circle",
            Self::NothingToDo => "nothing-to-do",
        }
    }
}

/// One step of a plan, at its position in the order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlannedStep {
    /// The step's code.
    pub code: Code,
    /// The step's name.
    pub name: String,
    /// Its stage in the usual order of work.
    pub stage: u16,
    /// Minutes from the beginning of the plan to the step's attended work, if nothing interrupts.
    pub start_offset: Minutes,
    /// Minutes lost to setting up for it after the step before.
    pub changeover_before: Minutes,
    /// Minutes to clear up after the plan's last step; none elsewhere.
    pub changeover_after: Minutes,
    /// Its budget: minutes of attended work.
    pub attended: Minutes,
    /// Numbers behind the budget.
    pub budget: Budget,
    /// Time that two people need, as a share of the time of one person, if a second person helps.
    pub two_hands: Option<Decimal>,
    /// Number of people it keeps busy: the second person is there for setting up and clearing up too.
    pub hands: Hands,
    /// Minimum wait after it.
    pub wait: Wait,
    /// Whether it may be interrupted.
    pub split: Option<Split>,
    /// Skills that one person must have, all of them; a helper needs none.
    pub skills: Vec<Code>,
    /// Bay features that it needs.
    pub features: Vec<Code>,
    /// Amounts of products that it needs, with the mixes.
    pub products: Vec<Measured>,
    /// Cautions for work on the car.
    pub cautions: Vec<Caution>,
    /// The services that need it.
    pub services: Vec<Code>,
    /// Steps of this plan that must be finished before it, directly or through others, by code.
    pub after: Vec<Code>,
    /// The last of those in this order, which is why the step is not earlier. `None` if it could have been first.
    pub held_back_by: Option<Code>,
}

impl PlannedStep {
    /// Minutes that somebody is busy with the step: setting up, the work itself, clearing up. A schedule books these.
    pub fn occupied(&self) -> Minutes {
        self.changeover_before + self.attended + self.changeover_after
    }

    /// The skills that it needs and the given person lacks.
    pub fn lacking(&self, skills: &BTreeSet<Code>) -> Vec<&Code> {
        self.skills.iter().filter(|skill| !skills.contains(*skill)).collect()
    }

    /// Whether it removes paint, as sanding and compounding do.
    pub fn takes_paint(&self) -> bool {
        takes_paint(&self.cautions)
    }
}

/// The steps of all signed services in their order, and what the whole job needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkPlan {
    /// The steps in order.
    pub steps: Vec<PlannedStep>,
    /// Attended minutes of all steps.
    pub attended: Minutes,
    /// Changeover minutes of the order.
    pub changeover: Minutes,
    /// Proven lower bound: no order has fewer changeover minutes.
    pub changeover_bound: Minutes,
    /// Whether the order is proven to have the fewest changeover minutes.
    pub proven: bool,
    /// Changeover minutes that the plain order by stage, then code, would have had.
    pub stage_order_changeover: Minutes,
    /// Minutes from the beginning to the end of the latest step or wait, without interruptions.
    pub elapsed: Minutes,
    /// The front of orders: those that no other beats in both changeover and elapsed time, by rising changeover. The
    /// first is the order of the steps as one person does them.
    pub orders: Vec<PlanOrder>,
    /// Whether the front is complete.
    pub orders_proven: bool,
    /// Proven lower bound of the elapsed minutes of any order.
    pub elapsed_bound: Minutes,
    /// Bay features that the job needs: the union over its steps and waits.
    pub features: Vec<Code>,
    /// Skills that the job needs: the union over its steps.
    pub skills: Vec<Code>,
    /// Amounts of every product over all steps.
    pub products: Vec<Measured>,
    /// Every caution once, in order of first need.
    pub cautions: Vec<Caution>,
}

/// Makes the work plan of the services for a car (RULES: work plan). A service may come with its quantity, see [`merge()`].
///
/// # Errors
/// [`PlanRefusal`] if services exclude each other, steps wait for one another, or the menu is faulty.
pub fn work_plan<S>(menu: &Menu, services: &[S], car: Car, hands: Hands) -> Result<WorkPlan, PlanRefusal>
where
    S: Clone + Into<ServiceUnits>,
{
    let merged = merge(menu, services)?;
    let budgets: Vec<Budget> = merged.iter().map(|one| one.budget(menu, car)).collect();
    if budgets.iter().all(|one| one.minutes == Minutes::ZERO) {
        return Err(PlanRefusal::NothingToDo);
    }
    let before = precedence_within(menu, &merged)?;
    let problem = Problem::new(&merged, before, &menu.changeovers);
    let timing = |(one, budget): (&Merged<'_>, &Budget)| Timing {
        attended: budget.shared(share(one.step.two_hands, hands)).minutes,
        wait: one.step.wait.minutes,
        holds: one.step.wait.holds,
    };
    let timings: Vec<Timing> = merged.iter().zip(&budgets).map(timing).collect();
    let front = front(&problem, &timings, USUAL_FRONT_BUDGET)
        .map_err(|cycle| PlanRefusal::Cycle(cycle.into_iter().map(|at| merged[at].step.name.clone()).collect()))?;
    let orders: Vec<PlanOrder> = front.orders.iter().map(|found| named(found, &problem, &merged)).collect();
    let Some(found) = front.orders.first() else { return Err(PlanRefusal::NothingToDo) };
    let ancestors = problem.before.ancestors();
    let changeovers = problem.changeovers(&found.order);

    let mut steps: Vec<PlannedStep> = Vec::with_capacity(merged.len());
    for (place, &at) in found.order.iter().enumerate() {
        let Merged { step, services, quantity, .. } = &merged[at];
        let last = place + 1 == found.order.len();
        let products: Vec<Measured> =
            step.doses.iter().map(|dose| measure(menu, step, dose, car, *quantity)).collect::<Result<_, _>>()?;
        let mut cautions = step.cautions.clone();
        for product in products.iter().filter_map(|measured| menu.product(&measured.product)) {
            cautions.extend(product.cautions.iter().cloned());
        }
        let mut after: Vec<Code> = ancestors[at].iter().map(|first| merged[*first].step.code.clone()).collect();
        after.sort();
        let held_back_by = held_back_by(&steps, &after);
        steps.push(PlannedStep {
            code: step.code.clone(),
            name: step.name.clone(),
            stage: step.stage,
            start_offset: Minutes::ZERO,
            changeover_before: changeovers[place],
            changeover_after: if last { changeovers[place + 1] } else { Minutes::ZERO },
            attended: budgets[at].minutes,
            budget: budgets[at],
            two_hands: step.two_hands,
            hands: Hands::One,
            wait: step.wait,
            split: step.split,
            skills: sorted(step.skills.iter().cloned()),
            features: sorted(step.features.iter().cloned()),
            products,
            cautions: once(cautions),
            services: services.clone(),
            after,
            held_back_by,
        });
    }
    let plan = WorkPlan {
        attended: Minutes::ZERO,
        changeover: found.changeover,
        changeover_bound: front.changeover_bound,
        proven: found.changeover == front.changeover_bound,
        stage_order_changeover: front.stage_order,
        elapsed: Minutes::ZERO,
        orders: Vec::new(),
        orders_proven: false,
        elapsed_bound: Minutes::ZERO,
        features: features(&steps),
        skills: sorted(steps.iter().flat_map(|step| step.skills.iter().cloned())),
        products: totals(&steps)?,
        cautions: cautions(menu, &steps, car),
        steps,
    };
    Ok(WorkPlan { orders, orders_proven: front.proven, elapsed_bound: front.elapsed_bound, ..plan.with(hands) })
}

/// The last of the steps so far that must be finished before one that comes after the steps `after`.
fn held_back_by(so_far: &[PlannedStep], after: &[Code]) -> Option<Code> {
    so_far.iter().rev().find(|earlier| after.contains(&earlier.code)).map(|earlier| earlier.code.clone())
}

fn named(found: &FrontOrder, problem: &Problem, merged: &[Merged<'_>]) -> PlanOrder {
    PlanOrder {
        steps: found.order.iter().map(|at| merged[*at].step.code.clone()).collect(),
        changeovers: problem.changeovers(&found.order),
        changeover: found.changeover,
        elapsed: found.elapsed,
    }
}

/// Attended minutes of the services for a car with one person: the sum of [`work_plan`], without an order.
///
/// # Errors
/// [`PlanRefusal`] if services exclude each other or the menu is faulty.
pub fn attended_minutes<S>(menu: &Menu, services: &[S], car: Car) -> Result<Minutes, PlanRefusal>
where
    S: Clone + Into<ServiceUnits>,
{
    Ok(merge(menu, services)?.iter().map(|one| one.budget(menu, car).minutes).sum())
}

/// The menu's precedence among the steps of one plan, also if it runs through steps that the plan doesn't have.
fn precedence_within(menu: &Menu, merged: &[Merged<'_>]) -> Result<Precedence, PlanRefusal> {
    let everywhere = menu.precedence();
    let places: Vec<usize> =
        merged.iter().filter_map(|one| menu.steps.iter().position(|step| step.code == one.step.code)).collect();
    if let Some(cycle) = everywhere.shortest_cycle_through(&places) {
        return Err(PlanRefusal::Cycle(cycle.into_iter().map(|at| menu.steps[at].name.clone()).collect()));
    }
    let ancestors = everywhere.ancestors();
    let mut before = Precedence::new(merged.len());
    for (then, place) in places.iter().enumerate() {
        for first in places.iter().enumerate().filter(|(_, other)| ancestors[*place].contains(*other)) {
            before.add(first.0, then);
        }
    }
    Ok(before)
}

fn sorted(codes: impl Iterator<Item = Code>) -> Vec<Code> {
    codes.collect::<BTreeSet<_>>().into_iter().collect()
}

fn once(cautions: Vec<Caution>) -> Vec<Caution> {
    let mut seen = BTreeSet::new();
    cautions.into_iter().filter(|caution| seen.insert(caution.clone())).collect()
}

fn features(steps: &[PlannedStep]) -> Vec<Code> {
    let cover = steps.iter().any(|step| step.wait.needs_cover && step.wait.minutes > Minutes::ZERO);
    let cover = cover.then(|| Code::parse(COVER).ok()).flatten();
    sorted(steps.iter().flat_map(|step| step.features.iter().cloned()).chain(cover))
}

fn totals(steps: &[PlannedStep]) -> Result<Vec<Measured>, PlanRefusal> {
    let mut all: BTreeMap<&Code, Measured> = BTreeMap::new();
    for step in steps {
        for measured in &step.products {
            match all.get_mut(&measured.product) {
                None => {
                    all.insert(&measured.product, measured.clone());
                }
                Some(total) => {
                    *total = total.plus(measured).ok_or_else(|| PlanRefusal::Amount {
                        step: step.name.clone(),
                        product: measured.product.clone(),
                    })?;
                }
            }
        }
    }
    Ok(all.into_values().collect())
}

/// The plan's cautions: first those of the whole job, then each step's.
fn cautions(menu: &Menu, steps: &[PlannedStep], car: Car) -> Vec<Caution> {
    let mut all = Vec::new();
    let chemistry: BTreeSet<Chemistry> = steps
        .iter()
        .flat_map(|step| &step.products)
        .filter(|measured| measured.amount > Decimal::ZERO)
        .filter_map(|measured| menu.product(&measured.product))
        .flat_map(|product| product.chemistry.iter().copied())
        .collect();
    if chemistry.contains(&Chemistry::Acid) && chemistry.contains(&Chemistry::Chlorine) {
        all.push(Caution::Known(Hazard::AcidWithChlorine));
    }
    all.extend(car.powertrain.cautions());
    all.extend(steps.iter().flat_map(|step| step.cautions.iter().cloned()));
    once(all)
}
