//! A customer's row: reading and writing.

use baywright_domain::country::Country;
use baywright_domain::customer::CustomerKind;
use baywright_domain::document::Prices;
use baywright_domain::id::CustomerId;
use baywright_domain::vat_id::VatId;
use diesel::prelude::*;

use super::super::usecase::{Address, Customer, Details, KeptConsent};
use crate::platform::db::{RowId, columns};
use crate::platform::fail::Stored;
use crate::schema::customer;

columns! {
    /// Details of a customer, without the address.
    pub(super) struct Columns in customer as Details {
        kind: CustomerKind,
        reference: Option<String>,
        name: String,
        contact_name: Option<String>,
        emails: Vec<String>,
        phones: Vec<String>,
        vat_id: Option<VatId>,
        purchase_order_required: bool,
        prices: Option<Prices>,
        notes: String,
        language: String,
    }
    with { address: Option<Address> }
}

/// Address of a customer; without city and country there is none.
#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = customer, treat_none_as_null = true, treat_none_as_default_value = false)]
pub(super) struct AddressColumns {
    address_lines: String,
    city: Option<String>,
    postcode: Option<String>,
    region: Option<String>,
    country: Option<String>,
}

impl AddressColumns {
    pub(super) fn of(id: &str, address: Option<&Address>) -> Stored<Self> {
        let row = RowId::of("customer", id);
        let lines = address.map(|address| address.lines.clone()).unwrap_or_default();
        Ok(Self {
            address_lines: row.write("address_lines", &lines)?,
            city: address.map(|address| address.city.clone()),
            postcode: address.and_then(|address| address.postcode.clone()),
            region: address.and_then(|address| address.region.clone()),
            country: address.map(|address| address.country.to_string()),
        })
    }

    fn read(self, row: RowId<'_>) -> Stored<Option<Address>> {
        let (Some(city), Some(country)) = (self.city, self.country) else { return Ok(None) };
        Ok(Some(Address {
            lines: row.read("address_lines", self.address_lines)?,
            city,
            postcode: self.postcode,
            region: self.region,
            country: row.read("country", country)?,
        }))
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = customer)]
pub(super) struct Row {
    pub(super) id: String,
    #[diesel(embed)]
    details: Columns,
    #[diesel(embed)]
    address: AddressColumns,
    merged_into: Option<String>,
    erased_at: Option<i64>,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl Row {
    pub(super) fn read(self, consents: Vec<KeptConsent>) -> Stored<Customer> {
        let row = RowId::of("customer", &self.id);
        Ok(Customer {
            version: self.version,
            details: self.details.read(&self.id, self.address.read(row)?)?,
            consents,
            merged_into: self.merged_into.map(CustomerId::new),
            erased_at: row.read("erased_at", self.erased_at)?,
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

/// The telephone numbers as they are searched for; those without a country's code are of `country`.
pub(super) fn phone_keys(id: &str, details: &Details, country: Option<Country>) -> Stored<String> {
    RowId::of("customer", id).write("phone_keys", &details.traits(country).phones)
}
