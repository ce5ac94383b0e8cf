//! When the signed work can be done, over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_domain::id::QuoteId;
use baywright_domain::learning::Outlook;
use baywright_domain::menu::Code;
use baywright_domain::schedule::{Hindrance, Lenience, PlacedStep, Placement};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::booking::usecase::{self, Hindered, MOST_OFFERS, Promised, Question, Relaxation};
use crate::plan::form::HandsWord;
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Query;
use crate::platform::call::Call;
use crate::platform::clock::UtcTime;
use crate::platform::identity::Desk;
use crate::platform::problem::Problem;
use crate::platform::wire::{Instant, Reference, Word};

/// From when, and how many.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct AvailabilityQuery {
    /// The earliest start that will do; now where it isn't said, or has passed.
    #[param(nullable = false)]
    from: Option<Instant>,
    /// When the work is wanted to be done, as the diary has it: later than `from` and than now. If no time is done by then,
    /// the answer says why and what would help.
    #[param(nullable = false)]
    by: Option<Instant>,
    /// How many times are wanted; 5 where it isn't said.
    #[param(minimum = 1, maximum = 20, nullable = false)]
    count: Option<usize>,
    /// How many pairs of hands do the work; ONE where it isn't said.
    #[param(nullable = false)]
    hands: Option<HandsWord>,
}

/// Times at which the signed work can be done.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Availability)]
pub(super) struct AvailabilityView {
    /// The earliest start that was asked for.
    from: Instant,
    /// Up to when it was looked; ask again from later on for more.
    until: Instant,
    /// How many pairs of hands do the work; ONE where no step allows two.
    hands: HandsWord,
    /// How long the work is by its budgets, and how long it may take; null in plans made before that was kept.
    work: Option<WorkMinutes>,
    /// The times, by start: of each the earliest finish there is, and of those the latest start, so that the car stands
    /// as briefly as can be. An empty list says that nothing fits.
    #[schema(max_items = 20)]
    times: Vec<OfferedTime>,
    /// Why none of the times is done by the time wanted, or why there is none at all.
    #[schema(max_items = 500)]
    reasons: Vec<ReasonView>,
    /// What could be done instead, and when; the least change first.
    #[schema(max_items = 100)]
    relaxations: Vec<RelaxationView>,
}

/// How long the work is, without changeovers and waits.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct WorkMinutes {
    /// The sum of the budgets, by which places are found.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 480)]
    budget_minutes: u32,
    /// Every second job takes longer than that.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 510)]
    median_minutes: u32,
    /// How many of a hundred jobs need no more work than is promised.
    #[schema(minimum = 50, maximum = 99, example = 80)]
    promise_percent: u8,
    /// So many of a hundred jobs take no longer than that.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 590)]
    promised_minutes: u32,
}

impl From<&Outlook> for WorkMinutes {
    fn from(outlook: &Outlook) -> Self {
        Self {
            budget_minutes: outlook.budget.get(),
            median_minutes: outlook.median.get(),
            promise_percent: outlook.quantile.percent(),
            promised_minutes: outlook.promised.get(),
        }
    }
}

/// A kind of reason as it travels.
type HindranceWord = Word<Hindrance>;

crate::wire_words! { Hindrance => "Hindrance", Lenience => "Relaxation" }

/// Why the work is not done in time.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = AvailabilityReason)]
pub(super) struct ReasonView {
    /// The kind of reason.
    kind: HindranceWord,
    /// The reason in a sentence, with times of the studio's clock.
    #[schema(max_length = 1000, example = "Bay 2 is not free for long enough before Tue 3 March 2026, 09:30.")]
    text: String,
    /// The code of the step that it speaks of.
    #[schema(max_length = 40, example = "wet-sand")]
    step: Option<String>,
    /// The bay that it speaks of.
    bay_id: Option<Reference>,
    /// Until when it stands in the way; null also where that is later than was looked.
    until: Option<Instant>,
}

/// A kind of relaxation as it travels.
type RelaxationWord = Word<Lenience>;

/// What could be done instead, and when. Nothing is booked or changed by asking; other work needs a new revision.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = AvailabilityRelaxation)]
pub(super) struct RelaxationView {
    /// What is different.
    kind: RelaxationWord,
    /// The code of the service that is left out; null elsewhere.
    #[schema(max_length = 40, example = "coating")]
    without: Option<String>,
    /// The code of the step with which the second visit begins; null elsewhere. The car may need another wash then.
    #[schema(max_length = 40, example = "coat")]
    second_begins_with: Option<String>,
    /// One visit, or two.
    #[schema(max_items = 2)]
    visits: Vec<OfferedTime>,
}

