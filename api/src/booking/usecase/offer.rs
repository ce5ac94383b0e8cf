//! When the signed work can be done, why not sooner, and what would help.

use baywright_domain::id::QuoteId;
use baywright_domain::learning::Outlook;
use baywright_domain::menu::Code;
use baywright_domain::plan::{Hands, WorkPlan, work_plan};
use baywright_domain::schedule::{Diary, Placement, Wanted};
use baywright_domain::time::Minute;

use super::diary::{self, AHEAD_DAYS, Others};
use super::place::not_before;
use super::why::{Hindered, Names};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{plan, shop, variation};

/// The most times that are offered at once.
pub const MOST_OFFERS: usize = 20;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question {
    /// The earliest start that will do.
    pub from: Option<Minute>,
    /// When the work is wanted to be done.
    pub by: Option<Minute>,
    /// How many times are wanted.
    pub count: usize,
    /// How many pairs of hands do the work.
    pub hands: Hands,
}

/// The times that are offered, and why there may be none in time.
#[derive(Debug, Clone)]
pub struct Offer {
    /// From when it was asked.
    pub from: Minute,
    /// Up to when it was looked.
    pub until: Minute,
    /// How many pairs of hands do the work: one where no step allows two.
    pub hands: Hands,
    /// What is believed of the work; none in plans made before that was kept.
    pub outlook: Option<Outlook>,
    /// The placements, by start and finish, each with what could be promised.
    pub times: Vec<Promised>,
    /// Why none is done in time; empty where the first one is.
    pub reasons: Vec<Hindered>,
    /// What would help then, the least change first.
    pub relaxations: Vec<Relaxation>,
}

/// A placement with what could be promised for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Promised {
    /// The placement.
    pub placement: Placement,
    /// What the customer would be promised.
    pub at: Minute,
}

/// Something else than what was asked for, and when it could be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Relaxation {
    /// The same work, done later.
    Later(Promised),
    /// The work without one of its services.
    Without(Code, Placement),
    /// The same work in two visits, the second of which begins with that step.
    TwoVisits(Code, [Placement; 2]),
}

/// The first placements of the quote's plan that start at `from` or later, and not before now.
///
/// # Errors
/// 404 where the shop has no such quote, 409 where there is nothing to plan.
pub fn availability(tx: &mut Tx<'_>, quote: &QuoteId, question: Question) -> Done<Offer> {
    let plan = plan::usecase::of_quote(tx, quote)?.with(question.hands)?;
    let hands = plan.hands;
    let work = plan.work()?;
    let wanted = work.to_schedule()?;
    let settings = shop::usecase::settings(tx)?;
    let now = tx.now.minute();
    let from = question.from.unwrap_or(now).max(now);
    let from = not_before(tx, &settings, &plan)?.map_or(from, |first| first.max(from));
    let book = diary::open(tx, &settings, from, AHEAD_DAYS, hands, None)?;
    let diary = book.diary(Others::Count)?;
    let until = book.horizon.span().to();
    let placements = diary.search(&wanted).list(from, question.count.min(MOST_OFFERS));
    let by = question.by.unwrap_or(until);
    let outlook = plan.outlook()?;
    let promised = |placement: Placement| {
        let at = book.promise(outlook.as_ref(), &placement);
        Promised { placement, at }
    };
    let times: Vec<Promised> = placements.into_iter().map(promised).collect();
    let first = times.first().cloned();
    let mut offer = Offer { from, until, hands, outlook, times, reasons: Vec::new(), relaxations: Vec::new() };
    if first.as_ref().is_none_or(|first| first.placement.finish > by) {
        let (bays, technicians) = book.time(Others::Count);
        let all = Wanted { horizon: book.horizon, bays: &bays, technicians: &technicians, plan: &wanted, from, by };
        let names = Names { settings: &settings, work: &work, bays: shop::usecase::bays(tx)? };
        offer.reasons = all.why_not()?.iter().map(|reason| names.told(reason)).collect();
        offer.relaxations.extend(first.map(Relaxation::Later));
        offer.relaxations.extend(two_visits(&diary, &work, from, by));
        offer.relaxations.extend(without_one(tx, quote, hands, &diary, from, by)?);
    }
    Ok(offer)
}

/// The split into two visits that is done first, where one is done in time.
fn two_visits(diary: &Diary, work: &WorkPlan, from: Minute, by: Minute) -> Option<Relaxation> {
    let splits = (1..work.steps.len()).filter_map(|first| {
        let [one, two] = work.in_two_visits(first).ok()?;
        let one = diary.search(&one).earliest(from)?;
        let two = diary.search(&two).earliest(one.finish)?;
        (two.finish <= by).then_some((first, [one, two]))
    });
    let (first, visits) = splits.min_by_key(|(first, visits)| (visits[1].finish, core::cmp::Reverse(*first)))?;
    Some(Relaxation::TwoVisits(work.steps.get(first)?.code.clone(), visits))
}

/// The work without one of its services, each that would be done in time.
fn without_one(
    tx: &mut Tx<'_>,
    quote: &QuoteId,
    hands: Hands,
    diary: &Diary,
    from: Minute,
    by: Minute,
) -> Done<Vec<Relaxation>> {
    let agreed = variation::usecase::agreed(tx, quote)?;
    let services = agreed.services();
    let less = services.iter().filter_map(|left_out| {
        let rest: Vec<Code> = services.iter().filter(|code| *code != left_out).cloned().collect();
        let work = work_plan(&agreed.quote.menu, &rest, agreed.car(), hands).ok()?;
        let placement = diary.search(&work.to_schedule().ok()?).earliest(from)?;
        (placement.finish <= by).then(|| Relaxation::Without(left_out.clone(), placement))
    });
    Ok(less.collect())
}
