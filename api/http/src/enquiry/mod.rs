//! Enquiries over HTTP.

mod body;
mod view;

use actix_web::web::Path;
use actix_web::{get, post, put};
use baywright_core::enquiry::usecase::{self, Wanted};
use baywright_core::platform::identity::Desk;
use baywright_domain::customer::CustomerKind;
use baywright_domain::enquiry::{Channel, CloseReason, EnquiryState};
use baywright_domain::id::{CustomerId, EnquiryId};
use serde::Deserialize;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Reference, Word, Words};
pub use body::{AddCustomerBody, CloseBody, EnquiryBody, QuotedBody};
pub use view::EnquiryView;

/// A channel as it is sent over HTTP; the API document's derive reads a plain name better than one with parameters.
type ChannelWord = Word<Channel>;
/// A reason for closing as it is sent over HTTP.
type ReasonWord = Word<CloseReason>;
/// A state as it is sent over HTTP.
type StateWord = Word<EnquiryState>;
/// A kind of customer as it is sent over HTTP.
type KindWord = Word<CustomerKind>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list)
        .service(take)
        .service(show)
        .service(replace)
        .service(add_customer)
        .service(quoted)
        .service(close);
}

type StateWords = Words<EnquiryState>;

/// Conditions for the list of enquiries.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct EnquiryFilter {
    /// Limits the list to enquiries in one of these states.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    state: StateWords,
    /// Limits the list to enquiries of the customer with this id.
    #[param(inline, nullable = false)]
    customer_id: Option<Reference>,
}

/// List the enquiries.
///
/// Returns one page of enquiries, newest first.
#[utoipa::path(tag = "enquiry", params(EnquiryFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of enquiries.", body = Page<EnquiryView>)))]
#[get("/v1/enquiries")]
async fn list(call: Call<Desk>, list: List<EnquiryFilter>) -> Answer {
    let wanted = Wanted {
        states: list.filter.state.0,
        customer: list.filter.customer_id.map(|id| CustomerId::new(id.into_string())),
    };
    let found = call.read(move |tx| usecase::list(tx, &wanted, &list.paging)).await?;
    Ok(page(&list.links, found.map(EnquiryView::from)))
}

/// Record an enquiry.
///
/// Stores that somebody called, came by or wrote. They need not be a customer yet, but there must be a way to answer
/// them. If the caller's telephone number, email address or name is that of a customer, a warning `known-caller` names
/// the customer. A date more than a year ahead in `wanted_by` needs the confirmation `far-ahead`.
#[utoipa::path(tag = "enquiry", request_body = EnquiryBody,
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["far-ahead"]))),
    responses((status = 201, description = "The new enquiry.", body = EnquiryView)))]
#[post("/v1/enquiries")]
async fn take(call: Call<Desk>, _: IdempotencyKey, body: Body<EnquiryBody>) -> Answer {
    let details = body.value.checked()?;
    call.create(move |tx| {
        let enquiry = usecase::take(tx, &details)?;
        Ok(Created { location: format!("/v1/enquiries/{}", enquiry.id), view: EnquiryView::from(enquiry) })
    })
    .await
}

/// Read an enquiry.
#[utoipa::path(tag = "enquiry", params(("id" = Reference, Path, description = "Id of the enquiry.")),
    responses((status = 200, description = "The requested enquiry.", body = EnquiryView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/enquiries/{id}")]
async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let enquiry = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&EnquiryView::from(enquiry), &known))
}

/// Replace the details of an enquiry.
///
/// Use it also to name the customer and the vehicle once they are known. Fields that are left out become empty. A new
/// date more than a year ahead in `wanted_by` needs the confirmation `far-ahead`.
#[utoipa::path(tag = "enquiry", request_body = EnquiryBody,
    params(("id" = Reference, Path, description = "Id of the enquiry.")),
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["far-ahead"]))),
    responses((status = 200, description = "The enquiry after the change.", body = EnquiryView)))]
#[put("/v1/enquiries/{id}")]
async fn replace(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<EnquiryBody>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let details = body.value.checked()?;
    call.change(move |tx| Ok(EnquiryView::from(usecase::replace(tx, &id, seen, &details)?))).await
}

/// Make the caller a customer.
///
/// Adds a customer with the caller's name, email address and telephone number, and with the consents given at the
/// enquiry. If a customer with that telephone number, email address or name is known, the answer is 409
/// `known-customer`, whose `known` names them: name that customer in the enquiry, or confirm that this is somebody
/// else.
#[utoipa::path(tag = "enquiry", request_body = AddCustomerBody,
    params(("id" = Reference, Path, description = "Id of the enquiry.")),
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["known-customer"]))),
    responses((status = 200, description = "The enquiry after the change.", body = EnquiryView)))]
#[post("/v1/enquiries/{id}/add-customer")]
async fn add_customer(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<AddCustomerBody>,
) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let kind = body.value.kind();
    call.change(move |tx| Ok(EnquiryView::from(usecase::add_customer(tx, &id, seen, kind)?))).await
}

/// Link a quote to the enquiry that led to it.
///
/// The enquiry takes over the quote's customer and vehicle if it had none.
#[utoipa::path(tag = "enquiry", request_body = QuotedBody,
    params(("id" = Reference, Path, description = "Id of the enquiry.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The enquiry after the change.", body = EnquiryView)))]
#[post("/v1/enquiries/{id}/quoted")]
async fn quoted(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<QuotedBody>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let quote = body.value.quote();
    call.change(move |tx| Ok(EnquiryView::from(usecase::quoted(tx, &id, seen, &quote)?))).await
}

/// Close an enquiry.
///
/// Ends the enquiry for good. A new call is a new enquiry.
#[utoipa::path(tag = "enquiry", request_body = CloseBody,
    params(("id" = Reference, Path, description = "Id of the enquiry.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The enquiry after the change.", body = EnquiryView)))]
#[post("/v1/enquiries/{id}/close")]
async fn close(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<CloseBody>) -> Answer {
    let id = EnquiryId::new(id.into_inner());
    let (reason, note) = body.value.said();
    call.change(move |tx| Ok(EnquiryView::from(usecase::close(tx, &id, seen, reason, &note)?))).await
}
