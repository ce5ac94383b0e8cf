//! Time when the signed work can be done, over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_core::booking::usecase::{self, Figured, Hindered, MOST_OFFERS, Promised, Question, Suggestion};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::identity::Desk;
use baywright_domain::id::QuoteId;
use baywright_domain::learning::Outlook;
use baywright_domain::menu::Code;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::{Hindrance, PlacedStep, Placement, Relief, SuggestionKind};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::rounded_up;
use super::view::StayView;
use crate::plan::HandsWord;
use crate::platform::answer::{Answer, plain};
use crate::platform::body::{Query, bad_parameter};
use crate::platform::call::Call;
use crate::platform::wire::{Instant, Reference, Word};

/// Search for free times: earliest start, latest finish and number of results.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct AvailabilityQuery {
    /// Earliest acceptable start, RFC 3339; the current time if left out or in the past.
    #[param(nullable = false)]
    from: Option<Instant>,
    /// Time by which the work should be done according to the diary, RFC 3339; must be later than `from` and than now.
    /// If no offered time is done by then, the answer says why and what would help.
    #[param(nullable = false)]
    by: Option<Instant>,
    /// Number of times to return; 5 if left out.
    #[param(minimum = 1, maximum = 20, nullable = false)]
    count: Option<usize>,
    /// Number of people who do the work: `ONE` or `TWO`; `ONE` if left out.
    #[param(nullable = false)]
    hands: Option<HandsWord>,
    /// Whether the car may be moved from bay to bay even if one bay has everything that its work needs; false if left
    /// out. If no bay has everything, it may in any case. The shop's terms limit the number of bays (`max_stays`).
    #[param(nullable = false)]
    may_move: Option<bool>,
}

/// Times at which the signed work can be done.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Availability)]
pub(super) struct AvailabilityView {
    /// Earliest start that was asked for, RFC 3339 in UTC.
    from: Instant,
    /// End of the period that was searched, RFC 3339 in UTC; ask again with a later `from` for more.
    until: Instant,
    /// Number of people who do the work: `ONE` or `TWO`; `ONE` if no step allows two.
    hands: HandsWord,
    /// Duration of the work by its budgets and as promised; null for plans made before this was stored.
    work: Option<WorkMinutes>,
    /// Offered times, by start. Each has the earliest possible finish and, for that finish, the latest start, so that
    /// the car stands in the bay as briefly as possible. Empty if nothing fits.
    #[schema(max_items = 20)]
    times: Vec<OfferedTime>,
    /// Reasons why no offered time is done by the requested time, or why there is no time at all.
    #[schema(max_items = 500)]
    reasons: Vec<ReasonView>,
    /// Finishes with each cause of a delay taken away, one by one; the first one is the finish as things are. None is
    /// later than that. Empty if a time is offered that is done by the requested time.
    #[schema(max_items = 100)]
    figures: Vec<FigureView>,
    /// Alternatives with their times, smallest change first.
    #[schema(max_items = 100)]
    suggestions: Vec<SuggestionView>,
}

/// Duration of the work, without changeovers and waits.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct WorkMinutes {
    /// Sum of the budgets, in minutes; the diary uses it to find places.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 480)]
    budget_minutes: u32,
    /// Median duration, in minutes: half of all jobs take longer.
    #[schema(minimum = 0, maximum = 4_294_967_295_u64, example = 510)]
    median_minutes: u32,
    /// Share of jobs, in percent, that need no more work than is promised.
    #[schema(minimum = 50, maximum = 99, example = 80)]
    promise_percent: u8,
    /// Promised duration, in minutes: `promise_percent` percent of all jobs take no longer.
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

/// A kind of reason as it is sent over HTTP.
type HindranceWord = Word<Hindrance>;

/// Reason why the work is not done in time.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = AvailabilityReason)]
pub(super) struct ReasonView {
    /// Kind of reason, such as `BAY_HELD` for a bay with other cars or `NOT_FREE_TOGETHER` if bays and people are never
    /// free together for long enough.
    kind: HindranceWord,
    /// Reason as a sentence, with times in the shop's time zone.
    #[schema(max_length = 1000, example = "Bay 2 is not free for long enough before Tue 3 March 2026, 09:30.")]
    text: String,
    /// Code of the step that the reason concerns; null if it concerns no single step.
    #[schema(max_length = 40, example = "wet-sand")]
    step: Option<String>,
    /// Id of the bay that the reason concerns; null if it concerns no single bay.
    bay_id: Option<Reference>,
    /// Time until which the reason applies, RFC 3339 in UTC; null if unknown or later than the searched period.
    until: Option<Instant>,
}

