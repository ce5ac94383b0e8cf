//! Seller and buyer, frozen with the invoice.

use baywright_domain::customer::CustomerKind;
use serde::{Deserialize, Serialize};

use super::InvoiceDocument;
use crate::platform::kept::Word;

/// Parts of a postal address, for documents that other programs read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoicePostal {
    /// Street, number and further lines (BT-35, BT-50), in order.
    pub street: Vec<String>,
    /// Town (BT-37, BT-52); null if unknown.
    pub city: Option<String>,
    /// Postal code (BT-38, BT-53); null if unknown.
    pub postcode: Option<String>,
    /// Part of the country (BT-39, BT-54); null if there is none.
    pub region: Option<String>,
}

/// Studio that issues the invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceSeller {
    /// Trading name of the studio (BT-28).
    pub name: String,
    /// Legal name of the studio (BT-27).
    pub legal_name: String,
    /// Address of the studio, line by line.
    pub address: Vec<String>,
    /// The parts of the address; left out in documents of form 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub postal: Option<InvoicePostal>,
    /// Country code, ISO 3166-1; null if not set.
    pub country: Option<String>,
    /// Email address of the studio; null if not set.
    pub email: Option<String>,
    /// Telephone number of the studio; null if not set.
    pub phone: Option<String>,
    /// VAT number of the studio (BT-31); null if there is none.
    pub vat_id: Option<String>,
    /// Company registration number of the studio (BT-30); null if there is none.
    pub company_number: Option<String>,
    /// IBAN of the account to pay to (BT-84); null if not set.
    pub iban: Option<String>,
}

/// Customer who buys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceBuyer {
    /// Id of the customer.
    pub id: String,
    /// Kind of customer: `PRIVATE` or `TRADE`.
    pub kind: Word<CustomerKind>,
    /// Full name of a person, or name of a firm (BT-44).
    pub name: String,
    /// Address of the customer, line by line; empty if unknown.
    pub address: Vec<String>,
    /// The parts of the address; left out in documents of form 1, and if it is unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub postal: Option<InvoicePostal>,
    /// Country code, ISO 3166-1; null if unknown.
    pub country: Option<String>,
    /// Email address that the invoice is sent to; null if unknown.
    pub email: Option<String>,
    /// VAT number of the customer (BT-48); null if there is none.
    pub vat_id: Option<String>,
}

impl InvoiceDocument {
    /// The document of a draft whose buyer was erased; `name` replaces the buyer's name.
    #[must_use]
    pub fn without_buyer(mut self, name: &str) -> Self {
        let (id, kind) = (self.buyer.id, self.buyer.kind);
        let name = name.to_owned();
        self.buyer = InvoiceBuyer {
            id,
            kind,
            name,
            address: Vec::new(),
            postal: None,
            country: None,
            email: None,
            vat_id: None,
        };
        self.vehicle = None;
        self.purchase_order = None;
        self.note.clear();
        for line in &mut self.lines {
            line.discount_reason = line.discount_reason.as_ref().map(|_| String::new());
        }
        self
    }
}
