//! Merging one vehicle's record into another's, and undoing it. The remaining record gets the values that it lacks; the
//! merged one stays as it was, so that its values can be taken out again.

use baywright_domain::merge::RecordMove;

use super::super::store;
use super::{Details, Vehicle, indexed};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::search;

/// Marks `gone` as merged into `kept`.
pub fn mark(tx: &mut Tx<'_>, gone: &Vehicle, kept: &Vehicle) -> Done<()> {
    gone.state().go(RecordMove::Merge)?;
    store::set_merged(tx, &gone.id, gone.version + 1, Some(&kept.id))?;
    search::usecase::forget(tx, gone.id.as_str())
}

/// Fills the values of `kept` that are missing from `gone`; returns the names of those fields.
pub fn take_over(tx: &mut Tx<'_>, kept: &Vehicle, gone: &Vehicle) -> Done<(Vehicle, Vec<String>)> {
    let (mut details, theirs) = (kept.details.clone(), &gone.details);
    let mut fields = Vec::new();
    let mut note = |filled: bool, name: &str| fields.extend(filled.then(|| name.to_owned()));
    let plate = details.registration.is_none() && theirs.registration.is_some();
    if plate {
        details.registration.clone_from(&theirs.registration);
        details.country = theirs.country;
    }
    note(plate, "registration");
    note(fill(&mut details.vin, theirs.vin.as_ref()), "vin");
    note(fill(&mut details.year, theirs.year.as_ref()), "year");
    note(fill(&mut details.colour, theirs.colour.as_ref()), "colour");
    let notes = details.notes.is_empty() && !theirs.notes.is_empty();
    if notes {
        details.notes.clone_from(&theirs.notes);
    }
    note(notes, "notes");
    store::update(tx, &kept.id, kept.version + 1, &details)?;
    Ok((indexed(tx, &kept.id)?, fields))
}

/// Removes what was taken over, as far as it has not changed since.
pub fn give_back(tx: &mut Tx<'_>, kept: &Vehicle, gone: &Vehicle, fields: &[String]) -> Done<(Vehicle, Vehicle)> {
    gone.state().go(RecordMove::Separate)?;
    let mut details = kept.details.clone();
    for field in fields {
        empty(&mut details, &gone.details, field);
    }
    store::update(tx, &kept.id, kept.version + 1, &details)?;
    store::set_merged(tx, &gone.id, gone.version + 1, None)?;
    Ok((indexed(tx, &kept.id)?, indexed(tx, &gone.id)?))
}

/// Indexes a vehicle again, after records that were merged into it changed.
pub fn index(tx: &mut Tx<'_>, vehicle: &Vehicle) -> Done<()> {
    indexed(tx, &vehicle.id).map(drop)
}

fn fill<T: Clone>(kept: &mut Option<T>, gone: Option<&T>) -> bool {
    let fills = kept.is_none() && gone.is_some();
    if fills {
        *kept = gone.cloned();
    }
    fills
}

/// Empties a field that still has the value of `gone`.
fn empty(kept: &mut Details, gone: &Details, field: &str) {
    match field {
        "registration" if kept.registration == gone.registration => {
            kept.registration = None;
            kept.country = None;
        }
        "vin" if kept.vin == gone.vin => kept.vin = None,
        "year" if kept.year == gone.year => kept.year = None,
        "colour" if kept.colour == gone.colour => kept.colour = None,
        "notes" if kept.notes == gone.notes => kept.notes.clear(),
        _ => {}
    }
}
