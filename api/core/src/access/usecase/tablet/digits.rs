//! People's digits: chosen by themselves or by the owner.

use std::collections::BTreeSet;

use baywright_domain::digits;
use baywright_domain::id::PersonId;
use baywright_domain::people::Role;
use serde_json::json;

use crate::access::store;
use crate::access::usecase::Account;
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::secret::Secret;
use crate::platform::tx::Tx;

/// Digest of digits that somebody chooses. It takes as long as that of a password, so no transaction may be open.
///
/// # Errors
/// `Invalid` if they are not four digits, or easily guessed.
pub fn digest_of(door: &Door, chosen: &Secret) -> Done<String> {
    digits::judge(chosen.expose())?;
    door.program().passwords.hash(chosen)
}

/// Checks that a person can have digits: they work on cars and may sign in.
///
/// # Errors
/// `NotFound` if there is no such person, `Conflict` if they work on no cars or are not active.
pub fn may_have_digits(tx: &mut Tx<'_>, who: &PersonId) -> Done<Account> {
    let shop = tx.studio.id.clone();
    let account = store::account::by_id(tx.conn, &shop, who)?.ok_or_else(|| Refused::not_found("person"))?;
    if !account.active {
        let detail = "This account is not active. Reactivate it, then choose the digits.";
        return Err(Refused::conflict("not-active", detail).into());
    }
    if account.role == Role::Accountant {
        let detail = "Accountants don't work on cars, so they don't sign in on a tablet.";
        return Err(Refused::conflict("no-work-on-cars", detail).into());
    }
    Ok(account)
}

/// Stores the digest of a person's digits.
///
/// # Errors
/// As [`may_have_digits`].
pub fn keep_digits(tx: &mut Tx<'_>, who: &PersonId, digest: &str) -> Done<()> {
    may_have_digits(tx, who)?;
    store::tablet::set_digits(tx, who, digest)?;
    record::write(tx, "person.digits-set", ("person", who.as_str()), json!({}))
}

/// Deletes a person's digits, so that they no longer sign in on tablets. Without digits nothing changes.
pub fn drop_digits(tx: &mut Tx<'_>, who: &PersonId) -> Done<()> {
    let shop = tx.studio.id.clone();
    store::account::by_id(tx.conn, &shop, who)?.ok_or_else(|| Refused::not_found("person"))?;
    if store::tablet::drop_digits(tx, who)? {
        record::write(tx, "person.digits-removed", ("person", who.as_str()), json!({}))?;
    }
    Ok(())
}

/// Ids of the people who have digits.
pub fn with_digits(tx: &mut Tx<'_>) -> Done<BTreeSet<PersonId>> {
    Ok(store::tablet::with_digits(tx)?.into_iter().collect())
}
