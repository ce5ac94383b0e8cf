//! When the signed work can be done.

use baywright_domain::id::QuoteId;
use baywright_domain::schedule::Placement;
use baywright_domain::time::Minute;

use super::diary::{self, AHEAD_DAYS, Others};
use crate::plan;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop;

/// The most times that are offered at once.
pub const MOST_OFFERS: usize = 20;

/// The times that are offered, and why there may be none.
#[derive(Debug, Clone)]
pub struct Offer {
    /// From when it was asked.
    pub from: Minute,
    /// Up to when it was looked.
    pub until: Minute,
    /// The placements, by start and finish.
    pub placements: Vec<Placement>,
    /// Names of steps that nobody has the skills for; nothing is offered then.
    pub nobody_able: Vec<String>,
}

/// The first `count` placements of the quote's plan that start at `from` or later, and not before now.
pub fn availability(tx: &mut Tx<'_>, quote: &QuoteId, from: Option<Minute>, count: usize) -> Done<Offer> {
    let plan = plan::usecase::of_quote(tx, quote)?;
    let work = plan.work()?;
    let wanted = work.to_schedule()?;
    let settings = shop::usecase::settings(tx)?;
    let now = tx.now.minute();
    let from = from.unwrap_or(now).max(now);
    let book = diary::open(tx, &settings, from, AHEAD_DAYS, None)?;
    let diary = book.diary(Others::Count)?;
    let search = diary.search(&wanted);
    let steps = work.steps.iter().enumerate();
    let nobody_able = steps.filter(|(at, _)| !search.able(*at)).map(|(_, step)| step.name.clone()).collect();
    let placements = search.list(from, count.min(MOST_OFFERS));
    Ok(Offer { from, until: book.horizon.span().to(), placements, nobody_able })
}
