//! Vehicles that may be the same as the one that is about to be added.

use baywright_domain::vehicle::Likeness;

use super::super::details::{Details, Vehicle};
use super::super::store;
use crate::customer;
use crate::platform::fail::Done;
use crate::platform::refusal::KnownRecord;
use crate::platform::tx::Tx;

/// Maximum number of vehicles that are named.
const MOST: usize = 10;

/// The vehicles, of any customer, that have the identification number or the registration in common with the given one,
/// with what they have in common.
pub fn alike(tx: &mut Tx<'_>, said: &Details) -> Done<Vec<(Vehicle, Vec<Likeness>)>> {
    let traits = said.traits();
    let candidates = store::candidates(tx, said.vin.as_ref(), said.registration.as_deref())?;
    let with = |vehicle: Vehicle| {
        let likeness = traits.likeness(&vehicle.details.traits());
        (vehicle, likeness)
    };
    let mut found: Vec<(Vehicle, Vec<Likeness>)> = candidates.into_iter().map(with).collect();
    found.retain(|(_, likeness)| !likeness.is_empty());
    found.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.1.cmp(&b.1)).then(a.0.id.cmp(&b.0.id)));
    found.truncate(MOST);
    Ok(found)
}

/// Asks the desk to confirm that a new vehicle is added although there is a similar one.
pub(super) fn confirm_new(tx: &mut Tx<'_>, said: &Details) -> Done<()> {
    let alike = alike(tx, said)?;
    let Some((first, likeness)) = alike.first() else { return Ok(()) };
    let labels: Vec<&str> = likeness.iter().map(|one| one.label()).collect();
    let owner = customer::usecase::show(tx, &first.details.customer_id)?.details.name;
    let theirs = first.details.customer_id == said.customer_id;
    let advice = if theirs {
        "Use that vehicle, or confirm that this is another one, which is then added as well."
    } else {
        "If it was sold on, confirm that: it is then added to the new owner, and the first owner's records stay \
         theirs. If both owners are one customer, merge them first."
    };
    let detail = format!("{owner} already has {} with the same {}. {advice}", first.label(), labels.join(" and "));
    let known: Vec<KnownRecord> = alike
        .iter()
        .map(|(vehicle, likeness)| KnownRecord {
            kind: "vehicle",
            id: vehicle.id.to_string(),
            title: vehicle.label(),
            in_common: likeness.iter().map(|one| one.as_str()).collect(),
        })
        .collect();
    tx.must_confirm("known-vehicle", &detail).map_err(|fail| fail.naming_known(known))
}

/// Warns if a change gives a vehicle the identification number or the registration of another one.
pub(super) fn warn_of_known(tx: &mut Tx<'_>, vehicle: &Vehicle, now: &Details) -> Done<()> {
    let before = vehicle.details.traits();
    let mut others = alike(tx, now)?;
    others.retain(|(other, likeness)| {
        let had = before.likeness(&other.details.traits());
        other.id != vehicle.id && likeness.iter().any(|one| !had.contains(one))
    });
    let Some((first, likeness)) = others.first() else { return Ok(()) };
    let labels: Vec<&str> = likeness.iter().map(|one| one.label()).collect();
    let owner = customer::usecase::show(tx, &first.details.customer_id)?.details.name;
    let detail = format!(
        "{owner} already has {} with the same {}. If both are one vehicle of one customer, merge the two records. If not, \
         check what you typed.",
        first.label(),
        labels.join(" and "),
    );
    let pointer = if likeness.contains(&Likeness::Vin) { "/vin" } else { "/registration" };
    tx.warn("known-vehicle", pointer, detail);
    Ok(())
}
