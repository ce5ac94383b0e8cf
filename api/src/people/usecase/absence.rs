//! Absences: time in which a person does not work though the shift says so.

use baywright_domain::calendar::Absence as Away;
use baywright_domain::id::{AbsenceId, PersonId};
use serde_json::json;

use super::account::show;
use crate::people::store;
use crate::platform::answer::Page;
use crate::platform::clock::UtcTime;
use crate::platform::cursor::{Mark, Paging};
use crate::platform::etag::IfMatch;
use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// What is known of an absence. Why somebody is ill is nobody's business, so there is a note and no list of reasons.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AbsenceDetails {
    /// Whole days, or part of one.
    pub away: Away,
    /// A note for the desk; may be empty.
    pub note: String,
}

/// An absence as it stands.
#[derive(Debug, Clone)]
pub struct Absence {
    /// Its id.
    pub id: AbsenceId,
    /// Whose.
    pub person: PersonId,
    /// Counts the changes.
    pub version: i64,
    /// What is known.
    pub details: AbsenceDetails,
    /// When the record was made.
    pub created_at: UtcTime,
    /// When it last changed.
    pub updated_at: UtcTime,
}

/// One page of a person's absences, newest first.
pub fn absences(tx: &mut Tx<'_>, person: &PersonId, paging: &Paging) -> Done<Page<Absence>> {
    show(tx, person)?;
    let rows = store::absence::page(tx, person, paging)?;
    Ok(paging.page(rows, |absence| Mark::of_id(absence.id.as_str())))
}

/// One absence of a person.
pub fn show_absence(tx: &mut Tx<'_>, person: &PersonId, id: &AbsenceId) -> Done<Absence> {
    Ok(store::absence::find(tx, person, id)?.ok_or_else(|| Problem::not_found("absence"))?)
}

/// Adds an absence. Bookings that it hits stay; the diary shows them.
pub fn add_absence(tx: &mut Tx<'_>, person: &PersonId, details: &AbsenceDetails) -> Done<Absence> {
    show(tx, person)?;
    let id: AbsenceId = ids::new();
    store::absence::insert(tx, person, &id, details)?;
    record::write(tx, "absence.added", ("absence", id.as_str()), json!({ "person": person.as_str() }))?;
    show_absence(tx, person, &id)
}

/// Replaces an absence.
pub fn replace_absence(
    tx: &mut Tx<'_>,
    person: &PersonId,
    id: &AbsenceId,
    seen: IfMatch,
    details: &AbsenceDetails,
) -> Done<Absence> {
    let before = show_absence(tx, person, id)?;
    seen.check(before.version)?;
    store::absence::update(tx, id, before.version + 1, details)?;
    record::write(tx, "absence.changed", ("absence", id.as_str()), json!({ "person": person.as_str() }))?;
    show_absence(tx, person, id)
}

/// Takes an absence back.
pub fn remove_absence(tx: &mut Tx<'_>, person: &PersonId, id: &AbsenceId, seen: IfMatch) -> Done<()> {
    let before = show_absence(tx, person, id)?;
    seen.check(before.version)?;
    store::absence::delete(tx, id)?;
    record::write(tx, "absence.removed", ("absence", id.as_str()), json!({ "person": person.as_str() }))
}
