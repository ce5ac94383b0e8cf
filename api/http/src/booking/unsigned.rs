//! First times for work that nobody has signed, over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::booking::usecase::{self, ChoiceTimes, Question};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::Fail;
use baywright_core::platform::identity::Desk;
use baywright_domain::id::QuoteId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::availability::{FigureView, OfferedTime, ReasonView, WorkMinutes};
use super::rounded_up;
use crate::menu::price::PriceBody;
use crate::plan::HandsWord;
use crate::platform::answer::{Answer, plain};
use crate::platform::body::{Body, Query};
use crate::platform::call::Call;
use crate::platform::wire::{Instant, Reference, Whole, Word};

/// Search for the first times at which services and packages of the menu can be done.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FirstTimesBody {
    /// Services and packages, and the car that they are for.
    choice: PriceBody,
    /// Earliest acceptable start, RFC 3339; the current time if null, left out or in the past.
    #[serde(default)]
    from: Option<Instant>,
    /// Time by which the work should be done according to the diary, RFC 3339; null or left out if there is none. It must
    /// be later than `from` and than now. If no time is done by then, the answer says why.
    #[serde(default)]
    by: Option<Instant>,
    /// Number of times to return; 5 if left out.
    #[serde(default = "five")]
    #[schema(required = false, example = 5)]
    count: Whole<1, 20>,
    /// Number of people who do the work: `ONE` or `TWO`; `ONE` if left out.
    #[serde(default)]
    hands: HandsWord,
    /// Whether the car may be moved from bay to bay even if one bay has everything that its work needs; false if left
    /// out.
    #[serde(default)]
    may_move: bool,
}

fn five() -> Whole<1, 20> {
    Whole::of(5_u32)
}

/// Search for the first times of each choice of a quote's optional lines.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(super) struct OptionsQuery {
    /// Earliest acceptable start, RFC 3339; the current time if left out or in the past.
    #[param(nullable = false)]
    from: Option<Instant>,
    /// Time by which the work should be done according to the diary, RFC 3339; must be later than `from` and than now.
    /// For each choice whose first time is not done by then, the answer says why.
    #[param(nullable = false)]
    by: Option<Instant>,
    /// Number of people who do the work: `ONE` or `TWO`; `ONE` if left out.
    #[param(nullable = false)]
    hands: Option<HandsWord>,
    /// Whether the car may be moved from bay to bay even if one bay has everything that its work needs; false if left
    /// out.
    #[param(nullable = false)]
    may_move: Option<bool>,
}

/// First times at which services and packages of the menu can be done.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = FirstTimes)]
pub(super) struct FirstTimesView {
    /// Earliest start that was asked for, RFC 3339 in UTC.
    from: Instant,
    /// End of the period that was searched, RFC 3339 in UTC.
    until: Instant,
    /// Number of people who do the work: `ONE` or `TWO`; `ONE` if no step allows two.
    hands: HandsWord,
    /// Duration of the work by its budgets and as it would be promised; null if no step takes time.
    work: Option<WorkMinutes>,
    /// Times, by start, each with the earliest possible finish. Empty if nothing fits.
    #[schema(max_items = 20)]
    times: Vec<OfferedTime>,
    /// Reasons why no time is done by the requested time, or why there is no time at all.
    #[schema(max_items = 500)]
    reasons: Vec<ReasonView>,
    /// Finishes with each cause of a delay taken away, one by one; empty if the first time is done in time.
    #[schema(max_items = 100)]
    figures: Vec<FigureView>,
}

/// First times of each choice of a quote's optional lines.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = OptionTimes)]
pub(super) struct OptionTimesView {
    /// Earliest start that was asked for, RFC 3339 in UTC.
    from: Instant,
    /// End of the period that was searched, RFC 3339 in UTC.
    until: Instant,
    /// Choices that can be taken, the fewest lines first: every combination of up to five optional lines; of more, none of
    /// them, each alone and all together.
    #[schema(max_items = 100)]
    choices: Vec<OptionTimeView>,
}

/// First time of a choice of a quote's optional lines.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = OptionTime)]
pub(super) struct OptionTimeView {
    /// Indexes of the optional lines that are taken, from 0, as a sign-off names them; the required lines are always
    /// taken.
    #[schema(max_items = 60, value_type = Vec<Whole<0, 60>>)]
    choices: Vec<usize>,
    /// Number of people who do the work: `ONE` or `TWO`; `ONE` if no step allows two.
    hands: HandsWord,
    /// Duration of the work by its budgets and as it would be promised; null if no step takes time.
    work: Option<WorkMinutes>,
    /// Time with the earliest possible finish; null if nothing fits.
    first: Option<OfferedTime>,
    /// Reasons why no time is done by the requested time, or why there is no time at all.
    #[schema(max_items = 500)]
    reasons: Vec<ReasonView>,
    /// Finishes with each cause of a delay taken away, one by one; empty if the first time is done in time.
    #[schema(max_items = 100)]
    figures: Vec<FigureView>,
}

