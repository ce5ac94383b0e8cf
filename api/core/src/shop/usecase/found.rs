//! Creating a shop: afterwards everything works, and only what differs needs changing.

use std::sync::Arc;

use baywright_domain::calendar::{DayHours, DayOfWeek, Zone};
use baywright_domain::id::ShopId;
use baywright_domain::menu::Code;
use baywright_domain::money::{Currency, Percent};
use baywright_domain::stay::SelfBooking;
use baywright_domain::tax::Category;
use chrono::NaiveDate;
use serde_json::json;

use super::money::take_prefixes;
use super::tax::{TaxDetails, insert_tax};
use crate::platform::clock::UtcTime;
use crate::platform::config::Config;
use crate::platform::db::Conn;
use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Actor;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::shop::settings::{Address, MoneyTerms, Profile, Rates, Terms};
use crate::shop::store;

/// The content of a new shop, apart from its people.
#[derive(Debug, Clone)]
pub struct Founding {
    /// Its trading name.
    pub name: String,
    /// Currency of its documents, which never changes.
    pub currency: Currency,
    /// Its IANA time zone.
    pub zone: String,
    /// Its standard rate of tax on sales; 0 if it charges none.
    pub tax: Percent,
    /// Its email address, at first the owner's.
    pub email: String,
}

/// A shop in the list of shops.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Its id.
    pub id: ShopId,
    /// Its trading name.
    pub name: String,
    /// Its currency.
    pub currency: String,
    /// Its time zone.
    pub zone: String,
    /// Time when it was founded.
    pub created_at: UtcTime,
}

/// Creates a shop with the usual settings and no people; returns its id.
pub fn found(conn: &mut Conn, config: &Arc<Config>, now: UtcTime, new: &Founding) -> Done<ShopId> {
    let id: ShopId = ids::new();
    let zone = Zone::named(&new.zone)?;
    let profile = Profile {
        name: new.name.clone(),
        legal_name: new.name.clone(),
        address: Address::default(),
        email: Some(new.email.clone()),
        phone: None,
        vat_id: None,
        company_number: None,
        iban: None,
    };
    store::profile::insert(conn, id.as_str(), new.currency.code(), zone.name(), &profile, now)?;
    store::terms::insert(conn, id.as_str(), &Terms::usual())?;
    store::rates::insert(conn, id.as_str(), &Rates::usual(new.currency), now)?;
    store::self_booking::insert(conn, id.as_str(), SelfBooking::USUAL, now)?;
    store::money::insert(conn, id.as_str(), &MoneyTerms::usual(), now)?;
    store::hours::put_week(conn, id.as_str(), &usual_week()?, 1)?;
    let mut tx = Tx::for_program(conn, Actor::Operator, &id, now, config.clone())?;
    record::write(&mut tx, "shop.founded", ("shop", id.as_str()), json!({ "currency": new.currency.code() }))?;
    insert_tax(&mut tx, &usual_tax(new.tax)?)?;
    take_prefixes(&mut tx, &Terms::usual())?;
    for (kind, prefix) in MoneyTerms::usual().prefixes() {
        store::money::add_prefix(&mut tx, kind, prefix)?;
    }
    Ok(id)
}

/// The tax of a new shop. Its rate applies from long ago: the exact day doesn't matter to a shop that starts now.
fn usual_tax(rate: Percent) -> Done<TaxDetails> {
    let from = NaiveDate::from_ymd_opt(2000, 1, 1).ok_or_else(|| Fail::unexpected("no such day"))?;
    let (code, name, category, reason) = if rate.is_zero() {
        ("untaxed", "No tax", Category::Exempt, Some("Not registered for tax on sales".to_owned()))
    } else {
        ("standard", "Standard rate", Category::Standard, None)
    };
    let code = Code::parse(code)?;
    Ok(TaxDetails { code, name: name.to_owned(), category, reason, usual: true, rates: vec![(from, rate)] })
}

/// Monday to Friday, 8:00 to 17:30 (common practice, no source).
fn usual_week() -> Done<Vec<(DayOfWeek, DayHours)>> {
    let hours = DayHours::new(8 * 60, 17 * 60 + 30)?;
    Ok(DayOfWeek::ALL.iter().take(5).map(|day| (*day, hours)).collect())
}

/// Every shop of the program, oldest first.
pub fn shops(conn: &mut Conn) -> Done<Vec<Listed>> {
    Ok(store::profile::all(conn)?)
}

/// The only shop of a program.
pub fn only_shop(conn: &mut Conn) -> Done<Option<ShopId>> {
    let mut all = shops(conn)?;
    Ok(if all.len() == 1 { all.pop().map(|shop| shop.id) } else { None })
}

/// Whether there is a shop yet.
pub fn any_shop(conn: &mut Conn) -> Done<bool> {
    Ok(store::profile::any(conn)?)
}
