//! Links over HTTP, for the desk.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_domain::id::LinkId;
use baywright_domain::signoff::Method;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, Link, Purpose};
use crate::platform::answer::{Answer, Page, page};
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::identity::Desk;
use crate::platform::wire::{Instant, Reference, Word};

/// Adds the routes.
pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(revoke);
}

crate::wire_words! { Purpose => "LinkPurpose" }

/// A way of signing as it travels.
type MethodWord = Word<Method>;

/// A purpose as it travels.
type PurposeWord = Word<Purpose>;

/// Which links are wanted.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct LinkFilter {
    /// Only links to the record of this id: a revision of a quote, or a variation.
    #[param(nullable = false)]
    subject_id: Option<Reference>,
}

/// A link that was given to a customer. Its secret is not kept.
#[derive(Debug, Serialize, ToSchema)]
struct LinkView {
    /// The link's id.
    id: Reference,
    /// What it is for.
    purpose: PurposeWord,
    /// The revision of a quote, or the variation, that it shows.
    subject_id: Reference,
    /// Sent to the customer, or handed over in person.
    method: MethodWord,
    /// The mail address it went to; null where it was handed over, or the customer was erased.
    #[schema(max_length = 254, example = "aoife@example.com")]
    contact: Option<String>,
    /// When it was made.
    sent_at: Instant,
    /// When it was first opened; null where it was not.
    first_opened_at: Option<Instant>,
    /// When it ends by itself.
    ends_at: Instant,
    /// When the customer answered on it.
    used_at: Option<Instant>,
    /// When it was taken back.
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

/// List links.
///
/// One page of the links that customers were given, newest first: to whom, until when, and whether they were opened.
#[utoipa::path(tag = "signoff", params(LinkFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page.", body = Page<LinkView>)))]
#[get("/v1/links")]
async fn list(call: Call<Desk>, list: List<LinkFilter>) -> Answer {
    let subject = list.filter.subject_id.map(Reference::into_string);
    let found = call.read(move |tx| usecase::links(tx, subject.as_deref(), &list.paging)).await?;
    Ok(page(&found.map(LinkView::from)))
}

/// Take a link back.
///
/// Whoever opens it from now on is told that it has ended; what was signed on it stays. Taking it back twice is the same
/// as once. Use it where a link went to the wrong address, and send the quote a new one.
#[utoipa::path(tag = "signoff", params(("id" = Reference, Path, description = "The link.")),
    responses((status = 200, description = "The link as it now stands.", body = LinkView)))]
#[post("/v1/links/{id}/revoke")]
async fn revoke(call: Call<Desk>, id: Path<String>) -> Answer {
    let id = LinkId::new(id.into_inner());
    call.change_unversioned(move |tx| Ok(LinkView::from(usecase::revoke(tx, &id)?))).await
}
