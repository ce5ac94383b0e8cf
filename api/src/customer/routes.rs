//! Customers over HTTP.

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_domain::id::CustomerId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, Customer};
use crate::platform::answer::{Answer, Created, Page, changed, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::{List, NoFilter};
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::identity::Desk;
use crate::platform::wire::{Instant, Line, Reference};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(create).service(show).service(replace);
}

/// What is known of a customer.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CustomerBody {
    /// Full name, or the firm's name.
    name: Line<200>,
}

/// A customer.
#[derive(Debug, Serialize, ToSchema)]
pub struct CustomerView {
    /// The customer's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Full name, or the firm's name.
    #[schema(max_length = 200)]
    name: String,
    /// When the record was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

crate::versioned!(CustomerView);

impl From<CustomerBody> for usecase::Details {
    fn from(body: CustomerBody) -> Self {
        Self { name: body.name.into() }
    }
}

impl From<Customer> for CustomerView {
    fn from(customer: Customer) -> Self {
        Self {
            id: Reference::from(&customer.id),
            version: customer.version,
            name: customer.details.name,
            created_at: Instant(customer.created_at),
            updated_at: Instant(customer.updated_at),
        }
    }
}

/// List customers.
///
/// One page of them, newest first.
#[utoipa::path(tag = "customer", params(crate::platform::cursor::PageParams),
    responses((status = 200, description = "One page.", body = Page<CustomerView>)))]
#[get("/v1/customers")]
async fn list(call: Call<Desk>, list: List<NoFilter>) -> Answer {
    let found = call.read(move |tx| usecase::list(tx, &list.paging)).await?;
    Ok(page(&found.map(CustomerView::from)))
}

/// Add a customer.
#[utoipa::path(tag = "customer", request_body = CustomerBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new customer.", body = CustomerView)))]
#[post("/v1/customers")]
async fn create(call: Call<Desk>, key: IdempotencyKey, body: Body<CustomerBody>) -> Answer {
    let details = body.value.into();
    call.create(key, &body.print, move |tx| {
        let view = CustomerView::from(usecase::add(tx, &details)?);
        Ok(Created { location: format!("/v1/customers/{}", view.id), view })
    })
    .await
}

/// Read a customer.
#[utoipa::path(tag = "customer", params(("id" = Reference, Path, description = "The customer.")),
    responses((status = 200, description = "The customer.", body = CustomerView), (status = 304, description = "Unchanged.")))]
#[get("/v1/customers/{id}")]
async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = CustomerId::new(id.into_inner());
    let customer = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&CustomerView::from(customer), &known))
}

/// Replace what is known of a customer.
#[utoipa::path(tag = "customer", request_body = CustomerBody, params(("id" = Reference, Path, description = "The customer.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The customer as it now stands.", body = CustomerView)))]
#[put("/v1/customers/{id}")]
async fn replace(call: Call<Desk>, id: Path<String>, seen: IfMatch, body: Body<CustomerBody>) -> Answer {
    let (id, details) = (CustomerId::new(id.into_inner()), body.value.into());
    let customer = call.write(move |tx| usecase::replace(tx, &id, seen, &details)).await?;
    Ok(changed(&CustomerView::from(customer)))
}
