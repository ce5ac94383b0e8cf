//! Creating a shop: afterwards everything works, and only what differs needs changing.

use std::sync::Arc;

use baywright_domain::id::{PersonId, ShopId};
use baywright_domain::money::{Currency, Percent};

use crate::people::usecase::NewPerson;
use crate::platform::clock::UtcTime;
use crate::platform::config::Config;
use crate::platform::db::Conn;
use crate::platform::fail::Done;
use crate::platform::identity::Actor;
use crate::platform::tx::Tx;
use crate::shop::usecase::Founding;
use crate::{people, shop};

/// Data of a new shop.
#[derive(Debug, Clone)]
pub struct NewShop {
    /// Its trading name.
    pub name: String,
    /// Currency of its documents, which never changes.
    pub currency: Currency,
    /// Its IANA time zone.
    pub zone: String,
    /// Its standard rate of tax on sales; 0 if it charges none.
    pub tax: Percent,
    /// Its owner.
    pub owner: NewPerson,
}

/// Creates a shop with its owner and the usual settings; returns the ids of both.
pub fn found(conn: &mut Conn, config: &Arc<Config>, now: UtcTime, new: &NewShop) -> Done<(ShopId, PersonId)> {
    let founding = Founding {
        name: new.name.clone(),
        email: new.owner.email.clone(),
        currency: new.currency,
        zone: new.zone.clone(),
        tax: new.tax,
    };
    let shop = shop::usecase::found(conn, config, now, &founding)?;
    let mut tx = Tx::for_program(conn, Actor::Operator, &shop, now, config.clone())?;
    let owner = people::usecase::add(&mut tx, &new.owner)?;
    Ok((shop, owner))
}
