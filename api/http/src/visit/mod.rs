//! Visits over HTTP.

mod view;

use actix_web::get;
use actix_web::web::Path;
use baywright_core::platform::identity::Desk;
use baywright_core::stay;
use baywright_core::visit::usecase::{self, Wanted};
use baywright_domain::id::{CustomerId, QuoteId, VehicleId};
use baywright_domain::visit::VisitGroup;
use serde::Deserialize;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Page, page, plain};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::wire::{Reference, Word};
use view::VisitView;

pub(crate) use view::{ActWord, TurnWord, VisitHead};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(show);
}

/// A group of visits as it is sent over HTTP.
type GroupWord = Word<VisitGroup>;

/// Filters of the list of visits.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct VisitFilter {
    /// Limits the list to visits of the customer with this id.
    #[param(inline, nullable = false)]
    customer_id: Option<Reference>,
    /// Limits the list to visits of the vehicle with this id.
    #[param(inline, nullable = false)]
    vehicle_id: Option<Reference>,
    /// Limits the list to one group of visits: those with a quote to write or to sign, those that are booked, cars that
    /// are here, or those with money to do.
    #[param(inline, nullable = false)]
    group: Option<GroupWord>,
}

impl VisitFilter {
    /// The filter for the use case.
    pub fn wanted(self) -> Wanted {
        Wanted {
            customer: self.customer_id.map(|id| CustomerId::new(id.into_string())),
            vehicle: self.vehicle_id.map(|id| VehicleId::new(id.into_string())),
            group: self.group.map(|word| word.0),
        }
    }
}

/// List the visits.
///
/// Returns one page of visits, newest first. A visit is one car's stay from enquiry to payment; its quote ties it together,
/// so a quote has one visit, with the same id. Each says what must happen next, and whose turn it is.
#[utoipa::path(tag = "visit", params(VisitFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of visits.", body = Page<VisitHead>)))]
#[get("/v1/visits")]
async fn list(call: Call<Desk>, list: List<VisitFilter>) -> Answer {
    let wanted = list.filter.wanted();
    let paging = list.paging;
    let found = call
        .read(move |tx| {
            let found = usecase::list(tx, &wanted, &paging)?;
            Ok(found.map(|visit| VisitHead::of(&visit, tx.studio.currency)))
        })
        .await?;
    Ok(page(&list.links, found))
}

/// Read a visit.
///
/// Returns the visit of a quote: its progress, its records, what must happen next, what its customer asked, and everything
/// that happened.
#[utoipa::path(tag = "visit", params(("id" = Reference, Path, description = "Id of the quote.")),
    responses((status = 200, description = "The requested visit.", body = VisitView)))]
#[get("/v1/visits/{id}")]
async fn show(call: Call<Desk>, id: Path<String>) -> Answer {
    let quote = QuoteId::new(id.into_inner());
    let view = call
        .read(move |tx| {
            let told = usecase::show(tx, &quote)?;
            let questions = stay::usecase::questions(tx, &quote)?;
            Ok(VisitView::of(told, questions, tx.studio.currency))
        })
        .await?;
    Ok(plain(&view))
}
