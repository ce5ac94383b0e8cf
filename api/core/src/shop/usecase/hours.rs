//! Time when the shop is open: the usual week, and the days on which it, or one of its bays, is closed.

use baywright_domain::calendar::{Dates, DayHours, DayOfWeek, day_in_words, time_of_day};
use baywright_domain::id::{BayId, ClosureId};
use chrono::NaiveDate;
use serde_json::json;

use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::shop::store;

/// Minutes of a day.
const DAY: u32 = 24 * 60;

/// Maximum number of stretches of hours in a week.
pub const MOST_HOURS: usize = 42;

/// The usual week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Week {
    /// Periods of hours, by day and start.
    pub hours: Vec<(DayOfWeek, DayHours)>,
    /// Version, which every change raises by one.
    pub version: i64,
}

/// Details of a closure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClosureDetails {
    /// Id of the bay that is closed; `None` for the whole shop.
    pub bay: Option<BayId>,
    /// Days of the closure.
    pub dates: Dates,
    /// Why, for people.
    pub reason: String,
}

impl ClosureDetails {
    /// The closure in a sentence; `bay` is the name of the bay, if it is only one that is closed.
    pub fn in_words(&self, bay: Option<&str>) -> String {
        let (first, last) = (day_in_words(self.dates.from()), day_in_words(self.dates.last()));
        let when = if first == last { format!("on {first}") } else { format!("from {first} to {last}") };
        format!("{} is closed {when}: {}.", bay.unwrap_or("The studio"), self.reason.trim_end_matches('.'))
    }
}