/// A cause that is taken away as it is sent over HTTP.
type ReliefWord = Word<Relief>;

/// Finish of the work with one cause of a delay taken away: what that cause costs is the difference to the finish as
/// things are. Two causes may hide each other, and then only a figure without both gains anything.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = AvailabilityFigure)]
pub(super) struct FigureView {
    /// Cause that is taken away: none (`AS_IS`), the other cars (`BAYS_EMPTY`), everybody's other work (`EVERYONE_FREE`),
    /// both (`NOTHING_BOOKED`), absences and hours off (`EVERYONE_IN`), closures (`NO_CLOSURES`), the car's other bookings
    /// (`CAR_FREE`), a limit on moves from bay to bay (`WITH_MOVES`) or one service (`WITHOUT`).
    kind: ReliefWord,
    /// Code of the service that is left out; null for other causes.
    #[schema(max_length = 40, example = "coating")]
    without: Option<String>,
    /// Time when the work would be done, RFC 3339 in UTC; null if it would not be done in the searched period.
    finish: Option<Instant>,
    /// Figure as a sentence, with its time in the shop's time zone.
    #[schema(
        max_length = 1000,
        example = "With no other car in any bay the work would be done Tue 3 March 2026, 09:30."
    )]
    text: String,
}

impl From<Figured> for FigureView {
    fn from(figure: Figured) -> Self {
        Self {
            kind: Word(figure.relief),
            without: figure.without.map(|code| code.to_string()),
            finish: figure.finish.map(|at| Instant(UtcTime::from_minute(at))),
            text: figure.text,
        }
    }
}

/// A kind of alternative as it is sent over HTTP.
type SuggestionWord = Word<SuggestionKind>;

/// Alternative to the requested work or time. Asking books and changes nothing; other work needs a new revision of the
/// quote.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = AvailabilitySuggestion)]
pub(super) struct SuggestionView {
    /// Kind of alternative: the work at a later time (`LATER`), with the car moved from bay to bay (`WITH_MOVES`), in two
    /// visits (`TWO_VISITS`) or without one service (`WITHOUT`). To book one with moves, allow them with `may_move`; a shop
    /// whose terms allow one bay only has to change them first (`max_stays`).
    kind: SuggestionWord,
    /// Code of the service that is left out; null for other kinds.
    #[schema(max_length = 40, example = "coating")]
    without: Option<String>,
    /// Code of the step with which the second visit begins; null for other kinds. The car may need another wash then.
    #[schema(max_length = 40, example = "coat")]
    second_begins_with: Option<String>,
    /// Time of the visit, or of both visits.
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

impl From<Suggestion> for SuggestionView {
    fn from(suggestion: Suggestion) -> Self {
        let view = |kind, without: Option<Code>, second: Option<Code>, visits: Vec<OfferedTime>| Self {
            kind: Word(kind),
            without: without.map(|code| code.to_string()),
            second_begins_with: second.map(|code| code.to_string()),
            visits,
        };
        match suggestion {
            Suggestion::Later(visit) => view(SuggestionKind::Later, None, None, vec![visit.into()]),
            Suggestion::WithMoves(visit) => view(SuggestionKind::WithMoves, None, None, vec![visit.into()]),
            Suggestion::TwoVisits(second, visits) => {
                view(SuggestionKind::TwoVisits, None, Some(second), visits.map(OfferedTime::from).into())
            }
            Suggestion::Without(left_out, visit) => {
                view(SuggestionKind::Without, Some(left_out), None, vec![visit.into()])
            }
        }
    }
}

/// Offered time for the work: a start in a bay, with its finish.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct OfferedTime {
    /// Id of the bay; of the first one, if the car is moved from bay to bay.
    bay_id: Reference,
    /// Bays in which the car is, one after another from start to finish. Several if it is moved while the work is done:
    /// each move takes place when the first step in the next bay begins, and that step takes longer by it.
    #[schema(min_items = 1, max_items = 10)]
    stays: Vec<StayView>,
    /// Time when the car takes the bay, RFC 3339 in UTC.
    start: Instant,
    /// Time when the work is done by its budgets and the last bay becomes free, RFC 3339 in UTC.
    finish: Instant,
    /// Finish that the customer would be promised: `finish` and a margin for longer work, within the bay's opening
    /// hours, RFC 3339 in UTC. Null for alternatives with other work or two visits, because they have no plan.
    promised: Option<Instant>,
    /// Steps with people and times, in the order in which they are done: the plan's own, or another one of its front if
    /// that finishes sooner.
    #[schema(max_items = 400)]
    steps: Vec<OfferedStep>,
}

