//! Plans over HTTP.

mod order;
mod product;
mod step;
mod work;

use actix_web::get;
use actix_web::web::Path;
use baywright_core::plan::usecase::{self, Plan};
use baywright_core::platform::identity::Crew;
use baywright_domain::id::QuoteId;
use baywright_domain::plan::Hands;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, item};
use crate::platform::body::Query;
use crate::platform::call::Call;
use crate::platform::etag::IfNoneMatch;
use crate::platform::wire::{Instant, Reference, Word};

pub use product::ProductAmountView;
pub use work::{CautionView, WorkPlanView};

/// A number of people, as it is sent over HTTP.
pub type HandsWord = Word<Hands>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show);
}

/// Number of people that the plan is for.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct PlanQuery {
    /// Number of people who do the work: `ONE` or `TWO`; `ONE` if left out.
    #[param(nullable = false)]
    hands: Option<HandsWord>,
}

/// Work plan of a signed quote.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Plan)]
pub struct PlanView {
    /// Id of the plan.
    id: Reference,
    /// Number of the plan within the quote, the same as in the ETag; work that is signed later makes a new plan.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the quote whose work it is.
    quote_id: Reference,
    /// Ids of the signed variations whose work is included.
    #[schema(max_items = 100)]
    variation_ids: Vec<Reference>,
    /// Number of people who do the work: `ONE` or `TWO`; `ONE` if no step allows two.
    hands: HandsWord,
    /// Time when the plan was made, RFC 3339 in UTC.
    made_at: Instant,
    /// Steps of the plan, in order, with their totals.
    work: WorkPlanView,
}

crate::versioned!(PlanView);

impl From<Plan> for PlanView {
    fn from(plan: Plan) -> Self {
        Self {
            id: Reference::from(&plan.id),
            version: i64::from(plan.number),
            quote_id: Reference::from(&plan.quote),
            variation_ids: plan.variations.iter().map(Reference::from).collect(),
            hands: Word(plan.hands),
            made_at: Instant(plan.created_at),
            work: plan.form.into(),
        }
    }
}

/// Read the work plan of a signed quote.
///
/// Returns every step of the signed services once, in order, with its budget, wait, skills, bay features, products and
/// mixes, cautions, and the steps before it. Contains no prices. With two people, the steps that allow it are shorter
/// and need both people.
#[utoipa::path(tag = "plan", params(("id" = Reference, Path, description = "Id of the quote."), PlanQuery),
    responses((status = 200, description = "Latest plan of the quote.", body = PlanView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match."),
        (status = 409, description = "Nothing is signed, or the signed lines need no work time.")))]
#[get("/v1/quotes/{id}/plan")]
async fn show(call: Call<Crew>, id: Path<String>, query: Query<PlanQuery>, known: IfNoneMatch) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let hands = query.0.hands.unwrap_or_default().0;
    let plan = call.read(move |tx| usecase::of_quote(tx, &id)?.with(hands)).await?;
    Ok(item(&PlanView::from(plan), &known))
}