impl From<ChoiceTimes> for OptionTimeView {
    fn from(choice: ChoiceTimes) -> Self {
        Self {
            choices: choice.ticked,
            hands: Word(choice.hands),
            work: choice.outlook.as_ref().map(WorkMinutes::from),
            first: choice.times.into_iter().next().map(OfferedTime::from),
            reasons: choice.reasons.into_iter().map(ReasonView::from).collect(),
            figures: choice.figures.into_iter().map(FigureView::from).collect(),
        }
    }
}

/// Find the first times for a choice from the menu.
///
/// Answers a caller on the phone: the work is planned for the size and condition of their car as if they had signed it,
/// and searched like signed work. Nothing is stored. The times assume that the customer agrees to a start within the 14
/// days in which they can withdraw.
#[utoipa::path(tag = "booking", request_body = FirstTimesBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "First times for the choice.", body = FirstTimesView)))]
#[post("/v1/menu/first-times")]
pub(super) async fn first_times(call: Call<Desk>, body: Body<FirstTimesBody>) -> Answer {
    let FirstTimesBody { choice, from, by, count, hands, may_move } = body.value;
    let ask = choice.read().map_err(in_choice)?;
    let count = usize::try_from(count.get()).unwrap_or(1);
    let by = by.map(|at| at.0.minute());
    let question = Question { from: from.map(rounded_up), by, count, hands: hands.0, may_move };
    let found = call.read(move |tx| usecase::first_times(tx, &ask, &question).map_err(in_choice)).await?;
    let (from, until) = (Instant(UtcTime::from_minute(found.from)), Instant(UtcTime::from_minute(found.until)));
    let Some(choice) = found.choices.into_iter().next() else {
        return Err(Fail::unexpected("no choice was searched").into());
    };
    Ok(plain(&FirstTimesView {
        from,
        until,
        hands: Word(choice.hands),
        work: choice.outlook.as_ref().map(WorkMinutes::from),
        times: choice.times.into_iter().map(OfferedTime::from).collect(),
        reasons: choice.reasons.into_iter().map(ReasonView::from).collect(),
        figures: choice.figures.into_iter().map(FigureView::from).collect(),
    }))
}

/// The choice is one level down in the body, beside the time by which the work must be done.
fn in_choice(fail: Fail) -> Fail {
    fail.repointed(|pointer| if pointer == "/by" { pointer.to_owned() } else { format!("/choice{pointer}") })
}

/// Find the first time for each choice of a quote's options.
///
/// Shows what an option costs in time: the first time with the coating and without it. The work of each choice is planned
/// as if the customer had signed it, from a draft as it would be sent now or from the quote as it was sent, and searched
/// like signed work; other bookings of the car count as taken. Nothing is stored. The times assume that the customer
/// agrees to a start within the 14 days in which they can withdraw.
#[utoipa::path(tag = "booking",
    params(("id" = Reference, Path, description = "Id of the quote."), OptionsQuery),
    responses((status = 200, description = "First time of each choice.", body = OptionTimesView),
        (status = 409, description = "The draft can't be priced: the shop has no menu in force, or no rate of tax for today."),
        (status = 422, description = "The draft can't be priced, or `by` is not later than now or than `from`.")))]
#[get("/v1/quotes/{id}/first-times")]
pub(super) async fn options(call: Call<Desk>, id: Path<String>, query: Query<OptionsQuery>) -> Answer {
    let id = QuoteId::new(id.into_inner());
    let OptionsQuery { from, by, hands, may_move } = query.0;
    let question = Question {
        from: from.map(rounded_up),
        by: by.map(|at| at.0.minute()),
        count: 1,
        hands: hands.unwrap_or_default().0,
        may_move: may_move.unwrap_or_default(),
    };
    let found = call.read(move |tx| usecase::first_times_of_options(tx, &id, &question)).await?;
    Ok(plain(&OptionTimesView {
        from: Instant(UtcTime::from_minute(found.from)),
        until: Instant(UtcTime::from_minute(found.until)),
        choices: found.choices.into_iter().map(OptionTimeView::from).collect(),
    }))
}
