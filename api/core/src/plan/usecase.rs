//! Use cases of plans.

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::id::{CustomerId, PlanId, QuoteId, RevisionId, VariationId, VehicleId};
use baywright_domain::learning::{Outlook, outlook};
use baywright_domain::menu::{Code, Menu};
use baywright_domain::money::Money;
use baywright_domain::plan::{Hands, PlanRefusal, ServiceUnits, WorkPlan, plan_if_any, work_plan};
use baywright_domain::vehicle::Car;
use serde_json::json;

use super::kept::PlanForm;
use super::store::{self, NewPlan};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::{agreement, learning, quote, shop};

/// A plan as it was made.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The plan's id.
    pub id: PlanId,
    /// The quote whose work it is.
    pub quote: QuoteId,
    /// Number of the plan within the quote, from 1; the highest one applies.
    pub number: u32,
    /// The signed revision.
    pub revision: RevisionId,
    /// The signed variations whose work is in it too.
    pub variations: Vec<VariationId>,
    /// Id of the customer.
    pub customer: CustomerId,
    /// Id of the vehicle.
    pub vehicle: VehicleId,
    /// Agreed deposit, with tax.
    pub deposit: Option<Money>,
    /// Number of people it is for: one if nothing was stored, or if no step allows two.
    pub hands: Hands,
    /// The stored plan, for the number of people.
    pub form: PlanForm,
    /// Time when it was made.
    pub created_at: UtcTime,
}

impl Plan {
    /// The plan for that number of people, at the steps that allow two.
    pub fn with(self, hands: Hands) -> Done<Self> {
        let allowed = self.form.steps.iter().any(|step| step.two_hands.is_some());
        let hands = if allowed { hands } else { Hands::One };
        Ok(Self { hands, form: self.form.with(hands)?, ..self })
    }

    /// The rules' own plan.
    pub fn work(&self) -> Done<WorkPlan> {
        Ok(self.form.read()?)
    }

    /// Estimates of the work from the time when the plan was made; `None` in plans made before this was stored.
    pub fn outlook(&self) -> Done<Option<Outlook>> {
        Ok(self.form.outlook()?)
    }
}

