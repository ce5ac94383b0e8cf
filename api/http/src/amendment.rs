//! Amendments over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_core::amendment::usecase::{self, Amendment, What};
use baywright_core::booking;
use baywright_core::platform::identity::Desk;
use baywright_domain::id::BookingId;
use baywright_domain::undo::AmendmentKind;
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, plain};
use crate::platform::call::Call;
use crate::platform::wire::{Instant, Reference, Word};

/// An amendment's kind as it is sent over HTTP.
type KindWord = Word<AmendmentKind>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list);
}

/// Later correction of a booking or its work.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Amendment)]
pub struct AmendmentView {
    /// Id of the amendment.
    #[schema(max_length = 36)]
    id: String,
    /// Kind of amendment: a move was undone, times were corrected, or a wait was ended early.
    kind: KindWord,
    /// Code of the step that the amendment concerns; null for the booking itself.
    #[schema(max_length = 40, example = "wash")]
    step: Option<String>,
    /// Move that was undone, such as ARRIVE or FINISH; null for other kinds.
    #[schema(max_length = 40, example = "ARRIVE")]
    undone: Option<String>,
    /// Time when the undone move had been made, RFC 3339 in UTC; null for other kinds.
    made_at: Option<Instant>,
    /// Id of the person who made the amendment; null if a command of the program made it.
    person_id: Option<Reference>,
    /// Reason for the amendment; null if none was needed, and after the customer was erased.
    #[schema(max_length = 500, example = "Tapped the wrong car.")]
    reason: Option<String>,
    /// Time of the amendment, RFC 3339 in UTC.
    at: Instant,
}

/// Later corrections of a booking and its work.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Amendments)]
pub struct AmendmentsView {
    /// Amendments, latest first; at most the latest 500.
    #[schema(max_items = 500)]
    items: Vec<AmendmentView>,
}

impl From<Amendment> for AmendmentView {
    fn from(amendment: Amendment) -> Self {
        let kind = Word(amendment.what.kind());
        let (undone, made_at) = match amendment.what {
            What::Undone { what, made_at } => (Some(what), Some(Instant(made_at))),
            What::TimesCorrected | What::WaitEnded => (None, None),
        };
        Self {
            id: amendment.id,
            kind,
            step: amendment.step,
            undone,
            made_at,
            person_id: amendment.person.as_ref().map(Reference::from),
            reason: amendment.reason,
            at: Instant(amendment.at),
        }
    }
}

/// List the amendments of a booking.
///
/// Lists the moves of the booking and of its steps that were undone, times that were corrected and waits that were
/// ended early, each with the person and the reason. Latest first.
#[utoipa::path(tag = "amendment", params(("id" = Reference, Path, description = "Id of the booking.")),
    responses((status = 200, description = "Amendments of the booking.", body = AmendmentsView)))]
#[get("/v1/bookings/{id}/amendments")]
async fn list(call: Call<Desk>, id: Path<String>) -> Answer {
    let id = BookingId::new(id.into_inner());
    let found = call.read(move |tx| {
        booking::usecase::show(tx, &id)?;
        usecase::of_booking(tx, &id)
    });
    let found = found.await?;
    Ok(plain(&AmendmentsView { items: found.into_iter().map(AmendmentView::from).collect() }))
}
