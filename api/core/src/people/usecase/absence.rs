//! Absences: time in which a person does not work although the shift says so.

use baywright_domain::calendar::{Absence as Away, Dates, Zone, ZoneRules, day_in_words};
use baywright_domain::id::{AbsenceId, PersonId};
use baywright_domain::time::{Interval, Minute};
use chrono::{NaiveDate, NaiveTime};
use serde_json::json;

use super::account::{everyone, show};
use crate::people::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};

/// Details of an absence. The reason for an illness is private, so there is a note and no list of reasons.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AbsenceDetails {
    /// Whole days, or part of one.
    pub away: Away,
    /// A note for the desk; may be empty.
    pub note: String,
}

impl AbsenceDetails {
    /// The field of the body that states the start.
    pub fn pointer(&self) -> &'static str {
        match self.away {
            Away::Days(_) => "/first_day",
            Away::Hours(_) => "/from_at",
        }
    }
}

/// An absence in a sentence, without its note, which is private.
pub fn away_in_words(zone: &impl ZoneRules, name: &str, away: Away) -> String {
    match away {
        Away::Days(dates) if dates.from() == dates.last() => {
            format!("{name} is away on {}.", day_in_words(dates.from()))
        }
        Away::Days(dates) => {
            format!("{name} is away from {} to {}.", day_in_words(dates.from()), day_in_words(dates.last()))
        }
        Away::Hours(hours) => format!("{name} is away from {} to {}.", zone.wall(hours.from()), zone.wall(hours.to())),
    }
}