/// The latest plan of a quote.
///
/// # Errors
/// `NotFound` if the shop has no such quote, `Conflict` if nothing was signed or what was signed has no step that takes
/// time.
pub fn of_quote(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Plan> {
    if let Some(plan) = store::latest(tx, quote)? {
        return Ok(plan);
    }
    quote::usecase::signed(tx, quote)?;
    let detail = "The signed quote has no step that takes time, so there is nothing to plan or to book.";
    Err(Refused::conflict("nothing-to-plan", detail).into())
}

/// The plan with that id.
pub fn show(tx: &mut Tx<'_>, id: &PlanId) -> Done<Plan> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("plan"))?)
}

/// The plans of those ids that there are, in no order.
pub fn of_ids(tx: &mut Tx<'_>, plans: &[PlanId]) -> Done<Vec<Plan>> {
    Ok(store::of_ids(tx, plans)?)
}

/// The names of the steps of those plans, by plan and code.
pub fn step_names(tx: &mut Tx<'_>, plans: &[PlanId]) -> Done<BTreeMap<(PlanId, String), String>> {
    let mut names = BTreeMap::new();
    for plan in store::of_ids(tx, plans)? {
        names.extend(plan.form.steps.into_iter().map(|step| ((plan.id.clone(), step.code), step.name)));
    }
    Ok(names)
}

/// Makes and stores the plan of what is agreed on a quote now; the latest one stays if it was made from the same.
/// `None` if no step takes time.
///
/// # Errors
/// `Conflict` if nothing is signed; `Invalid` if the steps can't be put in order.
pub fn renew(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Option<Plan>> {
    let agreed = agreement::usecase::agreed(tx, quote)?;
    let variations: Vec<VariationId> = agreed.variations.iter().map(|variation| variation.id.clone()).collect();
    let before = store::latest(tx, quote)?;
    if let Some(plan) = &before
        && plan.revision == agreed.quote.revision_id
        && plan.variations == variations
    {
        return Ok(before);
    }
    let work = match work_plan(&agreed.quote.menu, &agreed.services(), agreed.car(), Hands::One) {
        Ok(work) => work,
        Err(PlanRefusal::NothingToDo) => return Ok(None),
        Err(refusal) => return Err(refusal.into()),
    };
    let policy = shop::usecase::settings(tx)?.terms.learning;
    let learned = learning::usecase::learned(tx, &agreed.quote.menu, work.steps.iter().map(|step| &step.code))?;
    let believed = |work: &WorkPlan| outlook(work, agreed.car().size, &learned, policy);
    let ahead = believed(&work);
    let of_two = of_two(&work, &agreed.quote.menu, &agreed.services(), agreed.car())?;
    let of_two = of_two.map(|two| (believed(&two), two));
    let (id, number): (PlanId, u32) = (ids::new(), before.map_or(1, |plan| plan.number + 1));
    let form = PlanForm::of(&work, &ahead, of_two.as_ref().map(|(ahead, two)| (two, ahead)));
    let new = NewPlan { id: &id, number, agreed: &agreed, variations: &variations, form: &form };
    store::insert(tx, &new)?;
    let detail = json!({ "quote": quote.as_str(), "number": number, "steps": work.steps.len() });
    record::write(tx, "plan.made", ("plan", id.as_str()), detail)?;
    Ok(Some(show(tx, &id)?))
}

/// The plan for two people, with a front of its own and its steps in the order in which one person does them; `None` if
/// no step allows two.
fn of_two(work: &WorkPlan, menu: &Menu, services: &[ServiceUnits], car: Car) -> Done<Option<WorkPlan>> {
    if !work.allows_two() {
        return Ok(None);
    }
    let own = work_plan(menu, services, car, Hands::Two)?;
    let two = work.clone().with(Hands::Two);
    let (orders, orders_proven, elapsed_bound) = (own.orders, own.orders_proven, own.elapsed_bound);
    Ok(Some(WorkPlan { orders, orders_proven, elapsed_bound, ..two }))
}

/// Work that nobody has signed, as it would be planned now.
#[derive(Debug, Clone)]
pub struct Unsigned {
    /// The plan.
    pub work: WorkPlan,
    /// Number of people who do it: one if no step allows two.
    pub hands: Hands,
    /// Estimate of the work's duration.
    pub outlook: Outlook,
}

/// The plans of several choices of services for a car, none of which is stored. `None` for a choice in which no step
/// takes time.
///
/// # Errors
/// `Invalid` if the steps of a choice can't be put in order.
pub fn unsigned(
    tx: &mut Tx<'_>,
    menu: &Menu,
    car: Car,
    hands: Hands,
    choices: &[Vec<ServiceUnits>],
) -> Done<Vec<Option<Unsigned>>> {
    let mut plans = Vec::with_capacity(choices.len());
    for services in choices {
        let Some(work) = plan_if_any(menu, services, car)? else {
            plans.push(None);
            continue;
        };
        let two = if hands == Hands::Two { of_two(&work, menu, services, car)? } else { None };
        plans.push(Some(two.map_or((work, Hands::One), |two| (two, Hands::Two))));
    }
    let steps: BTreeSet<&Code> =
        plans.iter().flatten().flat_map(|(work, _)| &work.steps).map(|step| &step.code).collect();
    let policy = shop::usecase::settings(tx)?.terms.learning;
    let learned = learning::usecase::learned(tx, menu, steps)?;
    let with_outlook = |(work, hands): (WorkPlan, Hands)| {
        let ahead = outlook(&work, car.size, &learned, policy);
        Unsigned { work, hands, outlook: ahead }
    };
    Ok(plans.into_iter().map(|plan| plan.map(with_outlook)).collect())
}

/// Data that this feature holds about a customer: the order of the work, which identifies nobody.
pub const HOLDER: Holder =
    Holder { feature: "plan", held: &[Held::of_customer("plan")], forget: |_, _| Ok(Left::default()) };
