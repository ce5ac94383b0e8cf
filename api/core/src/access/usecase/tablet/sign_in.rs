//! Signing in on a tablet.

use baywright_domain::id::{PersonId, SessionId, TabletId};
use serde_json::json;

use super::AtTablet;
use super::tries::Try;
use crate::access::store;
use crate::access::usecase::session::{account_of, session_end};
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::identity::Actor;
use crate::platform::refusal::Refused;
use crate::platform::secret::Secret;
use crate::platform::token::Token;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// An enrolled tablet and the people who can sign in on it.
#[derive(Debug, Clone)]
pub struct Here {
    /// Name of the studio.
    pub studio: String,
    /// What people call the tablet.
    pub name: String,
    /// People who can sign in.
    pub people: Vec<AtTablet>,
}

/// The tablet whose cookie has the token of that digest; `None` if no tablet has it any more.
pub fn here(door: &Door, device_digest: &str) -> Done<Option<Here>> {
    let Some((shop, id)) = door.read(|conn| Ok(store::tablet::of_device(conn, device_digest)?))? else {
        return Ok(None);
    };
    door.read_in(&shop, Actor::Operator, |tx| {
        let tablet = store::tablet::find(tx, &id)?.ok_or_else(|| Refused::not_found("tablet"))?;
        Ok(Some(Here { studio: tx.studio.name.clone(), name: tablet.name, people: store::tablet::people(tx)? }))
    })
}

/// Signs a person in on the tablet whose cookie has the token of that digest; gives the token for the cookie of the sign-in.
///
/// # Errors
/// `NotSignedIn` if the device is not enrolled, `TooOften` after wrong digits on this tablet, `Invalid` if the digits are
/// wrong or the person has none.
pub fn sign_in(door: &Door, device_digest: &str, who: &PersonId, digits: &Secret) -> Done<Token> {
    let found = door.read(|conn| Ok(store::tablet::of_device(conn, device_digest)?))?;
    let (shop, tablet) = found.ok_or_else(|| {
        Refused::unauthenticated(
            "This device is not enrolled. Let the owner add it, or sign in with your email address.",
        )
    })?;
    let tried = Try::count(door, &tablet, who)?;
    let digest = door.read_in(&shop, Actor::Operator, |tx| {
        let listed = store::tablet::people(tx)?.iter().any(|person| person.id == *who);
        if listed { Ok(store::tablet::digits(tx, who)?) } else { Ok(None) }
    })?;
    if !door.program().passwords.matches(digits, digest.as_deref())? {
        tracing::info!(target: "access", tablet = tablet.as_str(), "a sign-in on a tablet failed");
        return Err(Refused::field("/digits", "wrong", "These digits are wrong. Type them again.").into());
    }
    door.in_shop(&shop, &Actor::Operator, |tx| {
        tried.succeeded(tx.conn)?;
        opened(tx, who, &tablet)
    })
}

/// Opens a sign-in of the person on the tablet. The tablet's address does not become one that the account knows, since digits
/// prove less than a password.
fn opened(tx: &mut Tx<'_>, who: &PersonId, tablet: &TabletId) -> Done<Token> {
    let account = account_of(tx, who)?;
    let (id, token): (SessionId, Token) = (ids::new(), Token::new()?);
    store::session::insert(tx, &id, who, session_end(tx.now), Some(&token.digest()))?;
    store::tablet::opened_at(tx, &id, tablet)?;
    tx.actor = Actor::Person { id: account.id, role: account.role, session: id.clone() };
    let detail = json!({ "person": who.as_str(), "tablet": tablet.as_str() });
    record::write(tx, "session.opened", ("session", id.as_str()), detail)?;
    Ok(token)
}

/// Whether whoever asks has signed in on a tablet.
pub fn is_at_tablet(tx: &mut Tx<'_>) -> Done<bool> {
    let Actor::Person { session, .. } = tx.actor.clone() else { return Ok(false) };
    Ok(store::tablet::is_at_tablet(tx, &session)?)
}
