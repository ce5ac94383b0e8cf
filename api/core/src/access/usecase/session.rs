//! Sign-ins: opening, continuing and ending them.
//!
//! **A sign-in ends after 30 minutes without use and after 12 hours in any case** (OWASP ASVS 5.0, 7.3), so a stolen
//! tablet is worth little the next morning. A client refreshes its sign-in while somebody works with it.
//!
//! **While the database can't be written, or only by a newer program, a sign-in continues with the same refresh
//! token,** so that people can still read. Signing in again needs a new row and is refused.

use baywright_domain::id::{PersonId, SessionId, ShopId};
use serde_json::json;

use super::Account;
use super::attempt::{Attempt, know_address};
use crate::access::store;
use crate::access::store::refresh::Known;
use crate::platform::clock::UtcTime;
use crate::platform::door::Door;
use crate::platform::ended::Ended;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::identity::{Actor, IDLE_MINUTES, Studio, sign_in_ended};
use crate::platform::keyring::{ACCESS_MINUTES, Keyring};
use crate::platform::refusal::Refused;
use crate::platform::secret::Secret;
use crate::platform::token::{self, Token};
use crate::platform::tx::Tx;
use crate::platform::{ids, password, record};

/// Longest duration of a sign-in, in hours, even if it is refreshed: a working day (OWASP ASVS 5.0, 7.3.2).
pub const SESSION_HOURS: i64 = 12;

/// A sign-in with its tokens, shown only once.
#[derive(Debug)]
pub struct Opened {
    /// The signed token that requests carry.
    pub access_token: String,
    /// Time when the access token ends.
    pub access_ends_at: UtcTime,
    /// The token that is exchanged for the next two tokens; it works once.
    pub refresh_token: String,
    /// Time until which the refresh token can be used.
    pub refresh_ends_at: UtcTime,
    /// Time when the sign-in ends in any case.
    pub ends_at: UtcTime,
    /// Person who signed in.
    pub account: Account,
    /// Shop of the person.
    pub studio: Studio,
}

/// Signs in with address and password.
pub fn sign_in(door: &Door, email: &str, password: &Secret) -> Done<Opened> {
    let keys = &door.program().keys;
    with_password(door, email, password, |tx, account| open(tx, keys, account))
}

