//! Invites: how someone chooses a first password, or a new one for one that was forgotten.

use baywright_domain::id::PersonId;
use serde_json::json;

use super::Account;
use super::attempt::slow;
use super::page::opened;
use super::session::{self, Opened};
use crate::access::store;
use crate::platform::clock::UtcTime;
use crate::platform::door::Door;
use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Actor;
use crate::platform::refusal::Refused;
use crate::platform::secret::Secret;
use crate::platform::token::{self, Token};
use crate::platform::tx::Tx;
use crate::platform::{password, record};

/// Time for which an invite is valid, in minutes (OWASP ASVS 5.0, 6.4.1).
pub const INVITE_MINUTES: i64 = 60;

/// An invite with its token, shown only once.
#[derive(Debug)]
pub struct Invite {
    /// The token to hand to the person.
    pub token: String,
    /// Time when the invite ends.
    pub ends_at: UtcTime,
}

/// Invites a person to choose a password; their earlier invites end.
pub fn invite(tx: &mut Tx<'_>, id: &PersonId) -> Done<Invite> {
    let shop = tx.studio.id.clone();
    let account = store::account::by_id(tx.conn, &shop, id)?.ok_or_else(|| Refused::not_found("person"))?;
    if !account.active {
        return Err(Refused::conflict("not-active", "This account is not active. Reactivate it first.").into());
    }
    let token = Token::new()?;
    let ends_at = tx.now.plus_minutes(INVITE_MINUTES);
    store::invite::insert(tx, id, &token.digest(), ends_at)?;
    record::write(tx, "person.invited", ("person", id.as_str()), json!({}))?;
    Ok(Invite { token: token.as_str().to_owned(), ends_at })
}

/// Ends the invites of a person. Whoever has one could otherwise choose a password although the person's address or
/// password has changed since, or the account was closed for a time.
pub fn end_invites(tx: &mut Tx<'_>, person: &PersonId) -> Done<()> {
    Ok(store::invite::end_all(tx, person)?)
}

/// Chooses a password with an invite, and signs in. All earlier sign-ins of the person end.
pub fn accept(door: &Door, invite_token: &Secret, new: &Secret) -> Done<Opened> {
    let keys = &door.program().keys;
    accept_by(door, invite_token, new, |tx, account| session::open(tx, keys, account))
}

/// The same for the pages; gives the token for the cookie.
pub fn accept_on_pages(door: &Door, invite_token: &Secret, new: &Secret) -> Done<Token> {
    accept_by(door, invite_token, new, opened)
}

/// Succeeds if the invite can still be used.
///
/// # Errors
/// 410 if not.
pub fn check_invite(door: &Door, invite_token: &Secret) -> Done<()> {
    slow(door)?;
    let digest = token::digest(invite_token.expose());
    door.read(|conn| Ok(store::invite::find(conn, &digest, door.now())?))?.map(drop).ok_or_else(used)
}

fn used() -> Fail {
    let detail = "This invite was used already, or has expired. Ask the owner for a new one.";
    Refused::gone("invite-ended", detail).into()
}

/// Stores the password that was chosen with an invite, and signs in by `open`.
fn accept_by<T>(
    door: &Door,
    invite_token: &Secret,
    new: &Secret,
    mut open: impl FnMut(&mut Tx<'_>, &Account) -> Done<T>,
) -> Done<T> {
    slow(door)?;
    let digest = token::digest(invite_token.expose());
    let (shop, person) = door.read(|conn| Ok(store::invite::find(conn, &digest, door.now())?))?.ok_or_else(used)?;
    let account = door.read(|conn| Ok(store::account::by_id(conn, &shop, &person)?))?;
    let account = account.filter(|account| account.active).ok_or_else(used)?;
    password::judge("/password", new, &account.known())?;
    let hash = door.program().passwords.hash(new)?;
    door.in_shop(&shop, &Actor::Operator, |tx| {
        if !store::invite::use_up(tx, &digest)? {
            return Err(used());
        }
        store::account::set_digest(tx, &person, &hash)?;
        session::end_all(tx, &person)?;
        record::write(tx, "person.password-chosen", ("person", person.as_str()), json!({}))?;
        open(tx, &account)
    })
}
