//! What is done to the shop itself.

use std::sync::Arc;

use baywright_domain::id::ShopId;
use baywright_domain::money::Currency;
use serde_json::json;

use super::store;
use crate::people;
use crate::platform::clock::UtcTime;
use crate::platform::config::Config;
use crate::platform::db::Conn;
use crate::platform::fail::Done;
use crate::platform::identity::Actor;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// What a new shop needs.
#[derive(Debug, Clone)]
pub struct NewShop {
    /// Its trading name.
    pub name: String,
    /// The currency of its documents.
    pub currency: Currency,
    /// Its IANA time zone.
    pub zone: String,
    /// Its owner.
    pub owner: people::usecase::NewPerson,
}

/// Founds a shop with its owner; gives the ids of both.
pub fn found(conn: &mut Conn, config: &Arc<Config>, now: UtcTime, new: &NewShop) -> Done<(ShopId, String)> {
    let id: ShopId = ids::new();
    let row = store::NewRow {
        id: id.to_string(),
        name: new.name.clone(),
        currency: new.currency.code().to_owned(),
        zone: new.zone.clone(),
        version: 1,
        created_at: now.ms(),
        updated_at: now.ms(),
    };
    store::insert(conn, &row)?;
    let mut tx = Tx::for_program(conn, Actor::Operator, &id, now, config.clone())?;
    record::write(&mut tx, "shop.founded", ("shop", id.as_str()), json!({ "currency": new.currency.code() }))?;
    let owner = people::usecase::add(&mut tx, &new.owner)?;
    Ok((id, owner))
}
