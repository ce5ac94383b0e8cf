//! A customer's row, there and back.

use baywright_domain::country::Country;
use baywright_domain::customer::CustomerKind;
use baywright_domain::document::Prices;
use baywright_domain::vat_id::VatId;
use diesel::prelude::*;

use super::super::usecase::{Address, Customer, Details, KeptConsent};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Stored};
use crate::schema::customer;

#[derive(Queryable, Selectable)]
#[diesel(table_name = customer)]
pub(super) struct Row {
    pub(super) id: String,
    #[diesel(embed)]
    details: NewRow,
    merged_into: Option<String>,
    erased_at: Option<i64>,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

/// The columns that hold what is known; lists are JSON arrays of texts.
#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = customer, treat_none_as_null = true, treat_none_as_default_value = false)]
pub(super) struct NewRow {
    kind: String,
    reference: Option<String>,
    name: String,
    contact_name: Option<String>,
    emails: String,
    phones: String,
    phone_keys: String,
    address_lines: String,
    city: Option<String>,
    postcode: Option<String>,
    region: Option<String>,
    country: Option<String>,
    vat_id: Option<String>,
    purchase_order_required: bool,
    prices: Option<String>,
    notes: String,
    language: String,
}

impl NewRow {
    /// The columns of what is known; telephone numbers without a country's code are of `country`.
    pub(super) fn of(details: &Details, country: Option<Country>) -> Stored<Self> {
        let address = details.address.as_ref();
        Ok(Self {
            kind: details.kind.as_str().to_owned(),
            reference: details.reference.clone(),
            name: details.name.clone(),
            contact_name: details.contact_name.clone(),
            emails: listed(&details.emails)?,
            phones: listed(&details.phones)?,
            phone_keys: listed(&details.traits(country).phones)?,
            address_lines: listed(address.map_or(&[], |address| &address.lines))?,
            city: address.map(|address| address.city.clone()),
            postcode: address.and_then(|address| address.postcode.clone()),
            region: address.and_then(|address| address.region.clone()),
            country: address.map(|address| address.country.to_string()),
            vat_id: details.vat_id.as_ref().map(ToString::to_string),
            purchase_order_required: details.purchase_order_required,
            prices: details.prices.map(|prices| prices.as_str().to_owned()),
            notes: details.notes.clone(),
            language: details.language.clone(),
        })
    }

    fn into_details(self) -> Stored<Details> {
        let address = match (self.city, self.country) {
            (Some(city), Some(country)) => Some(Address {
                lines: read_list(&self.address_lines)?,
                city,
                postcode: self.postcode,
                region: self.region,
                country: Country::parse(&country).map_err(corrupt)?,
            }),
            _ => None,
        };
        Ok(Details {
            kind: CustomerKind::parse(&self.kind).map_err(corrupt)?,
            reference: self.reference,
            name: self.name,
            contact_name: self.contact_name,
            emails: read_list(&self.emails)?,
            phones: read_list(&self.phones)?,
            address,
            vat_id: self.vat_id.as_deref().map(VatId::parse).transpose().map_err(corrupt)?,
            purchase_order_required: self.purchase_order_required,
            prices: self.prices.as_deref().map(Prices::parse).transpose().map_err(corrupt)?,
            notes: self.notes,
            language: self.language,
        })
    }
}

impl Row {
    pub(super) fn into_customer(self, consents: Vec<KeptConsent>) -> Stored<Customer> {
        Ok(Customer {
            id: self.id.into(),
            version: self.version,
            details: self.details.into_details()?,
            consents,
            merged_into: self.merged_into.map(Into::into),
            erased_at: self.erased_at.map(UtcTime::from_ms),
            created_at: UtcTime::from_ms(self.created_at),
            updated_at: UtcTime::from_ms(self.updated_at),
        })
    }
}

fn corrupt(error: impl std::fmt::Display) -> DbError {
    DbError::Corrupt(error.to_string())
}

pub(super) fn listed(texts: &[String]) -> Stored<String> {
    serde_json::to_string(texts).map_err(corrupt)
}

pub(super) fn read_list(json: &str) -> Stored<Vec<String>> {
    serde_json::from_str(json).map_err(corrupt)
}