/// Step of an offered time.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct OfferedStep {
    /// Code of the step.
    #[schema(max_length = 40, example = "wash")]
    code: String,
    /// Id of the person who works on the step; null for a step without minutes.
    person_id: Option<Reference>,
    /// Id of the person who helps during the whole step; null if the step is done by one person.
    helper_id: Option<Reference>,
    /// Periods in which the step is done, in order.
    #[schema(max_items = 200)]
    pieces: Vec<Stretch>,
}

/// Period of time with its start and end.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Stretch {
    /// Start of the period, RFC 3339 in UTC.
    start: Instant,
    /// End of the period, RFC 3339 in UTC.
    finish: Instant,
}

impl From<Visit> for OfferedTime {
    fn from(visit: Visit) -> Self {
        let first = visit.stays.first().map_or("", |stay| stay.bay.as_str());
        Self {
            bay_id: Reference::from(&first),
            stays: visit.stays.iter().map(|stay| StayView::of(&stay.bay, stay.from, stay.to)).collect(),
            start: Instant(UtcTime::from_minute(visit.start)),
            finish: Instant(UtcTime::from_minute(visit.finish)),
            promised: None,
            steps: visit.steps.into_iter().map(OfferedStep::from).collect(),
        }
    }
}

impl From<Placement> for OfferedTime {
    fn from(placement: Placement) -> Self {
        Self::from(Visit::from(placement))
    }
}

impl From<Promised> for OfferedTime {
    fn from(time: Promised) -> Self {
        let promised = Some(Instant(UtcTime::from_minute(time.at)));
        Self { promised, ..Self::from(time.visit) }
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

/// Find times for the signed work.
///
/// The search is exact: of all ways to do the work that start at `from` or later, it returns the one that finishes
/// first, then the next one that starts at least one slot later, and so on. It covers ninety days. If the quote has a
/// place already, that place counts as free, because the booking would be moved; places of the same car for other
/// quotes count as taken. If no time is done by `by`, or none is found at all, the answer says why, what each cause costs
/// in time, and which alternatives are possible: later, with a move from bay to bay, in two visits, or without a service. With two people,
/// the steps that allow it are shorter and need both people at once, one of whom has the step's skills. If no bay has
/// everything that the work needs, the car is moved from bay to bay, as often as the shop's terms allow; each step is
/// done in a bay that has what the step needs, and no car is moved while something cures on it.
#[utoipa::path(tag = "booking",
    params(("id" = Reference, Path, description = "Id of the signed quote."), AvailabilityQuery),
    responses((status = 200, description = "Times at which the work can be done.", body = AvailabilityView),
        (status = 409, description = "Nothing is signed, or the signed lines need no work time."),
        (status = 422, description = "The time `by` is not later than now, or not later than `from`.")))]
#[get("/v1/quotes/{id}/availability")]
pub(super) async fn availability(call: Call<Desk>, id: Path<String>, query: Query<AvailabilityQuery>) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let AvailabilityQuery { from, by, count, hands, may_move } = query.0;
    let count = count.unwrap_or(5);
    if !(1..=MOST_OFFERS).contains(&count) {
        return Err(bad_parameter("count", format!("count: write a whole number from 1 to {MOST_OFFERS}.")));
    }
    let question = Question {
        from: from.map(rounded_up),
        by: by.map(|at| at.0.minute()),
        count,
        hands: hands.unwrap_or_default().0,
        may_move: may_move.unwrap_or_default(),
    };
    let offer = call.read(move |tx| usecase::availability(tx, &id, question)).await?;
    Ok(plain(&AvailabilityView {
        from: Instant(UtcTime::from_minute(offer.from)),
        until: Instant(UtcTime::from_minute(offer.until)),
        hands: Word(offer.hands),
        work: offer.outlook.as_ref().map(WorkMinutes::from),
        times: offer.times.into_iter().map(OfferedTime::from).collect(),
        reasons: offer.reasons.into_iter().map(ReasonView::from).collect(),
        figures: offer.figures.into_iter().map(FigureView::from).collect(),
        suggestions: offer.suggestions.into_iter().map(SuggestionView::from).collect(),
    }))
}
