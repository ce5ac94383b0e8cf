//! Plans over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_domain::id::QuoteId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::form::{HandsWord, PlanForm};
use super::usecase::{self, Plan};
use crate::platform::answer::{Answer, item};
use crate::platform::body::Query;
use crate::platform::call::Call;
use crate::platform::etag::IfNoneMatch;
use crate::platform::identity::Crew;
use crate::platform::wire::{Instant, Reference, Word};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(show);
}

/// For how many pairs of hands.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct PlanQuery {
    /// How many pairs of hands do the work; ONE where it isn't said.
    #[param(nullable = false)]
    hands: Option<HandsWord>,
}

/// The plan of a signed quote.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Plan)]
pub struct PlanView {
    /// The plan's id.
    id: Reference,
    /// Which plan of the quote; what is signed later makes the next one. The same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// The quote whose work it is.
    quote_id: Reference,
    /// Signed variations whose work is in it too.
    #[schema(max_items = 100)]
    variation_ids: Vec<Reference>,
    /// How many pairs of hands do the work; ONE where no step allows two.
    hands: HandsWord,
    /// When it was made.
    made_at: Instant,
    /// The steps, in order.
    work: PlanForm,
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
            work: plan.form,
        }
    }
}

/// Read the work plan of a signed quote.
///
/// Every step of the signed services once, in order, with its time budget, wait, skills, bay features, products and
/// mixes, cautions, and the steps that it must follow. No prices. With two pairs of hands the steps that allow it are
/// shorter and keep two people busy.
#[utoipa::path(tag = "plan", params(("id" = Reference, Path, description = "The quote."), PlanQuery),
    responses((status = 200, description = "The latest plan.", body = PlanView),
        (status = 304, description = "Unchanged."),
        (status = 409, description = "Nothing is signed, or nothing that takes time.")))]
#[get("/v1/quotes/{id}/plan")]
async fn show(call: Call<Crew>, id: Path<String>, query: Query<PlanQuery>, known: IfNoneMatch) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let hands = query.0.hands.unwrap_or_default().0;
    let plan = call.read(move |tx| usecase::of_quote(tx, &id)?.with(hands)).await?;
    Ok(item(&PlanView::from(plan), &known))
}
