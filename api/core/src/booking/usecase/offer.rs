//! Time when the signed work can be done, why not sooner, and what would help.

use baywright_domain::booking::BookingState;
use baywright_domain::id::QuoteId;
use baywright_domain::learning::Outlook;
use baywright_domain::menu::Code;
use baywright_domain::plan::{Hands, WorkPlan, without_one};
use baywright_domain::schedule::Placement;
use baywright_domain::schedule::stays::Visit;
use baywright_domain::time::Minute;

use super::diary::{self, AHEAD_DAYS, Others};
use super::explain::{Asked, Figured};
use super::of_quote;
use super::place::not_before;
use super::why::Hindered;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::{agreement, plan, shop};

/// Maximum number of times that are offered at once.
pub const MOST_OFFERS: usize = 20;

/// Request for free times.
#[derive(Debug, Clone, Copy)]
pub struct Question {
    /// Earliest acceptable start.
    pub from: Option<Minute>,
    /// Time when the work is wanted to be done.
    pub by: Option<Minute>,
    /// Number of times that are wanted.
    pub count: usize,
    /// Number of people who do the work.
    pub hands: Hands,
    /// Whether the car may change bays even if one bay has everything that its work needs.
    pub may_move: bool,
}

impl Question {
    /// Refuses a time by which the work must be done that is not after its earliest start; `pointer` is where the request
    /// has it.
    pub(super) fn by_is_after(&self, from: Minute, pointer: &str) -> Done<()> {
        if self.by.is_none_or(|by| by > from) {
            return Ok(());
        }
        let detail = "by must be later than now and later than from: it is the time by which the work must be done.";
        Err(Refused::field(pointer, "not_later", detail).into())
    }
}

/// The times that are offered, and why there may be none in time.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Start of the period that was searched.
    pub from: Minute,
    /// End of the period that was searched.
    pub until: Minute,
    /// Number of people who do the work: one if no step allows two.
    pub hands: Hands,
    /// Estimate of the work's duration; `None` in plans made before this was stored.
    pub outlook: Option<Outlook>,
    /// The visits, by start and finish, each with its promise.
    pub times: Vec<Promised>,
    /// Reason why none is done in time; empty if the first one is.
    pub reasons: Vec<Hindered>,
    /// Its finish with each cause taken away; empty if the first time is done in time.
    pub figures: Vec<Figured>,
    /// Alternatives that would help, smallest change first.
    pub suggestions: Vec<Suggestion>,
}

/// A visit with its promise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Promised {
    /// The visit.
    pub visit: Visit,
    /// Finish that the customer would be promised.
    pub at: Minute,
}

/// Alternative to the request, with its time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Suggestion {
    /// The same work at a later time.
    Later(Promised),
    /// The same work with the car moved from bay to bay.
    WithMoves(Promised),
    /// The work without one of its services.
    Without(Code, Visit),
    /// The same work in two visits, the second of which begins with that step.
    TwoVisits(Code, [Placement; 2]),
}

/// The first visits for the quote's plan that start at `from` or later, and not before now.
///
/// # Errors
/// `NotFound` if the shop has no such quote, `Conflict` if there is nothing to plan.
pub fn availability(tx: &mut Tx<'_>, quote: &QuoteId, question: Question) -> Done<Offer> {
    let plan = plan::usecase::of_quote(tx, quote)?.with(question.hands)?;
    let hands = plan.hands;
    let work = plan.work()?;
    let orders = work.step_orders()?;
    let settings = shop::usecase::settings(tx)?;
    let now = tx.now.minute();
    let from = question.from.unwrap_or(now).max(now);
    question.by_is_after(from, "?by")?;
    let from = not_before(tx, &plan)?.map_or(from, |first| first.max(from));
    // The place that the work already has counts as free, because the booking would be moved.
    let own = of_quote(tx, quote)?.filter(|own| matches!(own.state, BookingState::Held | BookingState::Booked));
    let book =
        diary::open(tx, &settings, from, AHEAD_DAYS, hands, Some(&plan.vehicle), own.as_ref().map(|own| &own.id))?;
    let diary = book.diary(Others::Count)?;
    let until = book.horizon.span().to();
    let moving = book.moving(&settings, &work, question.may_move);
    let visits = diary.visits(&orders, moving).list(from, question.count.min(MOST_OFFERS));
    let by = question.by.unwrap_or(until);
    let outlook = plan.outlook()?;
    let promised = |visit: Visit| book.promise(&settings, outlook.as_ref(), visit);
    let times: Vec<Promised> = visits.into_iter().map(promised).collect();
    let first = times.first().cloned();
    let mut offer = Offer {
        from,
        until,
        hands,
        outlook: outlook.clone(),
        times,
        reasons: Vec::new(),
        figures: Vec::new(),
        suggestions: Vec::new(),
    };
    if first.as_ref().is_none_or(|first| first.visit.finish > by) {
        let agreed = agreement::usecase::agreed(tx, quote)?;
        let allowed = |work: &WorkPlan| book.moving(&settings, work, question.may_move);
        let (menu, car) = (&agreed.quote.menu, (agreed.car(), hands));
        let less = without_one(menu, &agreed.services(), car, &diary, allowed, (from, until));
        let asked = Asked { settings: &settings, book: &book, work: &work, orders: &orders, moving };
        (offer.reasons, offer.figures) = asked.why_not(tx, (from, by), (menu, &less))?;
        let moves = asked.moves();
        let mut with_moves = None;
        if moving.max_stays < moves.max_stays {
            let moved = diary.visits(&orders, moves).earliest(from).filter(|moved| moved.stays.len() > 1);
            let helps = |moved: &Visit| first.as_ref().is_none_or(|first| moved.finish < first.visit.finish);
            with_moves = moved.filter(helps).map(promised).map(Suggestion::WithMoves);
        }
        offer.suggestions.extend(first.map(Suggestion::Later).into_iter().chain(with_moves));
        let visits = work.soonest_in_two_visits(&diary, from, by);
        offer.suggestions.extend(visits.map(|(second, visits)| Suggestion::TwoVisits(second.clone(), visits)));
        let less = less.into_iter().filter(|(_, rest)| rest.finish <= by);
        offer.suggestions.extend(less.map(|(service, rest)| Suggestion::Without(service, rest)));
    }
    Ok(offer)
}
