//! People's working times, as the rules of scheduling see it.

use baywright_domain::calendar::{Absence as Away, Shifts, Weekly, Zone, ZoneRules};
use baywright_domain::schedule::Technician;
use baywright_domain::time::{Interval, IntervalSet};
use chrono::Days;

use super::Person;
use crate::people::store;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;

/// The active people who have shifts, of everyone, with skills and working time within `within`; the id serves as code. The
/// diary adds their other work.
pub fn working(tx: &mut Tx<'_>, everyone: &[Person], zone: &Zone, within: Interval) -> Done<Vec<Technician>> {
    let day = |minute| zone.to_local(minute).date();
    let (from, until) = (day(within.from()), day(within.to()));
    // A shift that began the day before may extend into it.
    let days =
        (from.checked_sub_days(Days::new(3)).unwrap_or(from), until.checked_add_days(Days::new(3)).unwrap_or(until));
    let absences = store::absence::within(tx, days, within)?;
    let people = everyone.iter().filter(|p| p.active && !p.details.shifts.is_empty());
    let technician = |person: &Person| {
        let theirs = absences.iter().filter(|absence| absence.person == person.id);
        let away: Vec<Away> = theirs.map(|absence| absence.details.away).collect();
        let weekly = person.details.shifts.iter().fold(Weekly::new(), |w, (day, hours)| w.with((*day).into(), *hours));
        Technician {
            code: person.id.to_string(),
            skills: person.details.skills.iter().map(|skill| skill.as_str().to_owned()).collect(),
            working: Shifts { weekly, absences: away }.working(zone, within),
            busy: IntervalSet::EMPTY,
        }
    };
    Ok(people.map(technician).collect())
}
