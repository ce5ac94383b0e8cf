//! Bays and their features.

use std::collections::BTreeSet;

use baywright_domain::customer::name_key;
use baywright_domain::id::BayId;
use baywright_domain::menu::Code;
use serde_json::json;

use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::shop::store;

/// Maximum number of bays that a shop has, those out of use counted.
const MOST: usize = 50;

/// Details of a bay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BayDetails {
    /// Its name.
    pub name: String,
    /// Features, such as `cover`, `dust-free`, `drain`, `lift`, `power`.
    pub features: BTreeSet<Code>,
    /// Whether cars are still put there.
    pub in_use: bool,
}

/// The current state of a bay.
#[derive(Debug, Clone)]
pub struct Bay {
    /// Its id.
    pub id: BayId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Details of the bay.
    pub details: BayDetails,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// Every bay of the shop, in the order they were added, those out of use too.
pub fn bays(tx: &mut Tx<'_>) -> Done<Vec<Bay>> {
    Ok(store::bay::all(tx)?)
}

/// The bay with that id.
pub fn show_bay(tx: &mut Tx<'_>, id: &BayId) -> Done<Bay> {
    let found = store::bay::all(tx)?.into_iter().find(|bay| bay.id == *id);
    Ok(found.ok_or_else(|| Refused::not_found("bay"))?)
}

/// Adds a bay.
pub fn add_bay(tx: &mut Tx<'_>, details: &BayDetails) -> Done<Bay> {
    if store::bay::all(tx)?.len() >= MOST {
        return Err(Refused::conflict("too-many-bays", format!("A shop has at most {MOST} bays.")).into());
    }
    warn_of_same_name(tx, details, None)?;
    let id: BayId = ids::new();
    store::bay::insert(tx, &id, details).map_err(name_taken)?;
    record::write(tx, "bay.added", ("bay", id.as_str()), summary(details))?;
    show_bay(tx, &id)
}

/// Replaces the details of a bay. Bookings in it stay.
pub fn replace_bay(tx: &mut Tx<'_>, id: &BayId, seen: Seen, details: &BayDetails) -> Done<Bay> {
    let before = show_bay(tx, id)?;
    seen.check(before.version)?;
    if details.name != before.details.name {
        warn_of_same_name(tx, details, Some(id))?;
    }
    store::bay::update(tx, id, before.version + 1, details).map_err(name_taken)?;
    record::write(tx, "bay.changed", ("bay", id.as_str()), summary(details))?;
    show_bay(tx, id)
}

/// Warns of a bay whose name is easily confused with that of another one; exactly the same name is refused.
fn warn_of_same_name(tx: &mut Tx<'_>, details: &BayDetails, except: Option<&BayId>) -> Done<()> {
    let key = name_key(&details.name);
    let others = store::bay::all(tx)?;
    if let Some(other) = others.iter().find(|bay| Some(&bay.id) != except && name_key(&bay.details.name) == key) {
        let detail =
            format!("There is already the bay {}. Give this one a name that tells the two apart.", other.details.name);
        tx.warn("same-name", "/name", detail);
    }
    Ok(())
}

fn name_taken(error: DbError) -> Fail {
    if error.is_taken() {
        Refused::field("/name", "taken", "The shop has a bay of this name. Use another name.").into()
    } else {
        error.into()
    }
}

fn summary(details: &BayDetails) -> serde_json::Value {
    let features: Vec<&str> = details.features.iter().map(Code::as_str).collect();
    json!({ "features": features, "in_use": details.in_use })
}
