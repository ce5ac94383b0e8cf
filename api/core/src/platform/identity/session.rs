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
use crate::schema::{person, session, shop};

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

/// The actor and the shop of verified claims, or `NotSignedIn` if the sign-in has ended.
pub fn standing(conn: &mut Conn, claims: &Claims, now: UtcTime) -> Done<(Actor, Studio)> {
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
    let ended = || Fail::from(Refused::unauthenticated("This sign-in has ended. Sign in again."));
    let (row, shop) = found.ok_or_else(ended)?;
    if row.ended_at.is_some() || row.ends_at <= now.ms() || !row.active {
        return Err(ended());
    }
    let role: Role = RowId::of("person", &claims.sub).read("role", row.role)?;
    let actor = Actor::Person { id: PersonId::new(&claims.sub), role, session: SessionId::new(&claims.sid) };
    Ok((actor, studio(shop)?))
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
