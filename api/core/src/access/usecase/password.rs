//! Changing one's password.

use baywright_domain::id::SessionId;
use serde_json::json;

use super::attempt::Attempt;
use super::{Account, invite, session};
use crate::access::store;
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::identity::Actor;
use crate::platform::refusal::Refused;
use crate::platform::secret::Secret;
use crate::platform::{password, record};

/// Changes the password of the person who is signed in, in that sign-in; their other sign-ins and their
/// invites end.
///
/// A repeated request, whose first answer was lost, names a current password that is no longer theirs. It counts as done if
/// the new one is theirs already, which proves as much as the current one would. So each counted attempt tries up to two
/// passwords, and only somebody who is signed in can make one.
pub fn change_password(
    door: &Door,
    account: &Account,
    session: &SessionId,
    current: &Secret,
    new: &Secret,
) -> Done<()> {
    let attempt = Attempt::count_signed_in(door, &account.email)?;
    let actor = Actor::Person { id: account.id.clone(), role: account.role, session: session.clone() };
    let (passwords, digest) = (&door.program().passwords, account.digest.as_deref());
    if !passwords.matches(current, digest)? {
        if passwords.matches(new, digest)? {
            return door.in_shop(&account.shop, &actor, |tx| {
                session::end_others(tx, &account.id, Some(session))?;
                attempt.succeeded(tx.conn)
            });
        }
        attempt.failed(door)?;
        return Err(Refused::field("/current", "wrong", "This is not your current password. Type it again.").into());
    }
    password::judge("/password", new, &account.known())?;
    let hash = passwords.hash(new)?;
    door.in_shop(&account.shop, &actor, |tx| {
        store::account::set_digest(tx, &account.id, &hash)?;
        invite::end_invites(tx, &account.id)?;
        session::end_others(tx, &account.id, Some(session))?;
        attempt.succeeded(tx.conn)?;
        record::write(tx, "person.password-changed", ("person", account.id.as_str()), json!({}))
    })
}