impl From<Hindered> for ReasonView {
    fn from(reason: Hindered) -> Self {
        Self {
            kind: Word(reason.kind),
            text: reason.text,
            step: reason.step.map(|code| code.to_string()),
            bay_id: reason.bay.as_ref().map(Reference::from),
            until: reason.until.map(|at| Instant(UtcTime::from_minute(at))),
        }
    }
}

impl From<Relaxation> for RelaxationView {
    fn from(relaxation: Relaxation) -> Self {
        let view = |kind, without: Option<Code>, second: Option<Code>, visits: Vec<OfferedTime>| Self {
            kind: Word(kind),
            without: without.map(|code| code.to_string()),
            second_begins_with: second.map(|code| code.to_string()),
            visits,
        };
        match relaxation {
            Relaxation::Later(visit) => view(Lenience::Later, None, None, vec![visit.into()]),
            Relaxation::TwoVisits(second, visits) => {
                view(Lenience::TwoVisits, None, Some(second), visits.map(OfferedTime::from).into())
            }
            Relaxation::Without(left_out, visit) => view(Lenience::Without, Some(left_out), None, vec![visit.into()]),
        }
    }
}

/// A time at which the work can be done.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct OfferedTime {
    /// The bay.
    bay_id: Reference,
    /// When the car takes it.
    start: Instant,
    /// When the work is done by its budgets; the bay is free from then on.
    finish: Instant,
    /// What the customer would be promised: `finish` and what the work may take longer, while the bay is open. Null for
    /// other work and for two visits, whose plans aren't made.
    promised: Option<Instant>,
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
    /// Who helps them for all of it; null at a step for one.
    helper_id: Option<Reference>,
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
            promised: None,
            steps: placement.steps.into_iter().map(OfferedStep::from).collect(),
        }
    }
}

impl From<Promised> for OfferedTime {
    fn from(time: Promised) -> Self {
        let promised = Some(Instant(UtcTime::from_minute(time.at)));
        Self { promised, ..Self::from(time.placement) }
    }
}

impl From<PlacedStep> for OfferedStep {
    fn from(step: PlacedStep) -> Self {
        let stretch = |piece: &baywright_domain::time::Interval| Stretch {
            start: Instant(UtcTime::from_minute(piece.from())),
            finish: Instant(UtcTime::from_minute(piece.to())),
        };
        Self {
            person_id: step.leads().as_ref().map(Reference::from),
            helper_id: step.helps().as_ref().map(Reference::from),
            code: step.code,
            pieces: step.pieces.iter().map(stretch).collect(),
        }
    }
}

/// Ask when the signed work can be done.
///
/// Exact: of all ways to do the work that start at `from` or later, the one that finishes first; then the next that
/// starts a slot later, and so on. Ninety days are looked at. If the quote has a place already, that place counts as free,
/// because the booking would be moved; places of the same car for other quotes don't. If no time is done by `by`, or none
/// is found at all, the answer says what stands in the way and what would be possible instead: later, in two visits, without
/// a service. With two pairs of hands the steps that allow it are shorter and take two people at once, one of whom has the
/// step's skills.
#[utoipa::path(tag = "booking", params(("id" = Reference, Path, description = "The signed quote."), AvailabilityQuery),
    responses((status = 200, description = "The times.", body = AvailabilityView),
        (status = 409, description = "Nothing is signed, or nothing that takes time.")))]
#[get("/v1/quotes/{id}/availability")]
pub(super) async fn availability(call: Call<Desk>, id: Path<String>, query: Query<AvailabilityQuery>) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let AvailabilityQuery { from, by, count, hands } = query.0;
    let count = count.unwrap_or(5);
    if !(1..=MOST_OFFERS).contains(&count) {
        return Err(Problem::malformed(format!("count must be a whole number from 1 to {MOST_OFFERS}.")));
    }
    // A moment within a minute is asked from the next whole one on.
    let from = from.map(|at| at.0.plus_ms(59_999).minute());
    let question = Question { from, by: by.map(|at| at.0.minute()), count, hands: hands.unwrap_or_default().0 };
    let offer = call.read(move |tx| usecase::availability(tx, &id, question)).await?;
    Ok(plain(&AvailabilityView {
        from: Instant(UtcTime::from_minute(offer.from)),
        until: Instant(UtcTime::from_minute(offer.until)),
        hands: Word(offer.hands),
        work: offer.outlook.as_ref().map(WorkMinutes::from),
        times: offer.times.into_iter().map(OfferedTime::from).collect(),
        reasons: offer.reasons.into_iter().map(ReasonView::from).collect(),
        relaxations: offer.relaxations.into_iter().map(RelaxationView::from).collect(),
    }))
}
