//! Links over HTTP, for the desk.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::platform::identity::Desk;
use baywright_core::signoff::usecase::{self, Link, Purpose};
use baywright_domain::id::LinkId;
use baywright_domain::signoff::Method;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Page, page};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::wire::{Instant, Reference, Word};

/// Adds the routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(revoke);
}

/// A way of signing as it is sent over HTTP.
type MethodWord = Word<Method>;

/// A purpose of a link as it is sent over HTTP.
type PurposeWord = Word<Purpose>;

/// Conditions for the list of links.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct LinkFilter {
    /// Limits the list to links to the record with this id: a revision of a quote, a variation, or the quote of a stay.
    #[param(nullable = false)]
    subject_id: Option<Reference>,
}

/// Link that was given to a customer, without its secret, which is not stored.
#[derive(Debug, Serialize, ToSchema)]
struct LinkView {
    /// Id of the link.
    id: Reference,
    /// Purpose of the link: to sign a quote or a variation, or to follow the stay of a car.
    purpose: PurposeWord,
    /// Id of the quote's revision, or of the variation, that the link shows; for a stay, the id of its quote.
    subject_id: Reference,
    /// Kind of link: sent to the customer, or for signing in person.
    method: MethodWord,
    /// Recipient of the link, such as an email address; null if the customer signs in person, or was erased.
    #[schema(max_length = 254, example = "aoife@example.com")]
    contact: Option<String>,
    /// Time when the link was created, RFC 3339 in UTC.
    sent_at: Instant,
    /// Time when the link was first opened, RFC 3339 in UTC; null if it was not.
    first_opened_at: Option<Instant>,
    /// Time when the link ends, RFC 3339 in UTC.
    ends_at: Instant,
    /// Time when the customer answered through the link, RFC 3339 in UTC; null before.
    used_at: Option<Instant>,
    /// Time when the link was revoked, RFC 3339 in UTC; null if it was not.
    revoked_at: Option<Instant>,
}

impl From<Link> for LinkView {
    fn from(link: Link) -> Self {
        Self {
            id: Reference::from(&link.id),
            purpose: Word(link.subject.purpose),
            subject_id: Reference::from(&link.subject.id),
            method: Word(link.method),
            contact: Some(link.contact).filter(|contact| !contact.is_empty()),
            sent_at: Instant(link.sent_at),
            first_opened_at: link.first_opened_at.map(Instant),
            ends_at: Instant(link.ends_at),
            used_at: link.used_at.map(Instant),
            revoked_at: link.revoked_at.map(Instant),
        }
    }
}

/// List the links.
///
/// Returns one page of the links that customers were given, newest first, with recipients, end times and when they were
/// opened.
#[utoipa::path(tag = "signoff", params(LinkFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of links.", body = Page<LinkView>)))]
#[get("/v1/links")]
async fn list(call: Call<Desk>, list: List<LinkFilter>) -> Answer {
    let subject = list.filter.subject_id.map(Reference::into_string);
    let found = call.read(move |tx| usecase::links(tx, subject.as_deref(), &list.paging)).await?;
    Ok(page(&list.links, found.map(LinkView::from)))
}

/// Revoke a link.
///
/// Anyone who opens the link from now on reads that it has ended; documents signed through it stay signed. Revoking a
/// link again changes nothing. Use it if a link went to the wrong address, then send the quote again.
#[utoipa::path(tag = "signoff", params(("id" = Reference, Path, description = "Id of the link.")),
    responses((status = 200, description = "The link after the change.", body = LinkView)))]
#[post("/v1/links/{id}/revoke")]
async fn revoke(call: Call<Desk>, id: Path<String>) -> Answer {
    let id = LinkId::new(id.into_inner());
    call.change_unversioned(move |tx| Ok(LinkView::from(usecase::revoke(tx, &id)?))).await
}
