//! The shop's own row.

use baywright_domain::country::Country;
use baywright_domain::id::ShopId;
use diesel::prelude::*;

use super::some;
use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId, columns};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::shop;
use crate::shop::settings::{Address, Profile};
use crate::shop::usecase::{Found, Listed};

#[derive(Queryable, Selectable)]
#[diesel(table_name = shop)]
struct Row {
    id: String,
    name: String,
    legal_name: String,
    street: String,
    postcode: String,
    city: String,
    country: String,
    email: String,
    phone: String,
    vat_id: String,
    company_number: String,
    iban: String,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl Row {
    fn read(self) -> Stored<Found> {
        let row = RowId::of("shop", &self.id);
        let profile = Profile {
            name: self.name,
            legal_name: self.legal_name,
            address: Address {
                street: some(self.street),
                postcode: some(self.postcode),
                city: some(self.city),
                country: row.read("country", some(self.country))?,
            },
            email: some(self.email),
            phone: some(self.phone),
            vat_id: some(self.vat_id),
            company_number: some(self.company_number),
            iban: some(self.iban),
        };
        Ok(Found {
            profile,
            version: self.version,
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
        })
    }
}

#[derive(Insertable, AsChangeset)]
#[diesel(table_name = shop)]
struct Values<'a> {
    name: &'a str,
    legal_name: &'a str,
    street: &'a str,
    postcode: &'a str,
    city: &'a str,
    country: &'a str,
    email: &'a str,
    phone: &'a str,
    vat_id: &'a str,
    company_number: &'a str,
    iban: &'a str,
    version: i64,
    updated_at: i64,
}

fn values(profile: &Profile, version: i64, now: UtcTime) -> Values<'_> {
    fn text(part: Option<&String>) -> &str {
        part.map_or("", String::as_str)
    }
    let address = &profile.address;
    Values {
        name: &profile.name,
        legal_name: &profile.legal_name,
        street: text(address.street.as_ref()),
        postcode: text(address.postcode.as_ref()),
        city: text(address.city.as_ref()),
        country: address.country.as_ref().map_or("", Country::code),
        email: text(profile.email.as_ref()),
        phone: text(profile.phone.as_ref()),
        vat_id: text(profile.vat_id.as_ref()),
        company_number: text(profile.company_number.as_ref()),
        iban: text(profile.iban.as_ref()),
        version,
        updated_at: now.ms(),
    }
}

pub(in crate::shop) fn insert(
    conn: &mut Conn,
    id: &str,
    currency: &str,
    zone: &str,
    profile: &Profile,
    now: UtcTime,
) -> Stored<()> {
    diesel::insert_into(shop::table)
        .values((
            shop::id.eq(id),
            shop::currency.eq(currency),
            shop::zone.eq(zone),
            shop::hours_version.eq(1_i64),
            shop::created_at.eq(now.ms()),
            values(profile, 1, now),
        ))
        .execute(conn)?;
    Ok(())
}

pub(in crate::shop) fn find(tx: &mut Tx<'_>) -> Stored<Found> {
    let row: Row = shop::table.filter(shop::id.eq(tx.studio.id.as_str())).select(Row::as_select()).first(tx.conn)?;
    row.read()
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, profile: &Profile, zone: &str, version: i64) -> Stored<()> {
    diesel::update(shop::table.filter(shop::id.eq(tx.studio.id.as_str())))
        .set((values(profile, version, tx.now), shop::zone.eq(zone)))
        .execute(tx.conn)?;
    Ok(())
}

columns! {
    /// A shop in a list.
    read struct ListedRow in shop as Listed {
        id: ShopId,
        name: String,
        currency: String,
        zone: String,
        created_at: UtcTime,
    }
}

/// Every shop of the program, oldest first.
pub(in crate::shop) fn all(conn: &mut Conn) -> Stored<Vec<Listed>> {
    let rows: Vec<ListedRow> = shop::table.order(shop::id.asc()).select(ListedRow::as_select()).load(conn)?;
    rows.into_iter().map(ListedRow::read).collect()
}

/// Whether there is any shop.
pub(in crate::shop) fn any(conn: &mut Conn) -> Stored<bool> {
    let first: Option<String> = shop::table.select(shop::id).limit(1).first(conn).optional()?;
    Ok(first.is_some())
}
