//! Profile and terms of the shop.

use baywright_domain::calendar::Zone;
use baywright_domain::id::ShopId;
use baywright_domain::money::Currency;
use baywright_domain::vat_id::{VatCheck, VatId};
use serde_json::json;

use super::money::take_prefixes;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::shop::settings::{Profile, Settings, Terms};
use crate::shop::store;

/// The shop's own row.
#[derive(Debug, Clone)]
pub struct Found {
    /// Profile of the shop.
    pub profile: Profile,
    /// Version of profile and terms, which every change raises by one.
    pub version: i64,
    /// Time when it was founded.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// Profile and terms with their version.
#[derive(Debug, Clone)]
pub struct Shop {
    /// Its id.
    pub id: ShopId,
    /// Its currency.
    pub currency: Currency,
    /// Its time zone.
    pub zone: String,
    /// Its row.
    pub found: Found,
    /// Terms on which it deals with its customers.
    pub terms: Terms,
}

/// The shop with its profile and terms.
pub fn show(tx: &mut Tx<'_>) -> Done<Shop> {
    let (found, terms) = (store::profile::find(tx)?, store::terms::find(tx)?);
    let studio = &tx.studio;
    Ok(Shop { id: studio.id.clone(), currency: studio.currency, zone: studio.zone.clone(), found, terms })
}

/// Replaces profile, time zone and terms.
pub fn replace(tx: &mut Tx<'_>, seen: Seen, profile: &Profile, zone: &str, terms: &Terms) -> Done<Shop> {
    let before = store::profile::find(tx)?;
    seen.check(before.version)?;
    let zone = Zone::named(zone)?;
    let old = store::terms::find(tx)?;
    // A prefix of before stays as it is, also if two kinds of documents shared it then.
    if (&old.quote_prefix, &old.invoice_prefix) != (&terms.quote_prefix, &terms.invoice_prefix) {
        take_prefixes(tx, terms)?;
    }
    warn_of_vat_id(tx, profile, &before.profile);
    store::profile::update(tx, profile, zone.name(), before.version + 1)?;
    store::terms::update(tx, terms)?;
    zone.name().clone_into(&mut tx.studio.zone);
    profile.name.clone_into(&mut tx.studio.name);
    let shop = tx.studio.id.to_string();
    record::write(tx, "shop.changed", ("shop", &shop), json!({ "zone": zone.name() }))?;
    show(tx)
}

/// Warns if the check digits of a new VAT number are wrong: it was mistyped, and would be on every invoice.
fn warn_of_vat_id(tx: &mut Tx<'_>, profile: &Profile, before: &Profile) {
    let changed = profile.vat_id.as_deref().filter(|_| profile.vat_id != before.vat_id);
    let number = changed.and_then(|text| VatId::parse(text).ok());
    if let Some(number) = number.filter(|number| number.check() == VatCheck::Wrong) {
        let detail = format!("The check digits of {number} are wrong. Compare it with the tax office's letter.");
        tx.warn("vat-check-digits", "/vat_id", detail);
    }
}

/// All of the shop's settings, for other features.
pub fn settings(tx: &mut Tx<'_>) -> Done<Settings> {
    Ok(Settings {
        profile: store::profile::find(tx)?.profile,
        currency: tx.studio.currency,
        zone: Zone::named(&tx.studio.zone)?,
        terms: store::terms::find(tx)?,
        rates: store::rates::find(tx)?.0,
        taxes: store::tax::all(tx)?,
    })
}
