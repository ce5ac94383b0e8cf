//! Customers over HTTP.

mod body;
mod view;

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_core::customer::usecase::{self, Wanted};
use baywright_core::platform::identity::Desk;
use baywright_domain::customer::{ConsentKind, CustomerKind};
use baywright_domain::document::Prices;
use baywright_domain::id::CustomerId;
use baywright_domain::merge::RecordState;
use serde::Deserialize;

use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Email, Line, Reference, Word, Words};
pub use body::CustomerBody;
pub use view::CustomerView;

/// A kind of customer as it is sent over HTTP; the API document's derive reads a plain name better than one with
/// parameters.
type KindWord = Word<CustomerKind>;
/// A kind of consent as it is sent over HTTP.
type ConsentWord = Word<ConsentKind>;
/// A price display as it is sent over HTTP.
type PricesWord = Word<Prices>;

/// State of a record as it is sent over HTTP.
pub type StateWord = Word<RecordState>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(create).service(show).service(replace);
}

type KindWords = Words<CustomerKind>;

/// Conditions for the list of customers.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct CustomerFilter {
    /// Limits the list to customers of one of these kinds.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    kind: KindWords,
    /// Limits the list to the customer with this customer number of the shop's own.
    #[param(inline, nullable = false)]
    reference: Option<Line<40>>,
    /// Limits the list to customers with this email address.
    #[param(inline, nullable = false)]
    email: Option<Email>,
}

impl From<CustomerFilter> for Wanted {
    fn from(filter: CustomerFilter) -> Self {
        Self {
            kinds: filter.kind.0,
            reference: filter.reference.map(String::from),
            email: filter.email.map(String::from),
        }
    }
}

/// List the customers.
///
/// Returns one page of customers, newest first.
#[utoipa::path(tag = "customer", params(CustomerFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of customers.", body = Page<CustomerView>)))]
#[get("/v1/customers")]
async fn list(call: Call<Desk>, list: List<CustomerFilter>) -> Answer {
    let wanted = Wanted::from(list.filter);
    let found = call.read(move |tx| usecase::list(tx, &wanted, &list.paging)).await?;
    Ok(page(&list.links, found.map(CustomerView::from)))
}

/// Add a customer.
///
/// Private customers see prices with tax and trade customers before tax, unless `prices` says otherwise. If a customer
/// with this telephone number, email address or name is known, the answer is 409 `known-customer`, whose `known` names
/// them: use that customer, or confirm that this is somebody else.
#[utoipa::path(tag = "customer", request_body = CustomerBody,
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["known-customer"]))),
    responses((status = 201, description = "The new customer.", body = CustomerView)))]
#[post("/v1/customers")]
async fn create(call: Call<Desk>, _: IdempotencyKey, body: Body<CustomerBody>) -> Answer {
    let (details, consents) = body.value.checked()?;
    call.create(move |tx| {
        let customer = usecase::add(tx, &details, &consents)?;
        Ok(Created { location: format!("/v1/customers/{}", customer.id), view: CustomerView::from(customer) })
    })
    .await
}

/// Read a customer.
///
/// A record that was merged into another one says so in `state` and `merged_into`.
#[utoipa::path(tag = "customer", params(("id" = Reference, Path, description = "Id of the customer.")),
    responses((status = 200, description = "The requested customer.", body = CustomerView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/customers/{id}")]
async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = CustomerId::new(id.into_inner());
    let customer = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&CustomerView::from(customer), &known))
}

/// Replace the details of a customer.
///
/// Consents that are no longer listed are withdrawn; the record keeps them with both times.
#[utoipa::path(tag = "customer", request_body = CustomerBody,
    params(("id" = Reference, Path, description = "Id of the customer.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The customer after the change.", body = CustomerView)))]
#[put("/v1/customers/{id}")]
async fn replace(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<CustomerBody>) -> Answer {
    let id = CustomerId::new(id.into_inner());
    let (details, consents) = body.value.checked()?;
    call.change(move |tx| Ok(CustomerView::from(usecase::replace(tx, &id, seen, &details, &consents)?))).await
}
