//! The sign-in behind a token, looked up for every request, so that sign-out and a change of role count at once.

use baywright_domain::country::Country;
use baywright_domain::id::{PersonId, SessionId, ShopId};
use baywright_domain::money::Currency;
use diesel::prelude::*;

use super::{Actor, Role};
use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId};
use crate::platform::fail::{DbError, Done, Fail, Stored};
use crate::platform::keyring::Claims;
use crate::platform::refusal::Refused;
use crate::schema::{person, session, shop, tablet, tablet_session};

/// Facts about the shop that nearly every use case needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Studio {
    /// Id of the shop.
    pub id: ShopId,
    /// Its trading name.
    pub name: String,
    /// The one currency of its documents.
    pub currency: Currency,
    /// Its IANA time zone.
    pub zone: String,
    /// The country of its address, in which telephone numbers without a country's code are; `None` until it is set.
    pub country: Option<Country>,
}

#[derive(Queryable)]
struct Row {
    ends_at: i64,
    ended_at: Option<i64>,
    role: String,
    active: bool,
}

/// What only a sign-in of the pages needs: its id, the id of its person, and when it was used last.
type PageRow = (String, String, Option<i64>);

/// Minutes after which a sign-in that is not used ends (OWASP ASVS 5.0, 7.3.1).
pub const IDLE_MINUTES: i64 = 30;

/// Who asks, by a sign-in that is valid.
#[derive(Debug, Clone)]
pub struct SignedIn {
    /// The person.
    pub actor: Actor,
    /// Their shop.
    pub studio: Studio,
    /// Whether they have signed in on a tablet beside the bays, which opens the pages of the bays alone.
    pub at_tablet: bool,
}

/// The actor and the shop of verified claims, or `NotSignedIn` if the sign-in has ended.
pub fn standing(conn: &mut Conn, claims: &Claims, now: UtcTime) -> Done<SignedIn> {
    let found: Option<(Row, ShopRow)> = session::table
        .inner_join(person::table.on(person::id.eq(session::person_id)))
        .inner_join(shop::table.on(shop::id.eq(session::shop_id)))
        .filter(session::id.eq(&claims.sid))
        .filter(session::person_id.eq(&claims.sub))
        .select((
            (session::ends_at, session::ended_at, person::role, person::active),
            (shop::id, shop::name, shop::currency, shop::zone, shop::country),
        ))
        .first(conn)
        .optional()
        .map_err(DbError::from)?;
    let (row, shop) = found.ok_or_else(sign_in_ended)?;
    Ok(SignedIn { actor: row.actor(&claims.sid, &claims.sub, now)?, studio: studio(shop)?, at_tablet: false })
}

/// The actor and the shop behind the digest of a page's token, or 401 if the sign-in has ended or was idle for too long. On a
/// tablet it ends after the tablet's own minutes, and with the tablet. `prolonged` is the end that the program's memory gives
/// it, since a use is written down only every few minutes.
pub fn standing_on_pages(conn: &mut Conn, digest: &str, prolonged: UtcTime, now: UtcTime) -> Done<SignedIn> {
    let found: Option<(PageRow, Row, ShopRow)> = session::table
        .inner_join(person::table.on(person::id.eq(session::person_id)))
        .inner_join(shop::table.on(shop::id.eq(session::shop_id)))
        .filter(session::page_digest.eq(digest))
        .select((
            (session::id, session::person_id, session::page_used_at),
            (session::ends_at, session::ended_at, person::role, person::active),
            (shop::id, shop::name, shop::currency, shop::zone, shop::country),
        ))
        .first(conn)
        .optional()
        .map_err(DbError::from)?;
    let ((id, person, used_at), row, shop) = found.ok_or_else(sign_in_ended)?;
    let tablet = tablet_of(conn, &id)?;
    let idle_minutes = match tablet {
        Some((_, Some(_))) => return Err(sign_in_ended()),
        Some((minutes, None)) => i64::from(minutes),
        None => IDLE_MINUTES,
    };
    // The memory's end is that of a sign-in with the usual minutes.
    let used_at = used_at.unwrap_or_default().max(prolonged.plus_minutes(-IDLE_MINUTES).ms());
    if used_at.saturating_add(idle_minutes * 60_000) <= now.ms() {
        return Err(sign_in_ended());
    }
    Ok(SignedIn { actor: row.actor(&id, &person, now)?, studio: studio(shop)?, at_tablet: tablet.is_some() })
}

/// The tablet on which a sign-in was opened: the minutes after which it ends without use, and when the tablet was ended.
fn tablet_of(conn: &mut Conn, session: &str) -> Stored<Option<(i32, Option<i64>)>> {
    let at = tablet::shop_id.eq(tablet_session::shop_id).and(tablet::id.eq(tablet_session::tablet_id));
    Ok(tablet_session::table
        .inner_join(tablet::table.on(at))
        .filter(tablet_session::session_id.eq(session))
        .select((tablet::idle_minutes, tablet::ended_at))
        .first(conn)
        .optional()?)
}

/// The shop of the sign-in behind the digest of a page's token, or 401 if there is none.
pub fn shop_on_pages(conn: &mut Conn, digest: &str) -> Done<ShopId> {
    let shop: Option<String> = session::table
        .filter(session::page_digest.eq(digest))
        .select(session::shop_id)
        .first(conn)
        .optional()
        .map_err(DbError::from)?;
    shop.map(ShopId::new).ok_or_else(sign_in_ended)
}

/// The refusal of a sign-in that has ended.
pub fn sign_in_ended() -> Fail {
    Refused::unauthenticated("This sign-in has ended. Sign in again.").into()
}

impl Row {
    /// The person behind a sign-in that still stands.
    fn actor(self, session: &str, person: &str, now: UtcTime) -> Done<Actor> {
        if self.ended_at.is_some() || self.ends_at <= now.ms() || !self.active {
            return Err(sign_in_ended());
        }
        let role: Role = RowId::of("person", person).read("role", self.role)?;
        Ok(Actor::Person { id: PersonId::new(person), role, session: SessionId::new(session) })
    }
}

impl Studio {
    /// Reads the shop of that id; `NotFound` if there is none.
    pub fn of(conn: &mut Conn, id: &ShopId) -> Done<Self> {
        let row: Option<ShopRow> = shop::table
            .filter(shop::id.eq(id.as_str()))
            .select((shop::id, shop::name, shop::currency, shop::zone, shop::country))
            .first(conn)
            .optional()
            .map_err(DbError::from)?;
        Ok(studio(row.ok_or_else(|| Refused::not_found("shop"))?)?)
    }
}

impl Studio {
    /// All shops, for the scheduler.
    pub fn all(conn: &mut Conn) -> Done<Vec<ShopId>> {
        let ids: Vec<String> = shop::table.select(shop::id).order(shop::id.asc()).load(conn).map_err(DbError::from)?;
        Ok(ids.into_iter().map(ShopId::new).collect())
    }
}

/// Id, name, currency, zone and country; the country is empty until it is set.
type ShopRow = (String, String, String, String, String);

fn studio((id, name, currency, zone, country): ShopRow) -> Stored<Studio> {
    let row = RowId::of("shop", &id);
    let known = Currency::of(&currency);
    let currency = known.ok_or_else(|| row.corrupt("currency", format!("{currency:?} is no currency")))?;
    let country = row.read("country", Some(country).filter(|code| !code.is_empty()))?;
    Ok(Studio { id: ShopId::new(id), name, currency, zone, country })
}
