//! Seller and buyer, as the API returns them.

use baywright_core::invoice::kept::{InvoiceBuyer, InvoicePostal, InvoiceSeller};
use baywright_domain::customer::CustomerKind;
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::{Line, Reference, Word};

/// A kind of customer as it is sent over HTTP.
type BuyerKindWord = Word<CustomerKind>;

/// Parts of a postal address, for documents that other programs read.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoicePostal)]
pub struct InvoicePostalView {
    /// Street, number and further lines (BT-35, BT-50), in order.
    #[schema(max_items = 8, value_type = Vec<Line<200>>)]
    street: Vec<String>,
    /// Town (BT-37, BT-52); null if unknown.
    #[schema(max_length = 200)]
    city: Option<String>,
    /// Postal code (BT-38, BT-53); null if unknown.
    #[schema(max_length = 40)]
    postcode: Option<String>,
    /// Part of the country (BT-39, BT-54); null if there is none.
    #[schema(max_length = 200)]
    region: Option<String>,
}

impl From<InvoicePostal> for InvoicePostalView {
    fn from(kept: InvoicePostal) -> Self {
        Self { street: kept.street, city: kept.city, postcode: kept.postcode, region: kept.region }
    }
}

/// Studio that issues the invoice.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoiceSeller)]
pub struct InvoiceSellerView {
    /// Trading name of the studio (BT-28).
    #[schema(max_length = 200)]
    name: String,
    /// Legal name of the studio (BT-27).
    #[schema(max_length = 200)]
    legal_name: String,
    /// Address of the studio, line by line.
    #[schema(max_items = 8, value_type = Vec<Line<200>>)]
    address: Vec<String>,
    /// Parts of the address; left out if they are unknown, and in documents of form 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    postal: Option<InvoicePostalView>,
    /// Country code, ISO 3166-1; null if not set.
    #[schema(max_length = 2, example = "IE")]
    country: Option<String>,
    /// Email address of the studio; null if not set.
    #[schema(max_length = 254)]
    email: Option<String>,
    /// Telephone number of the studio; null if not set.
    #[schema(max_length = 60)]
    phone: Option<String>,
    /// VAT number of the studio (BT-31); null if there is none.
    #[schema(max_length = 40)]
    vat_id: Option<String>,
    /// Company registration number of the studio (BT-30); null if there is none.
    #[schema(max_length = 60)]
    company_number: Option<String>,
    /// IBAN of the account to pay to (BT-84); null if not set.
    #[schema(max_length = 34)]
    iban: Option<String>,
}

/// Customer who buys.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = InvoiceBuyer)]
pub struct InvoiceBuyerView {
    /// Id of the customer.
    id: Reference,
    /// Kind of customer: `PRIVATE` or `TRADE`.
    kind: BuyerKindWord,
    /// Full name of a person, or name of a firm (BT-44).
    #[schema(max_length = 200)]
    name: String,
    /// Address of the customer, line by line; empty if unknown.
    #[schema(max_items = 8, value_type = Vec<Line<200>>)]
    address: Vec<String>,
    /// Parts of the address; left out if they are unknown, and in documents of form 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    postal: Option<InvoicePostalView>,
    /// Country code, ISO 3166-1; null if unknown.
    #[schema(max_length = 2, example = "IE")]
    country: Option<String>,
    /// Email address that the invoice is sent to; null if unknown.
    #[schema(max_length = 254)]
    email: Option<String>,
    /// VAT number of the customer (BT-48); null if there is none.
    #[schema(max_length = 40)]
    vat_id: Option<String>,
}

impl From<InvoiceSeller> for InvoiceSellerView {
    fn from(kept: InvoiceSeller) -> Self {
        Self {
            name: kept.name,
            legal_name: kept.legal_name,
            address: kept.address,
            postal: kept.postal.map(InvoicePostalView::from),
            country: kept.country,
            email: kept.email,
            phone: kept.phone,
            vat_id: kept.vat_id,
            company_number: kept.company_number,
            iban: kept.iban,
        }
    }
}

impl From<InvoiceBuyer> for InvoiceBuyerView {
    fn from(kept: InvoiceBuyer) -> Self {
        Self {
            id: Reference::from(&kept.id),
            kind: kept.kind.into(),
            name: kept.name,
            address: kept.address,
            postal: kept.postal.map(InvoicePostalView::from),
            country: kept.country,
            email: kept.email,
            vat_id: kept.vat_id,
        }
    }
}