/// The current state of an absence.
#[derive(Debug, Clone)]
pub struct Absence {
    /// Its id.
    pub id: AbsenceId,
    /// Id of the person who is absent.
    pub person: PersonId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Details of the absence.
    pub details: AbsenceDetails,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// One page of a person's absences, newest first.
pub fn absences(tx: &mut Tx<'_>, person: &PersonId, paging: &Paging) -> Done<Slice<Absence>> {
    show(tx, person)?;
    let rows = store::absence::page(tx, person, paging)?;
    Ok(paging.page(rows, |absence| Mark::of_id(absence.id.as_str())))
}

/// The absences of anyone that overlap a period, by their starts.
pub fn absences_within(tx: &mut Tx<'_>, within: Interval) -> Done<Vec<Absence>> {
    let zone = Zone::named(&tx.studio.zone)?;
    let day = |minute| zone.to_local(minute).date();
    let days = (day(within.from()), day(within.to()).succ_opt().unwrap_or(NaiveDate::MAX));
    let mut found = store::absence::within(tx, days, within)?;
    found.retain(|absence| span(&zone, absence.details.away).is_some_and(|away| away.overlaps(within)));
    found.sort_by_key(|absence| (span(&zone, absence.details.away).map(Interval::from), absence.id.clone()));
    Ok(found)
}

/// The absences of anyone that overlap those days, by their starts.
pub fn absences_on_days(tx: &mut Tx<'_>, dates: Dates) -> Done<Vec<Absence>> {
    let zone = Zone::named(&tx.studio.zone)?;
    let minute = |date: NaiveDate| zone.to_utc(date.and_time(NaiveTime::MIN));
    Interval::new(minute(dates.from()), minute(dates.until()))
        .map_or_else(|| Ok(Vec::new()), |within| absences_within(tx, within))
}

/// The absences of these people in a period, each in a sentence, by their starts; none if the period is empty.
pub fn absences_in_words(tx: &mut Tx<'_>, people: &[&str], (from, until): (Minute, Minute)) -> Done<Vec<String>> {
    let Some(within) = Interval::new(from, until) else { return Ok(Vec::new()) };
    let mut found = absences_within(tx, within)?;
    found.retain(|absence| people.contains(&absence.person.as_str()));
    if found.is_empty() {
        return Ok(Vec::new());
    }
    let zone = Zone::named(&tx.studio.zone)?;
    let everyone = everyone(tx)?;
    let name = |absence: &Absence| everyone.iter().find(|person| person.id == absence.person);
    let told = |absence: &Absence| Some(away_in_words(&zone, &name(absence)?.details.name, absence.details.away));
    Ok(found.iter().filter_map(told).collect())
}

/// One absence of a person.
pub fn show_absence(tx: &mut Tx<'_>, person: &PersonId, id: &AbsenceId) -> Done<Absence> {
    Ok(store::absence::find(tx, person, id)?.ok_or_else(|| Refused::not_found("absence"))?)
}

/// Adds an absence. Bookings that it breaks stay.
///
/// # Errors
/// `Conflict` if the person has exactly this absence already, or if its days look like a wrong year.
pub fn add_absence(tx: &mut Tx<'_>, person: &PersonId, details: &AbsenceDetails) -> Done<Absence> {
    show(tx, person)?;
    tx.must_confirm_days(ends(tx, details.away)?, None)?;
    beside_others(tx, person, details, None)?;
    let id: AbsenceId = ids::new();
    store::absence::insert(tx, person, &id, details)?;
    record::write(tx, "absence.added", ("absence", id.as_str()), json!({ "person": person.as_str() }))?;
    show_absence(tx, person, &id)
}

/// Replaces an absence.
///
/// # Errors
/// `Conflict` if the person has exactly this absence already as another record, or if new days look like a wrong year.
pub fn replace_absence(
    tx: &mut Tx<'_>,
    person: &PersonId,
    id: &AbsenceId,
    seen: Seen,
    details: &AbsenceDetails,
) -> Done<Absence> {
    let before = show_absence(tx, person, id)?;
    seen.check(before.version)?;
    tx.must_confirm_days(ends(tx, details.away)?, Some(ends(tx, before.details.away)?))?;
    beside_others(tx, person, details, Some(id))?;
    store::absence::update(tx, id, before.version + 1, details)?;
    record::write(tx, "absence.changed", ("absence", id.as_str()), json!({ "person": person.as_str() }))?;
    show_absence(tx, person, id)
}

/// Refuses the same absence twice, and warns of one that overlaps.
fn beside_others(tx: &mut Tx<'_>, person: &PersonId, details: &AbsenceDetails, except: Option<&AbsenceId>) -> Done<()> {
    let zone = Zone::named(&tx.studio.zone)?;
    let Some(span) = span(&zone, details.away) else { return Ok(()) };
    let day = |minute| zone.to_local(minute).date();
    let days = (day(span.from()), day(span.to()).succ_opt().unwrap_or(NaiveDate::MAX));
    let others = store::absence::within(tx, days, span)?;
    let theirs = others.iter().filter(|other| other.person == *person && Some(&other.id) != except);
    for other in theirs {
        if other.details.away == details.away {
            let detail = format!("This person is already away then: absence {}. Change that absence.", other.id);
            return Err(Refused::conflict("absence-twice", detail).into());
        }
        if self::span(&zone, other.details.away).is_some_and(|other| other.overlaps(span)) {
            let detail = format!("This overlaps another absence of the same person, {}.", other.id);
            tx.warn("absence-overlaps", details.pointer(), &detail);
        }
    }
    Ok(())
}

/// The first and the last day of an absence, in the shop's time zone.
fn ends(tx: &Tx<'_>, away: Away) -> Done<(NaiveDate, NaiveDate)> {
    Ok(match away {
        Away::Days(dates) => (dates.from(), dates.last()),
        Away::Hours(hours) => {
            let zone = Zone::named(&tx.studio.zone)?;
            (zone.to_local(hours.from()).date(), zone.to_local(hours.to()).date())
        }
    })
}

/// An absence from its first minute to its last.
fn span(zone: &Zone, away: Away) -> Option<Interval> {
    match away {
        Away::Hours(hours) => Some(hours),
        Away::Days(dates) => Interval::new(zone.day(dates.from())?.from(), zone.day(dates.last())?.to()),
    }
}

/// Deletes an absence.
pub fn remove_absence(tx: &mut Tx<'_>, person: &PersonId, id: &AbsenceId, seen: Seen) -> Done<()> {
    let before = show_absence(tx, person, id)?;
    seen.check(before.version)?;
    store::absence::delete(tx, id)?;
    record::write(tx, "absence.removed", ("absence", id.as_str()), json!({ "person": person.as_str() }))
}