/// Checks address and password, with the limits on tries, and opens a sign-in by `open`.
pub(super) fn with_password<T>(
    door: &Door,
    email: &str,
    password: &Secret,
    mut open: impl FnMut(&mut Tx<'_>, &Account) -> Done<T>,
) -> Done<T> {
    let attempt = Attempt::count(door, email)?;
    let account = door.read(|conn| Ok(store::account::by_email(conn, email)?))?;
    let account = account.filter(|account| account.active);
    let digest = account.as_ref().and_then(|account| account.digest.as_deref());
    let right = door.program().passwords.matches(password, digest)?;
    let (Some(account), true) = (account, right) else {
        tracing::info!(target: "access", address = door.address(), "a sign-in failed");
        attempt.failed(door)?;
        return Err(
            Refused::unauthenticated("The email address or the password is wrong. Check both and try again.").into()
        );
    };
    let renewed = match &account.digest {
        Some(digest) if password::is_outdated(digest) => Some(door.program().passwords.hash(password)?),
        _ => None,
    };
    door.in_shop(&account.shop, &Actor::Operator, |tx| {
        if let Some(digest) = &renewed {
            store::account::set_digest(tx, &account.id, digest)?;
        }
        attempt.succeeded(tx.conn)?;
        open(tx, &account)
    })
}

/// Opens a sign-in for a person of the shop.
pub fn open_for(tx: &mut Tx<'_>, keys: &Keyring, person: &PersonId) -> Done<Opened> {
    let account = account_of(tx, person)?;
    open(tx, keys, &account)
}

/// The account of a person of the shop, who is known to be there.
pub(super) fn account_of(tx: &mut Tx<'_>, person: &PersonId) -> Done<Account> {
    let shop = tx.studio.id.clone();
    let account = store::account::by_id(tx.conn, &shop, person)?;
    account.ok_or_else(|| Fail::unexpected("the person is not there"))
}

/// Opens a sign-in for the account and writes that to the log.
pub(super) fn open(tx: &mut Tx<'_>, keys: &Keyring, account: &Account) -> Done<Opened> {
    let id = begin(tx, account, None)?;
    let ends_at = session_end(tx.now);
    tokens(tx, keys, &id, ends_at, account.clone())
}

/// Begins a sign-in of the account, and says so in the log; `page_digest` is that of the token in its cookie, if it is one
/// of the pages.
pub(super) fn begin(tx: &mut Tx<'_>, account: &Account, page_digest: Option<&str>) -> Done<SessionId> {
    let id: SessionId = ids::new();
    store::session::insert(tx, &id, &account.id, session_end(tx.now), page_digest)?;
    know_address(tx, &account.email)?;
    tx.actor = Actor::Person { id: account.id.clone(), role: account.role, session: id.clone() };
    record::write(tx, "session.opened", ("session", id.as_str()), json!({ "person": account.id.as_str() }))?;
    Ok(id)
}

/// Opens a sign-in without tokens; returns its id.
pub fn open_session(tx: &mut Tx<'_>, person: &PersonId) -> Done<SessionId> {
    let id: SessionId = ids::new();
    store::session::insert(tx, &id, person, session_end(tx.now), None)?;
    Ok(id)
}

/// Time when a sign-in of now ends in any case.
pub(super) fn session_end(now: UtcTime) -> UtcTime {
    now.plus_minutes(SESSION_HOURS * 60)
}

fn tokens(tx: &mut Tx<'_>, keys: &Keyring, id: &SessionId, ends_at: UtcTime, account: Account) -> Done<Opened> {
    let refresh_token = Token::new()?;
    let refresh_ends_at = tx.now.plus_minutes(IDLE_MINUTES).min(ends_at);
    store::refresh::insert(tx, id, &refresh_token.digest(), refresh_ends_at)?;
    opened(tx, keys, id, (refresh_token.as_str(), refresh_ends_at), ends_at, account)
}

/// A sign-in with a new access token and that refresh token, which is valid until the given time.
fn opened(
    tx: &Tx<'_>,
    keys: &Keyring,
    id: &SessionId,
    (refresh_token, refresh_ends_at): (&str, UtcTime),
    ends_at: UtcTime,
    account: Account,
) -> Done<Opened> {
    let signed = keys.sign(account.id.as_str(), id.as_str(), tx.studio.id.as_str(), tx.now);
    Ok(Opened {
        access_token: signed.map_err(|_| Fail::unexpected("there is no key to sign tokens with"))?,
        access_ends_at: tx.now.plus_minutes(ACCESS_MINUTES),
        refresh_token: refresh_token.to_owned(),
        refresh_ends_at,
        ends_at,
        account,
        studio: tx.studio.clone(),
    })
}

/// Continues a sign-in: the token is used up, and two new ones are returned. If a token comes a second time, one of its
/// users must have stolen it, so the whole sign-in ends.
pub fn refresh(door: &Door, refresh_token: &Secret) -> Done<Opened> {
    let digest = token::digest(refresh_token.expose());
    let shop = door.read(|conn| Ok(store::refresh::shop_of(conn, &digest)?))?.ok_or_else(sign_in_ended)?;
    let keys = &door.program().keys;
    let idle_end = |known: &Known| known.ends_at.max(door.program().prolonged.end_of(&digest));
    let has_ended_here = |known: &Known| door.program().ended.has(known.session.as_str());
    // The end of a sign-in must be committed, so it must not fail the transaction.
    let opened = door.in_shop(&shop, &Actor::Operator, |tx| {
        let Some(known) = store::refresh::find(tx, &digest)? else { return Ok(None) };
        if known.used {
            end(tx, &known.session, "refresh token used twice")?;
            return Ok(None);
        }
        let Some((account, ends_at)) = behind(tx, &known)? else { return Ok(None) };
        if idle_end(&known) <= tx.now || has_ended_here(&known) {
            return Ok(None);
        }
        store::refresh::use_up(tx, &digest)?;
        tokens(tx, keys, &known.session, ends_at, account).map(Some)
    });
    match opened {
        Err(Fail::Db(error)) if error.is_unwritable() || matches!(error, DbError::Newer(_)) => {
            tracing::warn!(%error, "a sign-in goes on without being written");
            read_on(door, &shop, refresh_token)?.ok_or_else(sign_in_ended)
        }
        opened => opened?.ok_or_else(sign_in_ended),
    }
}

/// The account behind a refresh token and the end of its sign-in, if both are still valid.
fn behind(tx: &mut Tx<'_>, known: &Known) -> Done<Option<(Account, UtcTime)>> {
    let Some((person, ends_at)) = store::session::standing(tx, &known.session)? else { return Ok(None) };
    let shop = tx.studio.id.clone();
    let account = store::account::by_id(tx.conn, &shop, &person)?.filter(|account| account.active);
    Ok(account.map(|account| (account, ends_at)))
}

/// Continues a sign-in while the database can't be written, or only by a newer program that has migrated it: it returns
/// a new access token for an unused refresh token, so that people who are signed in can still read and see what has to
/// be done.
///
/// Until the database can be written again, a stolen token works alongside its owner's; then the second of them to be
/// used ends the sign-in. The token also ends with the sign-in, and when it was idle for too long, which only the
/// program's memory knows.
fn read_on(door: &Door, shop: &ShopId, refresh_token: &Secret) -> Done<Option<Opened>> {
    let digest = token::digest(refresh_token.expose());
    let program = door.program();
    door.read_in(shop, Actor::Operator, |tx| {
        let goes_on = |known: &Known| !known.used && !program.ended.has(known.session.as_str());
        let known = store::refresh::find(tx, &digest)?.filter(goes_on);
        let Some(known) = known.filter(|known| known.ends_at.max(program.prolonged.end_of(&digest)) > tx.now) else {
            return Ok(None);
        };
        let Some((account, ends_at)) = behind(tx, &known)? else { return Ok(None) };
        let refresh_ends_at = tx.now.plus_minutes(IDLE_MINUTES).min(ends_at);
        program.prolonged.keep(&digest, refresh_ends_at, tx.now);
        opened(tx, &program.keys, &known.session, (refresh_token.expose(), refresh_ends_at), ends_at, account).map(Some)
    })
}

fn end(tx: &mut Tx<'_>, id: &SessionId, why: &str) -> Done<()> {
    store::session::end(tx, id)?;
    record::write(tx, "session.ended", ("session", id.as_str()), json!({ "why": why }))
}

/// Ends the current sign-in.
pub fn end_this(tx: &mut Tx<'_>) -> Done<()> {
    let Actor::Person { session, .. } = tx.actor.clone() else { return Ok(()) };
    end(tx, &session, "signed out")
}

/// Ends the current sign-in in this program's memory, until its end can be written.
pub fn end_in_memory(tx: &Tx<'_>, ended: &Ended) {
    if let Actor::Person { session, .. } = &tx.actor {
        ended.keep(session, &tx.studio.id);
    }
}

/// Ends a sign-in whose end could not be written when it was asked for.
pub fn end_late(tx: &mut Tx<'_>, id: &SessionId) -> Done<()> {
    end(tx, id, "signed out")
}

/// Ends every sign-in of the person.
pub fn end_all(tx: &mut Tx<'_>, person: &PersonId) -> Done<()> {
    end_others(tx, person, None)
}

/// Ends every sign-in of the person except the one to be kept.
pub(super) fn end_others(tx: &mut Tx<'_>, person: &PersonId, but: Option<&SessionId>) -> Done<()> {
    let ended = store::session::end_all(tx, person, but)?;
    let detail = json!({ "ended": ended.to_string() });
    record::write(tx, "person.signed-out", ("person", person.as_str()), detail)
}

/// The account of the person who is signed in.
pub fn me(tx: &mut Tx<'_>) -> Done<Account> {
    let id = tx.actor.person().cloned().ok_or_else(|| Refused::not_found("person"))?;
    let shop = tx.studio.id.clone();
    Ok(store::account::by_id(tx.conn, &shop, &id)?.ok_or_else(|| Refused::not_found("person"))?)
}
