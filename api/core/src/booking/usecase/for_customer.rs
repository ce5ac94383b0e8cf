//! Answers for the customer's own page: times that they can choose from, and the file for their calendar.

use baywright_domain::id::QuoteId;
use baywright_domain::plan::Hands;
use baywright_domain::stay::OFFERS_APART;
use baywright_domain::time::Minute;

use super::diary::{self, AHEAD_DAYS, Others};
use super::place::not_before;
use super::{Booking, Promised, appointment};
use crate::mail::outbox::Attachment;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{plan, shop};

/// Up to `count` free times for a quote's work, found as for the desk and some hours apart, so that they cover several days.
/// `from` is the earliest start; the first time is the best one that starts then or later.
///
/// # Errors
/// `NotFound` if the shop has no such quote, `Conflict` if there is nothing to plan.
pub fn times_to_choose(tx: &mut Tx<'_>, quote: &QuoteId, from: Minute, count: usize) -> Done<Vec<Promised>> {
    let plan = plan::usecase::of_quote(tx, quote)?.with(Hands::One)?;
    let work = plan.work()?;
    let orders = work.step_orders()?;
    let settings = shop::usecase::settings(tx)?;
    let from = from.max(tx.now.minute());
    let from = not_before(tx, &plan)?.map_or(from, |first| first.max(from));
    let book = diary::open(tx, &settings, from, AHEAD_DAYS, plan.hands, Some(&plan.vehicle), None)?;
    let diary = book.diary(Others::Count)?;
    let moving = book.moving(&settings, &work, false);
    let visits = diary.visits(&orders, moving).list_apart(from, count, OFFERS_APART);
    let outlook = plan.outlook()?;
    Ok(visits.into_iter().map(|visit| book.promise(&settings, outlook.as_ref(), visit)).collect())
}

/// The file for the customer's calendar with both appointments of a booking, as its mails attach it.
pub fn calendar_file(tx: &mut Tx<'_>, booking: &Booking) -> Done<Attachment> {
    let settings = shop::usecase::settings(tx)?;
    Ok(appointment::published(tx, &settings, booking))
}
