//! What is done to plans.

use baywright_domain::id::{CustomerId, PlanId, QuoteId, RevisionId, VariationId, VehicleId};
use baywright_domain::menu::{Code, Menu};
use baywright_domain::money::Money;
use baywright_domain::plan::{Hands, WorkPlan, work_plan};
use baywright_domain::vehicle::Car;
use serde_json::json;

use super::form::PlanForm;
use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// A plan as it was made.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The plan's id.
    pub id: PlanId,
    /// The quote whose work it is.
    pub quote: QuoteId,
    /// Which plan of the quote: 1 is the first, the highest one counts.
    pub number: u32,
    /// The signed revision.
    pub revision: RevisionId,
    /// The signed variations whose work is in it too.
    pub variations: Vec<VariationId>,
    /// Whose car.
    pub customer: CustomerId,
    /// Which car.
    pub vehicle: VehicleId,
    /// The deposit that was agreed, with tax.
    pub deposit: Option<Money>,
    /// The plan as it is kept.
    pub form: PlanForm,
    /// When it was made.
    pub created_at: UtcTime,
}

impl Plan {
    /// The rules' own plan.
    pub fn work(&self) -> Done<WorkPlan> {
        Ok(self.form.read()?)
    }
}

/// What a plan is made of.
#[derive(Debug, Clone)]
pub struct NewPlan {
    /// The quote.
    pub quote: QuoteId,
    /// The signed revision.
    pub revision: RevisionId,
    /// The signed variations, in the order of their numbers.
    pub variations: Vec<VariationId>,
    /// Whose car.
    pub customer: CustomerId,
    /// Which car.
    pub vehicle: VehicleId,
    /// The deposit that was agreed, with tax.
    pub deposit: Option<Money>,
    /// The menu as it was when the quote was sent.
    pub menu: Menu,
    /// All services that were signed.
    pub services: Vec<Code>,
    /// The car that budgets are for.
    pub car: Car,
}

/// The latest plan of a quote; 409 where nothing was signed.
pub fn of_quote(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Plan> {
    Ok(store::latest(tx, quote)?.ok_or_else(|| {
        Problem::conflict("not-signed", "This quote isn't signed, so there is no plan yet. Let the customer sign it.")
    })?)
}

/// The plan of that id.
pub fn show(tx: &mut Tx<'_>, id: &PlanId) -> Done<Plan> {
    Ok(store::find(tx, id)?.ok_or_else(|| Problem::not_found("plan"))?)
}

/// Makes and keeps the plan of what was signed; the latest one stays where it was made of the same.
pub fn keep(tx: &mut Tx<'_>, new: &NewPlan) -> Done<Plan> {
    let before = store::latest(tx, &new.quote)?;
    if let Some(plan) = &before
        && plan.revision == new.revision
        && plan.variations == new.variations
    {
        return Ok(plan.clone());
    }
    let work = work_plan(&new.menu, &new.services, new.car, Hands::One)?;
    let (id, number): (PlanId, u32) = (ids::new(), before.map_or(1, |plan| plan.number + 1));
    store::insert(tx, &id, number, new, &PlanForm::of(&work))?;
    let detail = json!({ "quote": new.quote.as_str(), "number": number, "steps": work.steps.len() });
    record::write(tx, "plan.made", ("plan", id.as_str()), detail)?;
    show(tx, &id)
}
