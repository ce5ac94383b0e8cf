//! Customers who may be the same as the one that is about to be added.

use baywright_domain::customer::{Likeness, Traits};
use baywright_domain::id::CustomerId;

use super::super::store;
use crate::platform::fail::Done;
use crate::platform::refusal::KnownRecord;
use crate::platform::tx::Tx;

/// A customer who has something in common with the given details.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alike {
    /// The customer.
    pub id: CustomerId,
    /// The name.
    pub name: String,
    /// Properties that they have in common, most telling first; never empty.
    pub likeness: Vec<Likeness>,
}

/// Maximum number of customers that are named.
const MOST: usize = 10;

/// The customers who have a telephone number, an email address or the name in common with the given details, those with
/// most in common first. Details of merged records count for the customer as well.
pub fn alike(tx: &mut Tx<'_>, said: &Traits) -> Done<Vec<Alike>> {
    let mut found: Vec<Alike> = Vec::new();
    for (id, name, traits) in store::candidates(tx, said)? {
        let likeness = said.likeness(&traits);
        match found.iter_mut().find(|alike| alike.id == id) {
            _ if likeness.is_empty() => {}
            Some(alike) => {
                alike.likeness.extend(likeness);
                alike.likeness.sort_unstable();
                alike.likeness.dedup();
            }
            None => found.push(Alike { id, name, likeness }),
        }
    }
    found.sort_by(|a, b| {
        b.likeness.len().cmp(&a.likeness.len()).then(a.likeness.cmp(&b.likeness)).then(a.id.cmp(&b.id))
    });
    found.truncate(MOST);
    Ok(found)
}

/// Asks the desk to confirm that somebody new is added although there are similar customers.
pub(super) fn confirm_new(tx: &mut Tx<'_>, said: &Traits) -> Done<()> {
    let alike = alike(tx, said)?;
    let Some(first) = alike.first() else { return Ok(()) };
    let others = if alike.len() > 1 { " Other customers match as well." } else { "" };
    let detail = format!(
        "{} is already a customer, with the same {}.{others} Use that customer, or confirm that this is someone else, \
         who is then added as well.",
        first.name,
        in_common(&first.likeness),
    );
    let known: Vec<KnownRecord> = alike.iter().map(KnownRecord::from).collect();
    tx.must_confirm("known-customer", &detail).map_err(|fail| fail.naming_known(known))
}

/// Warns if a change gives a customer a telephone number, an email address or a name that another one has.
pub(super) fn warn_of_known(tx: &mut Tx<'_>, id: &CustomerId, before: &Traits, now: &Traits) -> Done<()> {
    if before == now {
        return Ok(());
    }
    let had = alike(tx, before)?;
    let mut others = alike(tx, now)?;
    others.retain(|other| {
        let known = had.iter().find(|known| known.id == other.id);
        let is_new = known.is_none_or(|known| other.likeness.iter().any(|one| !known.likeness.contains(one)));
        other.id != *id && is_new
    });
    let Some(first) = others.first() else { return Ok(()) };
    let more = if others.len() > 1 { " Other customers match as well." } else { "" };
    let detail = format!(
        "{} is already a customer, with the same {}.{more} If both are one customer, merge the two records. If not, check \
         what you typed.",
        first.name,
        in_common(&first.likeness),
    );
    let pointer = match first.likeness.first() {
        Some(Likeness::Phone) => "/phones",
        Some(Likeness::Mail) => "/emails",
        Some(Likeness::Name) => "/name",
        None => "",
    };
    tx.warn("known-customer", pointer, detail);
    Ok(())
}

impl From<&Alike> for KnownRecord {
    fn from(alike: &Alike) -> Self {
        Self {
            kind: "customer",
            id: alike.id.to_string(),
            title: alike.name.clone(),
            in_common: alike.likeness.iter().map(|likeness| likeness.as_str()).collect(),
        }
    }
}

/// The common properties in words: `telephone number and name`.
pub fn in_common(likeness: &[Likeness]) -> String {
    let labels: Vec<&str> = likeness.iter().map(|one| one.label()).collect();
    labels.join(" and ")
}
