//! Accounts: people who work here, with role, skills and shifts.

use std::collections::BTreeSet;

use baywright_domain::calendar::{DayHours, DayOfWeek};
use baywright_domain::customer::name_key;
use baywright_domain::id::PersonId;
use baywright_domain::menu::Code;
use baywright_domain::people::Role;
use serde_json::json;

use crate::access;
use crate::people::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::shop;

/// Maximum number of accounts of a shop, including deactivated ones.
const MOST: usize = 200;

/// Minimum details of a new account.
#[derive(Debug, Clone)]
pub struct NewPerson {
    /// Name of the person as colleagues use it.
    pub name: String,
    /// The address to sign in with.
    pub email: String,
    /// Role of the person.
    pub role: Role,
    /// The digest of the password (PHC string), computed in advance because it takes long. Empty if there is no
    /// password yet, so no sign-in.
    pub password_hash: String,
}

/// Details of a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PersonDetails {
    /// Name of the person as colleagues use it.
    pub name: String,
    /// The address to sign in with.
    pub email: String,
    /// Role of the person.
    pub role: Role,
    /// Skills for work on cars, such as `machine-polishing`.
    pub skills: BTreeSet<Code>,
    /// The usual week; empty if the person does not work on cars.
    pub shifts: Vec<(DayOfWeek, DayHours)>,
}

/// The current state of a person.
#[derive(Debug, Clone)]
pub struct Person {
    /// Their id.
    pub id: PersonId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Details of the account.
    pub details: PersonDetails,
    /// Whether they may sign in and are given work.
    pub active: bool,
    /// Whether they have chosen a password yet.
    pub has_password: bool,
    /// Time when the account was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// Everyone in the shop, in the order in which they were added, including deactivated people.
pub fn everyone(tx: &mut Tx<'_>) -> Done<Vec<Person>> {
    Ok(store::account::all(tx)?)
}

/// The person with that id.
pub fn show(tx: &mut Tx<'_>, id: &PersonId) -> Done<Person> {
    let found = store::account::all(tx)?.into_iter().find(|person| person.id == *id);
    Ok(found.ok_or_else(|| Refused::not_found("person"))?)
}

/// Adds an account without skills and shifts; returns its id.
pub fn add(tx: &mut Tx<'_>, new: &NewPerson) -> Done<PersonId> {
    let details = PersonDetails {
        name: new.name.clone(),
        email: new.email.clone(),
        role: new.role,
        skills: BTreeSet::new(),
        shifts: Vec::new(),
    };
    insert(tx, &details, &new.password_hash)
}

/// Adds an account; its person chooses a password by an invite.
pub fn create(tx: &mut Tx<'_>, details: &PersonDetails) -> Done<Person> {
    if store::account::all(tx)?.len() >= MOST {
        return Err(Refused::conflict("too-many-people", format!("A shop has at most {MOST} accounts.")).into());
    }
    let ordered = ordered(tx, details)?;
    warn_of_same_name(tx, details, None)?;
    let id = insert(tx, &ordered, "")?;
    show(tx, &id)
}

fn insert(tx: &mut Tx<'_>, details: &PersonDetails, password_hash: &str) -> Done<PersonId> {
    let id: PersonId = ids::new();
    store::account::insert(tx, &id, details, password_hash).map_err(address_taken)?;
    record::write(tx, "person.added", ("person", id.as_str()), summary(details))?;
    Ok(id)
}

/// Replaces the details of a person. A new role applies from their next request on; a new address ends their invites.
pub fn replace(tx: &mut Tx<'_>, id: &PersonId, seen: Seen, details: &PersonDetails) -> Done<Person> {
    let before = show(tx, id)?;
    seen.check(before.version)?;
    if before.active && before.details.role == Role::Owner && details.role != Role::Owner {
        keep_an_owner(tx)?;
    }
    let ordered = ordered(tx, details)?;
    if details.name != before.details.name {
        warn_of_same_name(tx, details, Some(id))?;
    }
    store::account::update(tx, id, before.version + 1, &ordered).map_err(address_taken)?;
    if details.email != before.details.email {
        access::usecase::end_invites(tx, id)?;
    }
    record::write(tx, "person.changed", ("person", id.as_str()), summary(details))?;
    show(tx, id)
}

/// Ends a person's access at once: no sign-in, no invite, no work. Records of their work keep their name.
pub fn deactivate(tx: &mut Tx<'_>, id: &PersonId, seen: Seen) -> Done<Person> {
    let before = show(tx, id)?;
    seen.check(before.version)?;
    if !before.active {
        return Err(
            Refused::conflict("not-active", "This account is not active. Reactivate it to use it again.").into()
        );
    }
    if before.details.role == Role::Owner {
        keep_an_owner(tx)?;
    }
    store::account::set_active(tx, id, false, before.version + 1)?;
    access::usecase::end_all(tx, id)?;
    access::usecase::end_invites(tx, id)?;
    record::write(tx, "person.deactivated", ("person", id.as_str()), json!({}))?;
    show(tx, id)
}

/// Gives a person access again.
pub fn reactivate(tx: &mut Tx<'_>, id: &PersonId, seen: Seen) -> Done<Person> {
    let before = show(tx, id)?;
    seen.check(before.version)?;
    if before.active {
        return Err(
            Refused::conflict("already-active", "This account is already active. There is nothing to do.").into()
        );
    }
    store::account::set_active(tx, id, true, before.version + 1)?;
    record::write(tx, "person.reactivated", ("person", id.as_str()), json!({}))?;
    show(tx, id)
}

/// A shop without an owner could never get one without a command of the program.
fn keep_an_owner(tx: &mut Tx<'_>) -> Done<()> {
    if store::account::active_with(tx, Role::Owner)? > 1 {
        return Ok(());
    }
    Err(Refused::conflict("last-owner", "This is the shop's only owner. Make someone else an owner first.").into())
}

/// Warns of a person who has the same name as another active one: on plans and lists nobody could tell them apart.
fn warn_of_same_name(tx: &mut Tx<'_>, details: &PersonDetails, except: Option<&PersonId>) -> Done<()> {
    let key = name_key(&details.name);
    let theirs = |person: &Person| person.active && Some(&person.id) != except && name_key(&person.details.name) == key;
    if let Some(other) = everyone(tx)?.into_iter().find(theirs) {
        let detail = format!(
            "There is already {}, who signs in as {}. If these are two people, give each a name that tells them apart.",
            other.details.name, other.details.email
        );
        tx.warn("same-name", "/name", detail);
    }
    Ok(())
}

/// The details with their shifts in order; warns of shifts that may be the wrong way round.
fn ordered(tx: &mut Tx<'_>, details: &PersonDetails) -> Done<PersonDetails> {
    shop::usecase::warn_of_reversed(tx, &details.shifts, "/shifts");
    let shifts = shop::usecase::in_order(&details.shifts, "/shifts")?;
    Ok(PersonDetails { shifts, ..details.clone() })
}

fn address_taken(error: DbError) -> Fail {
    if error.is_taken() {
        Refused::field("/email", "taken", "Someone signs in with this address already. Use another.").into()
    } else {
        error.into()
    }
}

fn summary(details: &PersonDetails) -> serde_json::Value {
    let skills: Vec<&str> = details.skills.iter().map(Code::as_str).collect();
    json!({ "role": details.role.as_str(), "skills": skills, "shifts": details.shifts.len().to_string() })
}
