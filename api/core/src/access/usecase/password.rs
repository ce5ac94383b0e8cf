//! Changing one's password.

use baywright_domain::id::SessionId;
use serde_json::json;

use super::attempt::Attempt;
use super::{Account, session};
use crate::access::store;
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::identity::Actor;
use crate::platform::refusal::Refused;
use crate::platform::secret::Secret;
use crate::platform::{password, record};

/// Changes the password of the person who is signed in, in that sign-in; their other sign-ins end.
pub fn change_password(
    door: &Door,
    account: &Account,
    session: &SessionId,
    current: &Secret,
    new: &Secret,
) -> Done<()> {
    let attempt = Attempt::count_signed_in(door, &account.email)?;
    if !door.program().passwords.matches(current, account.digest.as_deref())? {
        attempt.failed(door)?;
        return Err(Refused::field("/current", "wrong", "This is not your current password. Type it again.").into());
    }
    password::judge("/password", new, &account.known())?;
    let hash = door.program().passwords.hash(new)?;
    let actor = Actor::Person { id: account.id.clone(), role: account.role, session: session.clone() };
    door.in_shop(&account.shop, &actor, |tx| {
        store::account::set_digest(tx, &account.id, &hash)?;
        session::end_others(tx, &account.id, Some(session))?;
        attempt.succeeded(tx.conn)?;
        record::write(tx, "person.password-changed", ("person", account.id.as_str()), json!({}))
    })
}