/// The current state of a closure.
#[derive(Debug, Clone)]
pub struct Closure {
    /// Its id.
    pub id: ClosureId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Details of the closure.
    pub details: ClosureDetails,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// The usual week.
pub fn week(tx: &mut Tx<'_>) -> Done<Week> {
    let (hours, version) = store::hours::week(tx)?;
    Ok(Week { hours, version })
}

/// Replaces the usual week.
pub fn replace_week(tx: &mut Tx<'_>, seen: Seen, hours: &[(DayOfWeek, DayHours)]) -> Done<Week> {
    let before = week(tx)?;
    seen.check(before.version)?;
    warn_of_reversed(tx, hours, "/hours");
    let hours = in_order(hours, "/hours")?;
    let shop = tx.studio.id.to_string();
    store::hours::put_week(tx.conn, &shop, &hours, before.version + 1)?;
    record::write(tx, "opening_hours.changed", ("shop", &shop), json!({ "stretches": hours.len().to_string() }))?;
    week(tx)
}

/// Periods of hours by day and start, none of which overlap, not even past midnight into another day.
pub fn in_order(hours: &[(DayOfWeek, DayHours)], pointer: &str) -> Done<Vec<(DayOfWeek, DayHours)>> {
    let mut hours = hours.to_vec();
    hours.sort_unstable();
    for (at, first) in hours.iter().enumerate() {
        if let Some(second) = hours[at + 1..].iter().find(|second| overlap(*first, **second)) {
            let detail = if first.0 == second.0 {
                format!("Two stretches of hours overlap on {}. Write them as one.", first.0)
            } else {
                format!("The hours of {} overlap those of {}. Check where they begin and end.", first.0, second.0)
            };
            return Err(Refused::field(pointer, "overlap", detail).into());
        }
    }
    Ok(hours)
}

/// Whether two periods of a week overlap; the second does not begin before the first. Sunday's hours may extend into
/// Monday.
fn overlap(first: (DayOfWeek, DayHours), second: (DayOfWeek, DayHours)) -> bool {
    let begins = |(day, hours): (DayOfWeek, DayHours)| u32::from(day.number()) * DAY + u32::from(hours.opens());
    let lasts = |(_, hours): (DayOfWeek, DayHours)| u32::from(hours.closes() - hours.opens());
    let apart = begins(second) - begins(first);
    apart < lasts(first) || 7 * DAY - apart < lasts(second)
}

/// Warns of hours whose start and end may be the wrong way round; `pointer` is the position of their list.
pub fn warn_of_reversed(tx: &mut Tx<'_>, hours: &[(DayOfWeek, DayHours)], pointer: &str) {
    for (at, (day, hours)) in hours.iter().enumerate().filter(|(_, (_, hours))| hours.may_be_reversed()) {
        let (from, until) = (time_of_day(hours.opens()), time_of_day(hours.closes_on_the_clock()));
        let detail = format!(
            "The hours of {day} go on through the night, from {from} until {until} of the next day. Check that they are \
             not the wrong way round."
        );
        tx.warn("hours-through-the-night", format!("{pointer}/{at}"), detail);
    }
}

/// One page of the closures, newest first.
pub fn closures(tx: &mut Tx<'_>, paging: &Paging) -> Done<Slice<Closure>> {
    let rows = store::hours::page(tx, paging)?;
    Ok(paging.page(rows, |closure| Mark::of_id(closure.id.as_str())))
}

/// The closure with that id.
pub fn show_closure(tx: &mut Tx<'_>, id: &ClosureId) -> Done<Closure> {
    Ok(store::hours::find(tx, id)?.ok_or_else(|| Refused::not_found("closure"))?)
}

/// Adds a closure. Bookings that it breaks stay.
///
/// # Errors
/// `Conflict` if exactly this closure exists already, or if its days look like a wrong year.
pub fn add_closure(tx: &mut Tx<'_>, details: &ClosureDetails) -> Done<Closure> {
    known_bay(tx, details)?;
    tx.must_confirm_days(ends(details), None)?;
    beside_others(tx, details, None)?;
    let id: ClosureId = ids::new();
    store::hours::insert(tx, &id, details)?;
    record::write(tx, "closure.added", ("closure", id.as_str()), summary(details))?;
    show_closure(tx, &id)
}

/// Replaces a closure.
pub fn replace_closure(tx: &mut Tx<'_>, id: &ClosureId, seen: Seen, details: &ClosureDetails) -> Done<Closure> {
    let before = show_closure(tx, id)?;
    seen.check(before.version)?;
    known_bay(tx, details)?;
    tx.must_confirm_days(ends(details), Some(ends(&before.details)))?;
    beside_others(tx, details, Some(id))?;
    store::hours::update(tx, id, before.version + 1, details)?;
    record::write(tx, "closure.changed", ("closure", id.as_str()), summary(details))?;
    show_closure(tx, id)
}

/// The first and the last day of a closure.
fn ends(details: &ClosureDetails) -> (NaiveDate, NaiveDate) {
    (details.dates.from(), details.dates.last())
}

/// The closures of these days, of the whole shop or of one bay, by their first day.
pub fn closures_within(tx: &mut Tx<'_>, dates: Dates) -> Done<Vec<Closure>> {
    let mut found = store::hours::between(tx, dates.from(), dates.until())?;
    found.sort_by_key(|closure| (closure.details.dates.from(), closure.details.dates.until()));
    Ok(found)
}

/// Refuses the same closure twice, and warns of one that overlaps.
fn beside_others(tx: &mut Tx<'_>, details: &ClosureDetails, except: Option<&ClosureId>) -> Done<()> {
    let others = closures_within(tx, details.dates)?;
    for other in others.iter().filter(|other| other.details.bay == details.bay && Some(&other.id) != except) {
        if other.details.dates == details.dates {
            let detail = format!("It is already closed on these days: closure {}. Change that closure.", other.id);
            return Err(Refused::conflict("closure-twice", detail).into());
        }
        let detail = format!("This overlaps another closure, {} ({}).", other.id, other.details.reason);
        tx.warn("closure-overlaps", "/first_day", &detail);
    }
    Ok(())
}

/// Deletes a closure: the shop is open again on these days.
pub fn remove_closure(tx: &mut Tx<'_>, id: &ClosureId, seen: Seen) -> Done<()> {
    let before = show_closure(tx, id)?;
    seen.check(before.version)?;
    store::hours::delete(tx, id)?;
    record::write(tx, "closure.removed", ("closure", id.as_str()), summary(&before.details))
}

fn known_bay(tx: &mut Tx<'_>, details: &ClosureDetails) -> Done<()> {
    if let Some(bay) = &details.bay
        && !store::bay::all(tx)?.iter().any(|known| known.id == *bay)
    {
        return Err(Refused::field("/bay_id", "unknown", "The shop has no such bay.").into());
    }
    Ok(())
}

fn summary(details: &ClosureDetails) -> serde_json::Value {
    let bay = details.bay.as_ref().map(ToString::to_string);
    let (first, last) = (details.dates.from().to_string(), details.dates.last().to_string());
    json!({ "bay": bay, "first_day": first, "last_day": last })
}
