//! Capability links: 256 random bits that open one document for one purpose, stored only as their SHA-256.

use baywright_domain::id::{LinkId, PersonId, ShopId};
use baywright_domain::signoff::{LinkTrail, Method};
use serde_json::json;

use super::{Link, Subject};
use crate::platform::clock::UtcTime;
use crate::platform::db::Conn;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::token::{Token, digest, is_plausible};
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::signoff::store;

/// Minutes for which a link for signing in person stays open.
pub const IN_PERSON_MINUTES: i64 = 30;

/// Days for which a link still shows the outcome after the offer has ended.
pub const KEPT_DAYS: i64 = 30;

/// A link that is to be created.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewLink {
    /// Document that it opens.
    pub subject: Subject,
    /// [`Method::Link`], or [`Method::InPerson`] with the person who hands over the device.
    pub method: Method,
    /// Address that it is sent to; empty if it is handed over.
    pub contact: String,
    /// Person who hands over the device.
    pub person: Option<PersonId>,
    /// Time when it ends.
    pub ends_at: UtcTime,
}

/// Creates a link and its token. A new one for signing in person ends the earlier ones.
pub fn issue(tx: &mut Tx<'_>, new: &NewLink) -> Done<(Link, Token)> {
    if new.method == Method::InPerson {
        store::end_all(tx, &new.subject, Method::InPerson)?;
    }
    let token = Token::new()?;
    let link = Link {
        id: ids::new(),
        subject: new.subject.clone(),
        method: new.method,
        contact: new.contact.clone(),
        person: new.person.clone(),
        sent_at: tx.now,
        first_opened_at: None,
        ends_at: new.ends_at,
        used_at: None,
        revoked_at: None,
    };
    store::insert_link(tx, &link, &token.digest())?;
    let detail = json!({
        "method": new.method.as_str(), "purpose": new.subject.purpose.as_str(), "subject_id": new.subject.id,
        "ends_at": new.ends_at.to_string(),
    });
    record::write(tx, "link.issued", ("link", link.id.as_str()), detail)?;
    Ok((link, token))
}

/// The shop whose link that token opens, if there is one. Text that can't be a token is not looked up.
pub fn shop_of_token(conn: &mut Conn, token: &str) -> Done<Option<ShopId>> {
    if !is_plausible(token) {
        return Ok(None);
    }
    Ok(store::shop_of_hash(conn, &digest(token))?)
}

/// The link with that token.
///
/// # Errors
/// `NotFound` if there is none, `Gone` if it was revoked or has expired.
pub fn read_link(tx: &mut Tx<'_>, token: &str) -> Done<Link> {
    let link = store::find_link(tx, &digest(token))?.ok_or_else(|| Refused::not_found("link"))?;
    if link.revoked_at.is_some() || tx.now >= link.ends_at {
        return Err(Refused::gone("link-ended", "This link has ended. Ask the studio for a new one.").into());
    }
    Ok(link)
}

/// Records that somebody opened the page; only the first time is stored.
pub fn opened(tx: &mut Tx<'_>, link: &Link) -> Done<()> {
    if link.first_opened_at.is_none() {
        store::mark_opened(tx, &link.id)?;
        record::write(tx, "link.opened", ("link", link.id.as_str()), json!({}))?;
    }
    Ok(())
}

/// Records that the link of an answer, if any, was used; a customer who answers has opened it.
pub fn answered(tx: &mut Tx<'_>, link: Option<&Link>) -> Done<()> {
    let Some(link) = link else { return Ok(()) };
    opened(tx, link)?;
    Ok(store::mark_used(tx, &link.id)?)
}

/// One page of links, newest first: all of them, or those to one subject.
pub fn links(tx: &mut Tx<'_>, subject: Option<&str>, paging: &Paging) -> Done<Slice<Link>> {
    let found = store::links(tx, subject, paging)?;
    Ok(paging.page(found, |link| Mark::of_id(link.id.as_str())))
}

/// Revokes a link for good; revoking it again changes nothing.
///
/// # Errors
/// `NotFound` if there is no such link.
pub fn revoke(tx: &mut Tx<'_>, id: &LinkId) -> Done<Link> {
    let link = store::link_of_id(tx, id)?.ok_or_else(|| Refused::not_found("link"))?;
    if link.revoked_at.is_some() {
        return Ok(link);
    }
    store::end_one(tx, id)?;
    record::write(tx, "link.revoked", ("link", id.as_str()), json!({}))?;
    Ok(Link { revoked_at: Some(tx.now), ..link })
}

/// The link's way to the customer, for the evidence. A customer who signs has opened it.
pub fn trail(tx: &Tx<'_>, link: &Link) -> LinkTrail {
    LinkTrail {
        link: LinkId::new(link.id.as_str()),
        contact: link.contact.clone(),
        sent_at: link.sent_at.datetime(),
        first_opened_at: Some(link.first_opened_at.unwrap_or(tx.now).datetime()),
    }
}
