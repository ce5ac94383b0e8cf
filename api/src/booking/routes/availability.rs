//! When the signed work can be done, over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_domain::id::QuoteId;
use baywright_domain::schedule::{PlacedStep, Placement};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::booking::usecase::{self, MOST_OFFERS};
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Query;
use crate::platform::call::Call;
use crate::platform::clock::UtcTime;
use crate::platform::identity::Desk;
use crate::platform::problem::Problem;
use crate::platform::wire::{Instant, Reference};

/// From when, and how many.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct AvailabilityQuery {
    /// The earliest start that will do; now where it isn't said, or has passed.
    #[param(nullable = false)]
    from: Option<Instant>,
    /// How many times are wanted; 5 where it isn't said.
    #[param(minimum = 1, maximum = 20, nullable = false)]
    count: Option<usize>,
}

/// Times at which the signed work can be done.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Availability)]
pub(super) struct AvailabilityView {
    /// The earliest start that was asked for.
    from: Instant,
    /// Up to when it was looked; ask again from later on for more.
    until: Instant,
    /// The times, by start: of each the earliest finish there is, and of those the latest start, so that the car stands
    /// as briefly as can be. An empty list says that nothing fits.
    #[schema(max_items = 20)]
    times: Vec<OfferedTime>,
    /// Names of steps that nobody has all skills for; nothing is offered while there are any.
    #[schema(max_items = 400, value_type = Vec<crate::platform::wire::Line<200>>)]
    nobody_able: Vec<String>,
}

/// A time at which the work can be done.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct OfferedTime {
    /// The bay.
    bay_id: Reference,
    /// When the car takes it.
    start: Instant,
    /// When the work is done.
    finish: Instant,
    /// Who does what when, in the plan's order.
    #[schema(max_items = 400)]
    steps: Vec<OfferedStep>,
}

/// A step of an offered time.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct OfferedStep {
    /// The step's code.
    #[schema(max_length = 40, example = "wash")]
    code: String,
    /// Who works on it; null for a step without minutes.
    person_id: Option<Reference>,
    /// When, in order.
    #[schema(max_items = 200)]
    pieces: Vec<Stretch>,
}

/// A stretch of time.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Stretch {
    /// From when.
    start: Instant,
    /// Until when.
    finish: Instant,
}

impl From<Placement> for OfferedTime {
    fn from(placement: Placement) -> Self {
        Self {
            bay_id: Reference::from(&placement.bay),
            start: Instant(UtcTime::from_minute(placement.start)),
            finish: Instant(UtcTime::from_minute(placement.finish)),
            steps: placement.steps.into_iter().map(OfferedStep::from).collect(),
        }
    }
}

impl From<PlacedStep> for OfferedStep {
    fn from(step: PlacedStep) -> Self {
        let stretch = |piece: &baywright_domain::time::Interval| Stretch {
            start: Instant(UtcTime::from_minute(piece.from())),
            finish: Instant(UtcTime::from_minute(piece.to())),
        };
        Self {
            code: step.code,
            person_id: step.technician.as_ref().map(Reference::from),
            pieces: step.pieces.iter().map(stretch).collect(),
        }
    }
}

/// Ask when the signed work can be done.
///
/// Exact: of all ways to do the work that start at `from` or later, the one that finishes first; then the next that
/// starts a slot later, and so on. Ninety days are looked at.
#[utoipa::path(tag = "booking", params(("id" = Reference, Path, description = "The signed quote."), AvailabilityQuery),
    responses((status = 200, description = "The times.", body = AvailabilityView)))]
#[get("/v1/quotes/{id}/availability")]
pub(super) async fn availability(call: Call<Desk>, id: Path<String>, query: Query<AvailabilityQuery>) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let AvailabilityQuery { from, count } = query.0;
    let count = count.unwrap_or(5);
    if !(1..=MOST_OFFERS).contains(&count) {
        return Err(Problem::malformed(format!("count must be a whole number from 1 to {MOST_OFFERS}.")));
    }
    // A moment within a minute is asked from the next whole one on.
    let from = from.map(|at| at.0.plus_ms(59_999).minute());
    let offer = call.read(move |tx| usecase::availability(tx, &id, from, count)).await?;
    Ok(plain(&AvailabilityView {
        from: Instant(UtcTime::from_minute(offer.from)),
        until: Instant(UtcTime::from_minute(offer.until)),
        times: offer.placements.into_iter().map(OfferedTime::from).collect(),
        nobody_able: offer.nobody_able,
    }))
}
