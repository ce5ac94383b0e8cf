//! Signed work that has no time yet.

use baywright_domain::visit::{Act, TodayList};

use super::lists::{CANDIDATES, LOOK_BACK, MOST_ENTRIES};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::today::store;
use crate::visit;
use crate::visit::usecase::Head;

/// The visits that must be booked next, as the list of the day names them.
pub fn to_book(tx: &mut Tx<'_>) -> Done<Vec<Head>> {
    let since = UtcTime::from_minute(tx.now.minute() - LOOK_BACK);
    let quotes = store::without_time(tx, since, CANDIDATES)?;
    let mut visits = visit::usecase::of_quotes(tx, &quotes)?;
    visits.retain(|visit| visit.next.act().and_then(Act::list) == Some(TodayList::ToBook));
    visits.truncate(MOST_ENTRIES);
    Ok(visits.into_iter().map(|visit| visit.head).collect())
}
